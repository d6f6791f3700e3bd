/* SPDX-License-Identifier: GPL-3.0-or-later
 * Linear programs against published optima and against another solver, and files written and read back.
 *
 * Netlib: lp/data collection of D. M. Gay, with the optima of its readme to 10 digits (from memory; re-solved
 * once with another build of GLPK). Read from EF_BENCHMARKS, since the set is not shipped. Textbook: six
 * small programs beside this file, sources in them and in optima.csv. */
#include "base/memory.h"
#include "base/random.h"
#include "shared/lp/lp.h"

#include "../lib/files.h"
#include "../lib/near.h"
#include "../lib/outside_solver.h"
#include "../lib/programs.h"
#include "../lib/skip.h"

#include <errno.h>
#include <locale.h>
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/stat.h>
#include <unistd.h>

#include <cmocka.h>

static const char textbook[] = "tests/outside/data/lp-textbook";

static char *path_join(const char *folder, const char *name, const char *ending)
{
    const size_t room = strlen(folder) + strlen(name) + strlen(ending) + 2;
    char *path = malloc(room);
    assert_non_null(path);
    (void)snprintf(path, room, "%s/%s%s", folder, name, ending);
    return path;
}

static efi_lp *read_program(const char *path, efi_lp_format format)
{
    efi_lp *lp = NULL;
    if (efi_lp_read(path, format, &lp) != EF_OK)
        fail_msg("%s cannot be read", path);
    return lp;
}

static void expect_optimum(efi_lp *lp, const efi_lp_options *options, const char *name, double optimum,
                           double share)
{
    const efi_lp_result result = program_solve(lp, options);
    if (result.outcome != EFI_LP_OPTIMAL)
        fail_msg("%s: %s", name, efi_lp_outcome_text(result.outcome));
    if (!near_is(result.objective, optimum, near_relative(optimum, share)))
        print_error("%s:\n", name);
    assert_near_relative(result.objective, optimum, share);
}

/* One line of an optima table: its name, and the number in column `place`. */
typedef void each_optimum(const char *name, double optimum);

static int for_each_optimum(const char *csv_path, int place, each_optimum *each)
{
    char *text = file_read(csv_path, NULL);
    char *rest_of_text = NULL;
    int count = 0;
    (void)strtok_r(text, "\n", &rest_of_text); /* the heading */
    for (char *line = strtok_r(NULL, "\n", &rest_of_text); line; line = strtok_r(NULL, "\n", &rest_of_text)) {
        char *rest = NULL;
        const char *name = strtok_r(line, ",", &rest);
        const char *field = name;
        for (int k = 0; k < place; k++)
            field = strtok_r(NULL, ",", &rest);
        assert_non_null(field);
        each(name, strtod(field, NULL));
        count++;
    }
    free(text);
    return count;
}

/* ---- Netlib ---- */

static char *netlib_folder;

static void netlib_case(const char *name, double optimum)
{
    static const efi_lp_method methods[] = {EFI_LP_DUAL, EFI_LP_PRIMAL, EFI_LP_INTERIOR};
    char *path = path_join(netlib_folder, name, ".mps");
    efi_lp *lp = read_program(path, EFI_LP_FIXED_MPS);
    expect_optimum(lp, NULL, name, optimum, 1e-6);
    for (size_t m = 0; m < EF_COUNT(methods); m++) {
        efi_lp_options options = efi_lp_defaults();
        options.method = methods[m];
        options.presolve = EFI_LP_PRESOLVE_OFF;
        efi_lp_forget_basis(lp);
        expect_optimum(lp, &options, name, optimum, 1e-6);
    }
    /* Written, read back and solved again it is the same program. */
    char *written = scratch_path("netlib.mps");
    assert_int_equal(efi_lp_write(lp, written, EFI_LP_FREE_MPS, true), EF_OK);
    efi_lp *again = read_program(written, EFI_LP_FREE_MPS);
    expect_optimum(again, NULL, name, optimum, 1e-6);
    efi_lp_free(again);
    free(written);
    efi_lp_free(lp);
    free(path);
}

static void netlib_optima_are_reached_by_every_method(void **state)
{
    (void)state;
    const char *benchmarks = getenv("EF_BENCHMARKS");
    if (!benchmarks)
        ef_test_skip("EF_BENCHMARKS is not set: 18 Netlib programs not solved");
    netlib_folder = path_join(benchmarks, "lp/netlib", "");
    char *csv = path_join(benchmarks, "lp/netlib-optima.csv", "");
    assert_true(for_each_optimum(csv, 3, netlib_case) >= 12);
    free(csv);
    free(netlib_folder);
}

/* ---- textbook ---- */

static void textbook_case(const char *name, double optimum)
{
    char *path = path_join(textbook, name, ".lp");
    efi_lp *lp = read_program(path, EFI_LP_CPLEX);
    expect_optimum(lp, NULL, name, optimum, 1e-9);
    efi_lp_free(lp);
    free(path);
}

static void textbook_optima_are_reached(void **state)
{
    (void)state;
    char *csv = path_join(textbook, "optima.csv", "");
    assert_int_equal(for_each_optimum(csv, 2, textbook_case), 6);
    free(csv);
}

/* The optimum of `lp` according to the outside solver, by way of a written MPS file. */
static outside_result outside_optimum(const efi_lp *lp)
{
    char *written = scratch_path("outside.mps");
    assert_int_equal(efi_lp_write(lp, written, EFI_LP_FREE_MPS, true), EF_OK);
    outside_result result = outside_solver_run(written);
    if (efi_lp_get_sense(lp) == EFI_LP_MAXIMISE)
        result.objective = -result.objective;
    free(written);
    return result;
}

static void outside_case(const char *name, double optimum)
{
    char *path = path_join(textbook, name, ".lp");
    efi_lp *lp = read_program(path, EFI_LP_CPLEX);
    const efi_lp_result ours = program_solve(lp, NULL);
    const outside_result theirs = outside_optimum(lp);
    assert_int_equal(theirs.outcome, OUTSIDE_OPTIMAL);
    assert_near_relative(ours.objective, theirs.objective, 1e-7);
    assert_near_relative(theirs.objective, optimum, 1e-7);
    efi_lp_free(lp);
    free(path);
}

static void another_solver_finds_the_same_optima_in_our_files(void **state)
{
    (void)state;
    if (!outside_solver_is_there())
        ef_test_skip("the program clp is not installed");
    char *csv = path_join(textbook, "optima.csv", "");
    assert_int_equal(for_each_optimum(csv, 2, outside_case), 6);
    free(csv);
}

/* ---- random programs with everything a file has to say ---- */

static efi_lp_bounds random_bounds(efi_random *random, double middle)
{
    const double low = middle - efi_random_uniform(random);
    const double high = middle + efi_random_uniform(random);
    switch (efi_random_below(random, 5)) {
    case 0:
        return efi_lp_at_least(low);
    case 1:
        return efi_lp_at_most(high);
    case 2:
        return efi_lp_exactly(middle);
    case 3:
        return efi_lp_free_bounds();
    default:
        return efi_lp_between(low, high);
    }
}

/*
 * Ten columns and eight rows round a feasible point, with all kinds of bounds, names that need work, an empty
 * row, an empty column and a constant. Unbounded ones are among them.
 */
static efi_lp *random_program(uint64_t seed)
{
    enum {
        COLUMNS = 10,
        ROWS = 8
    };
    efi_random random = efi_random_stream(seed, 2, 0);
    efi_lp *lp = efi_lp_new();
    double point[COLUMNS];
    efi_lp_set_sense(lp, seed % 2 ? EFI_LP_MAXIMISE : EFI_LP_MINIMISE);
    assert_int_equal(efi_lp_set_constant(lp, efi_random_uniform(&random) - 0.5), EF_OK);
    for (int j = 0; j < COLUMNS; j++) {
        point[j] = 4.0 * efi_random_uniform(&random) - 2.0;
        const efi_lp_bounds bounds = seed % 3 ? efi_lp_between(point[j] - 1.0, point[j] + 2.0)
                                              : random_bounds(&random, point[j]);
        assert_int_equal(efi_lp_add_column(lp, j % 2 ? "rate, t/h" : NULL, bounds,
                                           efi_random_uniform(&random) - 0.5, false, NULL),
                         EF_OK);
    }
    for (int i = 0; i < ROWS; i++) {
        efi_lp_entry entries[COLUMNS];
        int count = 0;
        double activity = 0.0;
        for (int j = 0; i > 0 && j < COLUMNS - 1; j++) {
            if (efi_random_below(&random, 2) == 0)
                continue;
            entries[count++] = (efi_lp_entry){j, efi_random_uniform(&random) / 3.0};
            activity += entries[count - 1].value * point[j];
        }
        const char *name = i % 3 ? "free" : "e9";
        assert_int_equal(efi_lp_add_row(lp, name, random_bounds(&random, activity), entries, count, NULL),
                         EF_OK);
    }
    return lp;
}

/* The outside solver's optimum with every column held within +-`half_width` as well. */
static double outside_optimum_in_a_box(efi_lp *lp, double half_width)
{
    for (int j = 0; j < efi_lp_columns(lp); j++) {
        efi_lp_bounds b = efi_lp_column_bounds(lp, j);
        if (!b.has_lower || b.lower < -half_width)
            b.lower = -half_width;
        if (!b.has_upper || b.upper > half_width)
            b.upper = half_width;
        assert_int_equal(efi_lp_set_column_bounds(lp, j, efi_lp_between(b.lower, b.upper)), EF_OK);
    }
    const outside_result result = outside_optimum(lp);
    assert_int_equal(result.outcome, OUTSIDE_OPTIMAL);
    return result.objective;
}

/*
 * By how much the optimum improves from a box of 10,000 to one of 1,000,000: proof that the program is
 * feasible and, by its own size, that it is unbounded. The outside solver's word for it is not good enough:
 * it called the program of seed 9 infeasible, which holds a feasible point by construction. Narrows the
 * bounds of `lp`.
 */
static double outside_gain_of_a_larger_box(efi_lp *lp)
{
    const double large = outside_optimum_in_a_box(lp, 1e6);
    const double small = outside_optimum_in_a_box(lp, 1e4);
    return efi_lp_get_sense(lp) == EFI_LP_MAXIMISE ? large - small : small - large;
}

static void random_programs_are_the_same_for_another_solver(void **state)
{
    (void)state;
    if (!outside_solver_is_there())
        ef_test_skip("the program clp is not installed");
    int optimal = 0;
    int unbounded = 0;
    for (uint64_t seed = 1; seed <= 30; seed++) {
        efi_lp *lp = random_program(seed);
        const efi_lp_result ours = program_solve(lp, NULL);
        const outside_result theirs = outside_optimum(lp);
        if (ours.outcome == EFI_LP_OPTIMAL) {
            assert_int_equal(theirs.outcome, OUTSIDE_OPTIMAL);
            assert_near(ours.objective, theirs.objective, 1e-7);
            optimal++;
        } else {
            assert_int_equal(ours.outcome, EFI_LP_UNBOUNDED);
            assert_int_not_equal(theirs.outcome, OUTSIDE_OPTIMAL);
            assert_true(outside_gain_of_a_larger_box(lp) > 1.0);
            unbounded++;
        }
        efi_lp_free(lp);
    }
    assert_true(optimal >= 20);
    assert_true(unbounded >= 3);
}

static void another_solver_finds_the_infeasible_infeasible(void **state)
{
    (void)state;
    if (!outside_solver_is_there())
        ef_test_skip("the program clp is not installed");
    char *path = path_join(textbook, "wyndor", ".lp");
    efi_lp *lp = read_program(path, EFI_LP_CPLEX);
    assert_int_equal(
        efi_lp_add_row(lp, NULL, efi_lp_at_least(100.0), (const efi_lp_entry[]){{0, 1.0}, {1, 1.0}}, 2, NULL),
        EF_OK);
    assert_int_equal(program_solve(lp, NULL).outcome, EFI_LP_INFEASIBLE);
    assert_int_equal(outside_optimum(lp).outcome, OUTSIDE_INFEASIBLE);
    efi_lp_free(lp);
    free(path);
}

static void written_files_read_back_to_the_same_optimum(void **state)
{
    (void)state;
    static const efi_lp_format formats[] = {EFI_LP_FREE_MPS, EFI_LP_CPLEX};
    char *written = scratch_path("written");
    for (size_t f = 0; f < EF_COUNT(formats); f++)
        for (uint64_t seed = 1; seed <= 60; seed++) {
            efi_lp *lp = random_program(seed);
            if (seed % 5 == 0)
                for (int j = 0; j < 5; j++)
                    assert_int_equal(efi_lp_set_integer(lp, j, true), EF_OK);
            assert_int_equal(efi_lp_write(lp, written, formats[f], true), EF_OK);
            efi_lp *again = read_program(written, formats[f]);
            const efi_lp_result ours = program_solve(lp, NULL);
            const efi_lp_result theirs = program_solve(again, NULL);
            const bool is_turned = efi_lp_get_sense(lp) != efi_lp_get_sense(again);
            assert_int_equal(is_turned, formats[f] == EFI_LP_FREE_MPS && seed % 2);
            assert_int_equal(ours.outcome, theirs.outcome);
            if (ours.has_point)
                assert_near(is_turned ? -theirs.objective : theirs.objective, ours.objective, 1e-9);
            efi_lp_free(lp);
            efi_lp_free(again);
        }
    free(written);
}

/* ---- the written text itself ---- */

static efi_lp *named_program(void)
{
    static const char *const names[] = {"rate, t/h", "rate; t/h", "rate__t_h_2",    "",
                                        "2nd",       "e9",        "Free",           NULL,
                                        "c9",        NULL,        "\xc3\xa9levator"};
    efi_lp *lp = efi_lp_new();
    efi_lp_set_sense(lp, EFI_LP_MAXIMISE);
    for (size_t k = 0; k < EF_COUNT(names); k++)
        assert_int_equal(
            efi_lp_add_column(lp, names[k], efi_lp_between(0.0, 1.0), k == 0 ? 1.0 / 3.0 : 0.0, k == 9, NULL),
            EF_OK);
    assert_int_equal(efi_lp_add_row(lp, "objective", efi_lp_between(-1.5, 2.0),
                                    (const efi_lp_entry[]){{0, 0.1}, {7, -1.0}}, 2, NULL),
                     EF_OK);
    assert_int_equal(efi_lp_add_row(lp, NULL, efi_lp_free_bounds(), NULL, 0, NULL), EF_OK);
    return lp;
}

static char *written_text(const efi_lp *lp, efi_lp_format format)
{
    char *path = scratch_path("text");
    assert_int_equal(efi_lp_write(lp, path, format, true), EF_OK);
    char *text = file_read(path, NULL);
    free(path);
    return text;
}

static void names_in_a_written_file_are_plain_and_unique(void **state)
{
    (void)state;
    efi_lp *lp = named_program();
    char *text = written_text(lp, EFI_LP_CPLEX);
    assert_string_equal(text,
                        "Maximize\n"
                        " objective: + 0.33333333333333331 rate__t_h + 0 rate__t_h_2 + 0 rate__t_h_2_2 + 0"
                        " n_ + 0 n_2nd + 0 n_e9\n"
                        "  + 0 n_Free + 0 c9 + 0 c10 + 0 n___levator + 0 constant_one\n"
                        "Subject To\n"
                        " objective_2: + 0.1 rate__t_h - 1 c8 <= 2\n"
                        " objective_2.low: + 0.1 rate__t_h - 1 c8 >= -1.5\n"
                        "Bounds\n"
                        " constant_one = 1\n"
                        " 0 <= rate__t_h <= 1\n"
                        " 0 <= rate__t_h_2 <= 1\n"
                        " 0 <= rate__t_h_2_2 <= 1\n"
                        " 0 <= n_ <= 1\n"
                        " 0 <= n_2nd <= 1\n"
                        " 0 <= n_e9 <= 1\n"
                        " 0 <= n_Free <= 1\n"
                        " 0 <= c8 <= 1\n"
                        " 0 <= c9 <= 1\n"
                        " 0 <= c10 <= 1\n"
                        " 0 <= n___levator <= 1\n"
                        "Generals\n"
                        " c10\n"
                        "End\n");
    char *again = written_text(lp, EFI_LP_CPLEX);
    assert_string_equal(text, again);
    free(again);
    free(text);
    efi_lp_free(lp);
}

static void many_columns_of_one_name_are_numbered_in_their_order(void **state)
{
    (void)state;
    enum {
        COUNT = 50000
    };
    efi_lp *lp = efi_lp_new();
    for (int j = 0; j < COUNT; j++)
        assert_int_equal(efi_lp_add_column(lp, "level", efi_lp_at_least(0.0), 1.0, false, NULL), EF_OK);
    char *path = scratch_path("many.mps");
    assert_int_equal(efi_lp_write(lp, path, EFI_LP_FREE_MPS, true), EF_OK);
    efi_lp *again = read_program(path, EFI_LP_FREE_MPS);
    assert_int_equal(efi_lp_columns(again), COUNT);
    assert_string_equal(efi_lp_column_name(again, 0), "level");
    assert_string_equal(efi_lp_column_name(again, 1), "level_2");
    assert_string_equal(efi_lp_column_name(again, COUNT - 1), "level_50000");
    efi_lp_free(again);
    efi_lp_free(lp);
    free(path);
}

static void derived_names_pass_over_names_that_are_taken(void **state)
{
    (void)state;
    static const char *const given[] = {"a_2", "a", "a", "a", "a_2"};
    static const char *const expected[] = {"a_2", "a", "a_3", "a_4", "a_2_2"};
    efi_lp *lp = efi_lp_new();
    for (size_t k = 0; k < EF_COUNT(given); k++)
        assert_int_equal(efi_lp_add_column(lp, given[k], efi_lp_at_least(0.0), 1.0, false, NULL), EF_OK);
    char *path = scratch_path("derived.mps");
    assert_int_equal(efi_lp_write(lp, path, EFI_LP_FREE_MPS, true), EF_OK);
    efi_lp *again = read_program(path, EFI_LP_FREE_MPS);
    for (size_t k = 0; k < EF_COUNT(given); k++)
        assert_string_equal(efi_lp_column_name(again, (int)k), expected[k]);
    efi_lp_free(again);
    efi_lp_free(lp);
    free(path);
}

static void existing_file_is_kept_unless_forced(void **state)
{
    (void)state;
    efi_lp *lp = named_program();
    char *path = scratch_path("kept.lp");
    char *beside = scratch_path("kept.lp.part0");
    char *missing = scratch_path("no/such/folder/kept.lp");
    file_write(path, "mine", 4);
    errno = 0;
    assert_int_equal(efi_lp_write(lp, path, EFI_LP_CPLEX, false), EF_FILE);
    assert_int_equal(errno, EEXIST);
    char *text = file_read(path, NULL);
    assert_string_equal(text, "mine");
    free(text);
    assert_int_equal(efi_lp_write(lp, path, EFI_LP_CPLEX, true), EF_OK);
    text = file_read(path, NULL);
    assert_memory_equal(text, "Maximize\n", 9);
    free(text);
    assert_false(file_exists(beside));
    assert_int_equal(unlink(path), 0);
    assert_int_equal(efi_lp_write(lp, path, EFI_LP_CPLEX, false), EF_OK);
    assert_false(file_exists(beside));
    assert_int_equal(efi_lp_write(lp, missing, EFI_LP_CPLEX, false), EF_FILE);
    assert_int_equal(errno, ENOENT);
    assert_int_equal(efi_lp_write(lp, path, EFI_LP_FIXED_MPS, true), EF_USAGE);
    assert_int_equal(efi_lp_set_column_bounds(lp, 0, efi_lp_between(1.0, 0.0)), EF_OK);
    assert_int_equal(efi_lp_write(lp, path, EFI_LP_CPLEX, true), EF_USAGE);
    free(missing);
    free(beside);
    free(path);
    efi_lp_free(lp);
}

static void failed_last_step_leaves_nothing_behind(void **state)
{
    (void)state;
    efi_lp *lp = named_program();
    /* A folder cannot be replaced by a file: the last step fails. */
    char *inside = scratch_path("folder.lp");
    assert_int_equal(mkdir(inside, 0777), 0);
    char *beside = scratch_path("folder.lp.part0");
    assert_int_equal(efi_lp_write(lp, inside, EFI_LP_CPLEX, true), EF_FILE);
    assert_false(file_exists(beside));
    assert_int_equal(rmdir(inside), 0);
    free(beside);
    free(inside);
    efi_lp_free(lp);
}

static void broken_files_are_refused(void **state)
{
    (void)state;
    static const char *const texts[] = {"", "Maximize\n x +\nEnd\n",
                                        "NAME\nROWS\n N a\nCOLUMNS\n x b 1\nENDATA\n"};
    static const efi_lp_format formats[] = {EFI_LP_FREE_MPS, EFI_LP_FIXED_MPS, EFI_LP_CPLEX};
    char *path = scratch_path("broken");
    char *missing = scratch_path("missing");
    for (size_t f = 0; f < EF_COUNT(formats); f++) {
        efi_lp *lp = NULL;
        for (size_t t = 0; t < EF_COUNT(texts); t++) {
            file_write(path, texts[t], strlen(texts[t]));
            assert_int_equal(efi_lp_read(path, formats[f], &lp), EF_FILE);
        }
        assert_int_equal(efi_lp_read(missing, formats[f], &lp), EF_FILE);
        assert_null(lp);
    }
    free(path);
    free(missing);
}

static void decimal_comma_of_the_host_program_does_no_harm(void **state)
{
    (void)state;
    static const char *const locales[] = {"de_DE.UTF-8", "de_DE.utf8", "fr_FR.UTF-8"};
    const char *chosen = NULL;
    for (size_t k = 0; k < EF_COUNT(locales) && !chosen; k++)
        chosen = setlocale(LC_NUMERIC, locales[k]);
    if (!chosen)
        ef_test_skip("no locale with a decimal comma is installed");
    efi_lp *lp = named_program();
    char *path = scratch_path("comma.lp");
    assert_int_equal(efi_lp_write(lp, path, EFI_LP_CPLEX, true), EF_OK);
    efi_lp *again = read_program(path, EFI_LP_CPLEX);
    assert_near(program_solve(again, NULL).objective, 1.0 / 3.0, 1e-12);
    (void)setlocale(LC_NUMERIC, "C");
    char *text = file_read(path, NULL);
    assert_non_null(strstr(text, " 0.33333333333333331 "));
    free(text);
    efi_lp_free(again);
    efi_lp_free(lp);
    free(path);
}

static void failed_allocations_while_writing_and_reading_are_reported(void **state)
{
    (void)state;
    efi_lp *lp = named_program();
    char *path = scratch_path("scarce");
    static const efi_lp_format formats[] = {EFI_LP_FREE_MPS, EFI_LP_CPLEX};
    for (size_t f = 0; f < EF_COUNT(formats); f++) {
        ef_status status = EF_MEMORY;
        for (long n = 1; n < 500 && status != EF_OK; n++) {
            efi_lp *again = NULL;
            (void)efi_memory_fail_at(n);
            status = efi_lp_write(lp, path, formats[f], true);
            if (status == EF_OK)
                status = efi_lp_read(path, formats[f], &again);
            (void)efi_memory_fail_at(0);
            assert_true(status == EF_OK || (status == EF_MEMORY && !again));
            efi_lp_free(again);
        }
        assert_int_equal(status, EF_OK);
    }
    free(path);
    efi_lp_free(lp);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(netlib_optima_are_reached_by_every_method),
        cmocka_unit_test(textbook_optima_are_reached),
        cmocka_unit_test(another_solver_finds_the_same_optima_in_our_files),
        cmocka_unit_test(random_programs_are_the_same_for_another_solver),
        cmocka_unit_test(another_solver_finds_the_infeasible_infeasible),
        cmocka_unit_test(written_files_read_back_to_the_same_optimum),
        cmocka_unit_test(names_in_a_written_file_are_plain_and_unique),
        cmocka_unit_test(many_columns_of_one_name_are_numbered_in_their_order),
        cmocka_unit_test(derived_names_pass_over_names_that_are_taken),
        cmocka_unit_test(existing_file_is_kept_unless_forced),
        cmocka_unit_test(failed_last_step_leaves_nothing_behind),
        cmocka_unit_test(broken_files_are_refused),
        cmocka_unit_test(decimal_comma_of_the_host_program_does_no_harm),
        cmocka_unit_test(failed_allocations_while_writing_and_reading_are_reported),
    };
    return cmocka_run_group_tests(tests, NULL, program_leave_solver);
}
