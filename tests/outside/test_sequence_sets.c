/* SPDX-License-Identifier: GPL-3.0-or-later
 * The sequencing engine on published sets (folder EF_BENCHMARKS; sources in its README): every file is read,
 * small ones are solved, values are those of the reference tables, recomputed by the independent evaluator.
 * Bounded by rounds, not by time; how good the engine is on all of them is measured by bench_sequence. */
#include "../lib/sequence_files.h"
#include "../lib/skip.h"
#include "shared/verify/sequence_check.h"

#include <stdlib.h>
#include <string.h>

/* Solves instances up to `most_lots`; each must reach its reference, and be proven where `prove`. Returns how
 * many. */
static int solve_set(sequence_set set, int most_lots, int rounds, bool prove)
{
    const char *root = getenv("EF_BENCHMARKS");
    int count = 0, solved = 0, failed = 0;
    sequence_case *cases = sequence_set_list(set, root, &count);
    assert_non_null(cases);
    for (int i = 0; i < count; i++) {
        sequence_file file;
        assert_true(sequence_file_read(set, root, cases[i].name, &file));
        if (file.problem.lots <= most_lots) {
            efi_sequence_settings settings = efi_sequence_defaults();
            settings.rounds = rounds;
            efi_sequence_result result;
            assert_int_equal(efi_sequence_solve(&file.problem, &settings, &result), EF_OK);
            assert_true(result.found);
            const efi_sequence_account account = efi_sequence_check(&file.problem, result.order, result.run,
                                                                    NULL, NULL);
            assert_true(efi_sequence_keeps(&account));
            assert_int_equal(account.price, result.value);
            assert_true(result.bound <= result.value);
            const double off = sequence_file_value(&file, result.value) - cases[i].value;
            const bool right = !cases[i].has_value || (off < 1e-6 && off > -1e-6);
            if (!right || (prove && !result.proven)) {
                print_message("%s %s: %.5f, reference %.5f, proven %d\n", sequence_set_name(set),
                              cases[i].name, off + cases[i].value, cases[i].value, result.proven);
                failed++;
            }
            solved++;
            efi_sequence_result_free(&result);
        }
        sequence_file_free(&file);
    }
    free(cases);
    assert_int_equal(failed, 0);
    return solved;
}

/* Evaluates the printed sequence of each row of a table: name, then lots from `base` in `column`; returns how
 * many. */
static int evaluate_sequences(sequence_set set, const char *path, int base, int value_column, int column)
{
    const char *root = getenv("EF_BENCHMARKS");
    char name[1024];
    (void)snprintf(name, sizeof name, "%s/%s", root, path);
    FILE *in = fopen(name, "r");
    assert_non_null(in);
    static char line[20000];
    int checked = 0;
    assert_non_null(fgets(line, sizeof line, in));
    while (fgets(line, sizeof line, in)) {
        char *cells[10] = {line};
        int count = 1;
        bool quoted = false;
        for (char *c = line; *c; c++) {
            quoted = quoted != (*c == '"');
            if (*c == ',' && !quoted && count < 10) {
                *c = '\0';
                cells[count++] = c + 1;
            }
        }
        sequence_file file;
        memset(&file, 0, sizeof file);
        const bool is_read = count > column && sequence_file_read(set, root, cells[0], &file);
        assert_true(is_read);
        if (!is_read || !cells[column])
            return 0;
        int order[EFI_SEQUENCE_MOST_LOTS];
        char *at = cells[column];
        at += *at == '"';
        for (int k = 0; k < file.problem.lots; k++)
            order[k] = (int)strtol(at, &at, 10) - base;
        const efi_sequence_account account = efi_sequence_check(&file.problem, order, file.problem.lots, NULL,
                                                                NULL);
        assert_true(efi_sequence_keeps(&account));
        assert_int_equal(account.price, strtol(cells[value_column], NULL, 10));
        checked++;
        sequence_file_free(&file);
    }
    (void)fclose(in);
    return checked;
}

#define NEEDS_SETS()                                                                                         \
    (void)state;                                                                                             \
    if (!getenv("EF_BENCHMARKS"))                                                                            \
    ef_test_skip("EF_BENCHMARKS is not set")

/* So that the evaluator itself is checked by numbers from outside. */
static void published_sequences_have_their_published_values(void **state)
{
    NEEDS_SETS();
    assert_int_equal(evaluate_sequences(SEQUENCE_OPEN, "atsp/open-sequence-optima.csv", 1, 2, 5) >= 10, 1);
    assert_int_equal(evaluate_sequences(SEQUENCE_TWT, "sdst-twt/optimal-sequences.csv", 0, 1, 2) >= 60, 1);
}

static void tours_of_up_to_41_nodes_are_proven(void **state)
{
    NEEDS_SETS();
    assert_true(solve_set(SEQUENCE_ATSP, 41, 40, true) >= 4);
    assert_true(solve_set(SEQUENCE_OPEN, 40, 40, true) >= 4);
}

/* The assignment bound is met, so few rounds do. Values: TSPLIB's list of optimal ATSP tours, from memory;
 * the proof is the engine's own. */
static void large_tours_that_meet_the_assignment_bound_are_proven(void **state)
{
    NEEDS_SETS();
    static const struct {
        const char *name;
        int64_t value;
    } tours[] = {{"rbg323", 1326}, {"rbg358", 1163}, {"rbg403", 2465}, {"rbg443", 2720}};
    for (size_t i = 0; i < sizeof tours / sizeof tours[0]; i++) {
        sequence_file file;
        assert_true(sequence_file_read(SEQUENCE_ATSP, getenv("EF_BENCHMARKS"), tours[i].name, &file));
        efi_sequence_settings settings = efi_sequence_defaults();
        settings.rounds = 10;
        efi_sequence_result result;
        assert_int_equal(efi_sequence_solve(&file.problem, &settings, &result), EF_OK);
        assert_true(result.found && result.proven);
        assert_int_equal(result.value, tours[i].value);
        const efi_sequence_account account = efi_sequence_check(&file.problem, result.order, result.run, NULL,
                                                                NULL);
        assert_true(efi_sequence_keeps(&account));
        assert_int_equal(account.price, result.value);
        efi_sequence_result_free(&result);
        sequence_file_free(&file);
    }
}

static void orders_with_releases_and_refusal_of_10_lots_are_proven(void **state)
{
    NEEDS_SETS();
    assert_int_equal(solve_set(SEQUENCE_OAS_PROFIT, 10, 5, true), 25);
    assert_int_equal(solve_set(SEQUENCE_OAS_AFTER, 10, 5, true), 25);
    assert_int_equal(solve_set(SEQUENCE_OAS_BEFORE, 10, 5, true), 25);
}

static void orders_with_windows_of_up_to_20_nodes_are_reached(void **state)
{
    NEEDS_SETS();
    assert_true(solve_set(SEQUENCE_TW, 20, 5, false) >= 15);
}

static void orders_with_pairs_of_up_to_25_nodes_are_reached(void **state)
{
    NEEDS_SETS();
    assert_true(solve_set(SEQUENCE_SOP, 25, 10, false) >= 5);
}

/* The walks are long here, so only a few rounds: zero optima are found soon. */
static void weighted_tardiness_files_are_read_and_a_zero_is_found(void **state)
{
    NEEDS_SETS();
    assert_int_equal(solve_set(SEQUENCE_TWT, 0, 1, false), 0);
    sequence_file file;
    assert_true(sequence_file_read(SEQUENCE_TWT, getenv("EF_BENCHMARKS"), "wt_sds_40", &file));
    efi_sequence_settings settings = efi_sequence_defaults();
    settings.rounds = 20;
    efi_sequence_result result;
    assert_int_equal(efi_sequence_solve(&file.problem, &settings, &result), EF_OK);
    assert_true(result.found && result.proven);
    assert_int_equal(result.value, 0);
    efi_sequence_result_free(&result);
    sequence_file_free(&file);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(published_sequences_have_their_published_values),
        cmocka_unit_test(tours_of_up_to_41_nodes_are_proven),
        cmocka_unit_test(large_tours_that_meet_the_assignment_bound_are_proven),
        cmocka_unit_test(orders_with_releases_and_refusal_of_10_lots_are_proven),
        cmocka_unit_test(orders_with_windows_of_up_to_20_nodes_are_reached),
        cmocka_unit_test(orders_with_pairs_of_up_to_25_nodes_are_reached),
        cmocka_unit_test(weighted_tardiness_files_are_read_and_a_zero_is_found),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
