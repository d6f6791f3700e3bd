/* SPDX-License-Identifier: GPL-3.0-or-later
 * The sequencing engine against theory, full enumeration and integer programming; every value is recomputed
 * by the independent evaluator. */
#include "base/memory.h"
#include "base/random.h"
#include "shared/lp/lp.h"
#include "shared/sequence/sequence.h"
#include "shared/verify/sequence_check.h"

#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <stdlib.h>
#include <string.h>
#include <cmocka.h>

enum {
    MOST = 40,
    CELLS = (MOST + 1) * (MOST + 1)
};

/* A problem with room for its arrays. */
typedef struct made_problem {
    efi_sequence_problem p;
    int64_t work[MOST], weight[MOST], release[MOST], due[MOST], start_latest[MOST], end_latest[MOST],
        refusal[MOST];
    int64_t setup[CELLS], cost[CELLS];
    int before[MOST][2];
} made_problem;

static int64_t draw(efi_random *random, int least, int most)
{
    return least + (int64_t)efi_random_below(random, (uint32_t)(most - least + 1));
}

/* Only work, no changeovers; the rest is for the test to fill. */
static void make_plain(made_problem *made, efi_random *random, int lots)
{
    memset(made, 0, sizeof *made);
    for (int j = 0; j < lots; j++)
        made->work[j] = draw(random, 1, 50);
    made->p = (efi_sequence_problem){.lots = lots, .work = made->work, .setup_time = made->setup};
}

/* Solves and passes the result through the evaluator. */
static efi_sequence_result solve(const efi_sequence_problem *p, int rounds, int threads)
{
    efi_sequence_settings settings = efi_sequence_defaults();
    settings.rounds = rounds;
    settings.threads = threads;
    efi_sequence_result result;
    assert_int_equal(efi_sequence_solve(p, &settings, &result), EF_OK);
    if (result.found) {
        const efi_sequence_account account = efi_sequence_check(p, result.order, result.run, NULL, NULL);
        assert_true(efi_sequence_keeps(&account));
        assert_int_equal(account.price, result.value);
        assert_true(result.bound <= result.value);
        assert_true(!result.proven || result.bound == result.value);
    }
    return result;
}

/* The value of a problem that must be solved to proof. */
static int64_t proven_value(const efi_sequence_problem *p)
{
    efi_sequence_result result = solve(p, 50, 1);
    assert_true(result.found);
    assert_true(result.proven);
    const int64_t value = result.value;
    efi_sequence_result_free(&result);
    return value;
}

/* ---- theory ---- */

static const made_problem *sorting;

static int by_ratio(const void *left, const void *right)
{
    const int a = *(const int *)left, b = *(const int *)right;
    const int64_t x = sorting->work[a] * sorting->weight[b], y = sorting->work[b] * sorting->weight[a];
    return x != y ? (x > y) - (x < y) : (a > b) - (a < b);
}

/* W. E. Smith, Naval Research Logistics Quarterly 3, 1956: least sum of w C by growing work / weight; with
 * equal weights this is shortest processing time first. */
static void weighted_completion_is_least_in_the_order_of_smith(void **state)
{
    (void)state;
    efi_random random = efi_random_stream(11, 0, 0);
    for (int c = 0; c < 20; c++) {
        made_problem made;
        const int lots = 5 + c % 6;
        make_plain(&made, &random, lots);
        int order[MOST] = {0};
        for (int j = 0; j < lots; j++) {
            made.weight[j] = c < 10 ? 1 : draw(&random, 1, 9);
            order[j] = j;
        }
        made.p.weight = made.weight;
        made.p.due = made.due;
        sorting = &made;
        qsort(order, (size_t)lots, sizeof *order, by_ratio);
        int64_t end = 0, sum = 0;
        for (int k = 0; k < lots; k++) {
            end += made.work[order[k]];
            sum += made.weight[order[k]] * end;
        }
        assert_int_equal(proven_value(&made.p), sum);
    }
}

static int by_due(const void *left, const void *right)
{
    const int a = *(const int *)left, b = *(const int *)right;
    return sorting->due[a] != sorting->due[b]
               ? (sorting->due[a] > sorting->due[b]) - (sorting->due[a] < sorting->due[b])
               : (a > b) - (a < b);
}

/* J. R. Jackson, 1955: earliest due date first makes the largest lateness least. As limits: due dates moved
 * by that lateness can be kept, moved by one tick less they cannot. */
static void due_dates_moved_by_the_lateness_of_the_earliest_due_order_can_just_be_kept(void **state)
{
    (void)state;
    efi_random random = efi_random_stream(12, 0, 0);
    for (int c = 0; c < 20; c++) {
        made_problem made;
        const int lots = 4 + c % 7;
        make_plain(&made, &random, lots);
        int order[MOST] = {0};
        for (int j = 0; j < lots; j++) {
            made.due[j] = draw(&random, 1, 25 * lots);
            order[j] = j;
        }
        sorting = &made;
        qsort(order, (size_t)lots, sizeof *order, by_due);
        int64_t end = 0, lateness = INT64_MIN;
        for (int k = 0; k < lots; k++) {
            end += made.work[order[k]];
            lateness = end - made.due[order[k]] > lateness ? end - made.due[order[k]] : lateness;
        }
        made.p.end_latest = made.end_latest;
        for (int less = 0; less < 2; less++) {
            for (int j = 0; j < lots; j++)
                made.end_latest[j] = made.due[j] + lateness - less;
            efi_sequence_result result = solve(&made.p, 20, 1);
            assert_true(result.proven);
            assert_int_equal(result.found, less == 0);
            efi_sequence_result_free(&result);
        }
    }
}

/* J. M. Moore, Management Science 15, 1968 (with Hodgson's form): the fewest late lots. Late lots are refused
 * at price 1. */
static void fewest_refusals_are_those_of_moore_and_hodgson(void **state)
{
    (void)state;
    efi_random random = efi_random_stream(13, 0, 0);
    for (int c = 0; c < 20; c++) {
        made_problem made;
        const int lots = 5 + c % 8;
        make_plain(&made, &random, lots);
        int order[MOST] = {0};
        bool out[MOST] = {false};
        for (int j = 0; j < lots; j++) {
            made.due[j] = draw(&random, 5, 15 * lots);
            made.refusal[j] = 1;
            order[j] = j;
        }
        sorting = &made;
        qsort(order, (size_t)lots, sizeof *order, by_due);
        int64_t end = 0;
        int late = 0;
        for (int k = 0; k < lots; k++) {
            end += made.work[order[k]];
            if (end <= made.due[order[k]])
                continue;
            int longest = -1;
            for (int i = 0; i <= k; i++)
                if (!out[order[i]] && (longest < 0 || made.work[order[i]] > made.work[longest]))
                    longest = order[i];
            assert_true(longest >= 0);
            if (longest < 0)
                break;
            out[longest] = true;
            end -= made.work[longest];
            late++;
        }
        made.p.end_latest = made.due;
        made.p.refusal = made.refusal;
        assert_int_equal(proven_value(&made.p), late);
    }
}

/* ---- enumeration ---- */

static void make_random(made_problem *made, efi_random *random, int lots)
{
    make_plain(made, random, lots);
    efi_sequence_problem *p = &made->p;
    for (int i = 0; i < (lots + 1) * (lots + 1); i++) {
        made->setup[i] = draw(random, 0, 20);
        made->cost[i] = draw(random, 0, 30);
        if (i % (lots + 1) < lots && i / (lots + 1) < lots && draw(random, 0, 19) == 0)
            made->setup[i] = EFI_SEQUENCE_FORBIDDEN;
    }
    for (int j = 0; j < lots; j++) {
        made->weight[j] = draw(random, 0, 9);
        made->release[j] = draw(random, 0, 20 * lots);
        made->due[j] = draw(random, -20, 30 * lots);
        made->start_latest[j] = draw(random, 0, 2) ? EFI_SEQUENCE_NONE : draw(random, 20 * lots, 60 * lots);
        made->end_latest[j] = draw(random, 0, 2) ? EFI_SEQUENCE_NONE : draw(random, 30 * lots, 60 * lots);
        made->refusal[j] = draw(random, 0, 300);
    }
    p->cleaned_before_release = draw(random, 0, 1) == 1;
    p->setup_price = draw(random, 0, 3);
    p->makespan_price = draw(random, 0, 2);
    p->weight = draw(random, 0, 3) ? made->weight : NULL;
    p->release = draw(random, 0, 2) ? made->release : NULL;
    p->due = draw(random, 0, 3) ? made->due : NULL;
    p->start_latest = draw(random, 0, 2) ? NULL : made->start_latest;
    p->end_latest = draw(random, 0, 2) ? NULL : made->end_latest;
    p->refusal = draw(random, 0, 4) ? NULL : made->refusal;
    p->setup_cost = draw(random, 0, 1) ? made->cost : NULL;
    p->pairs = lots < 2 || draw(random, 0, 1) ? 0 : (int)draw(random, 1, 3);
    p->before = (const int(*)[2])made->before;
    for (int i = 0; i < p->pairs; i++) {
        made->before[i][0] = (int)draw(random, 0, lots - 1);
        made->before[i][1] = (made->before[i][0] + (int)draw(random, 1, lots - 1)) % lots;
    }
}

typedef struct enumeration {
    const efi_sequence_problem *p;
    int order[MOST];
    bool found;
    int64_t least;
} enumeration;

static void try_order(enumeration *e, int run)
{
    const efi_sequence_account account = efi_sequence_check(e->p, e->order, run, NULL, NULL);
    if (!efi_sequence_keeps(&account))
        return;
    if (!e->found || account.price < e->least)
        e->least = account.price;
    e->found = true;
}

/* All orders, and with refusal all beginnings of them. */
static void enumerate(enumeration *e, int placed)
{
    const int lots = e->p->lots;
    if (placed == lots || e->p->refusal)
        try_order(e, placed);
    for (int k = placed; k < lots; k++) {
        const int lot = e->order[k];
        e->order[k] = e->order[placed];
        e->order[placed] = lot;
        enumerate(e, placed + 1);
        e->order[placed] = e->order[k];
        e->order[k] = lot;
    }
}

static void values_of_small_problems_are_those_of_full_enumeration(void **state)
{
    (void)state;
    int found = 0;
    for (uint64_t seed = 1; seed <= 150; seed++) {
        efi_random random = efi_random_stream(14, seed, 0);
        made_problem made;
        make_random(&made, &random, 1 + (int)(seed % 6));
        enumeration all = {.p = &made.p};
        for (int j = 0; j < made.p.lots; j++)
            all.order[j] = j;
        enumerate(&all, 0);
        efi_sequence_result result = solve(&made.p, 20, 1);
        if (!result.proven || result.found != all.found || (all.found && result.value != all.least))
            print_message("seed %d: %d %d %ld, enumeration %d %ld\n", (int)seed, result.proven, result.found,
                          (long)result.value, all.found, (long)all.least);
        assert_true(result.proven);
        assert_int_equal(result.found, all.found);
        if (all.found)
            assert_int_equal(result.value, all.least);
        found += all.found;
        efi_sequence_result_free(&result);
    }
    assert_true(found > 75);
}

/* Without proof by subsets the walks alone should still come to the least value of such small problems. */
static void walks_alone_reach_the_least_value_of_small_problems(void **state)
{
    (void)state;
    for (uint64_t seed = 1; seed <= 20; seed++) {
        efi_random random = efi_random_stream(15, seed, 0);
        made_problem made;
        make_random(&made, &random, 7);
        made.p.refusal = NULL;
        efi_sequence_result exact = solve(&made.p, 20, 1);
        efi_sequence_settings settings = efi_sequence_defaults();
        settings.prove = false;
        settings.rounds = 2;
        efi_sequence_result walked;
        assert_int_equal(efi_sequence_solve(&made.p, &settings, &walked), EF_OK);
        assert_int_equal(walked.found, exact.found);
        assert_true(walked.bound <= exact.value || !exact.found);
        if (exact.found)
            assert_int_equal(walked.value, exact.value);
        efi_sequence_result_free(&exact);
        efi_sequence_result_free(&walked);
    }
}

/* ---- integer programming ---- */

/*
 * Sets: lots j; i, j over lots and "nothing" (n). Variables y[i,j] = 1 when j follows i; end[j] >= 0; late[j]
 * >= 0. Minimise sum cost[i,j] y[i,j] + sum weight[j] late[j], each lot and nothing left once and entered
 * once, end[j] >= end[i] + setup[i,j] + work[j] - M (1 - y[i,j]),  end[j] >= release[j] + work[j],  late[j]
 * >= end[j] - due[j].
 */
static double integer_program(const made_problem *made)
{
    const efi_sequence_problem *p = &made->p;
    const int n = p->lots, size = n + 1;
    const double far = 2000.0;
    efi_lp *lp = efi_lp_new();
    int y[CELLS], end[MOST];
    for (int i = 0; i < size; i++)
        for (int j = 0; j < size; j++)
            assert_int_equal(efi_lp_add_column(lp, NULL, efi_lp_between(0.0, i != j ? 1.0 : 0.0),
                                               (double)(p->setup_price * made->setup[i * size + j]), true,
                                               &y[i * size + j]),
                             EF_OK);
    for (int j = 0; j < n; j++) {
        efi_lp_entry entries[4];
        int late;
        const double earliest = (double)(made->release[j] + made->work[j]);
        assert_int_equal(efi_lp_add_column(lp, NULL, efi_lp_at_least(earliest), 0.0, false, &end[j]), EF_OK);
        assert_int_equal(
            efi_lp_add_column(lp, NULL, efi_lp_at_least(0.0), (double)made->weight[j], false, &late), EF_OK);
        entries[0] = (efi_lp_entry){late, 1.0};
        entries[1] = (efi_lp_entry){end[j], -1.0};
        assert_int_equal(efi_lp_add_row(lp, NULL, efi_lp_at_least((double)-made->due[j]), entries, 2, NULL),
                         EF_OK);
    }
    for (int i = 0; i < size; i++) {
        efi_lp_entry out[MOST], in[MOST];
        for (int j = 0; j < size; j++) {
            out[j] = (efi_lp_entry){y[i * size + j], 1.0};
            in[j] = (efi_lp_entry){y[j * size + i], 1.0};
            if (j == n || i == j)
                continue;
            /* end[j] - end[i] - M y >= setup + work - M */
            const double step = (double)(made->setup[i * size + j] + made->work[j]);
            const efi_lp_entry order[3] = {
                {end[j], 1.0}, {y[i * size + j], -far}, {i < n ? end[i] : end[j], i < n ? -1.0 : 0.0}};
            assert_int_equal(efi_lp_add_row(lp, NULL, efi_lp_at_least(step - far), order, 3, NULL), EF_OK);
        }
        assert_int_equal(efi_lp_add_row(lp, NULL, efi_lp_exactly(1.0), out, size, NULL), EF_OK);
        assert_int_equal(efi_lp_add_row(lp, NULL, efi_lp_exactly(1.0), in, size, NULL), EF_OK);
    }
    efi_lp_result result;
    assert_int_equal(efi_lp_solve(lp, NULL, &result), EF_OK);
    assert_int_equal(result.outcome, EFI_LP_OPTIMAL);
    efi_lp_free(lp);
    return result.objective;
}

static void values_are_those_of_an_integer_program(void **state)
{
    (void)state;
    for (uint64_t seed = 1; seed <= 6; seed++) {
        efi_random random = efi_random_stream(16, seed, 0);
        made_problem made;
        make_plain(&made, &random, 5);
        for (int i = 0; i < 36; i++)
            made.setup[i] = draw(&random, 0, 20);
        for (int j = 0; j < 5; j++) {
            made.weight[j] = draw(&random, 1, 9);
            made.release[j] = draw(&random, 0, 60);
            made.due[j] = draw(&random, 20, 140);
        }
        made.p.weight = made.weight;
        made.p.due = made.due;
        made.p.release = made.release;
        made.p.setup_price = 1;
        made.p.cleaned_before_release = true;
        const double value = integer_program(&made);
        const double difference = value - (double)proven_value(&made.p);
        assert_true(difference < 1e-4 && difference > -1e-4);
    }
}

/* ---- behaviour ---- */

static void any_number_of_threads_gives_the_same_order(void **state)
{
    (void)state;
    for (int timed = 0; timed < 2; timed++) {
        efi_random random = efi_random_stream(17, (uint64_t)timed, 0);
        made_problem made;
        make_random(&made, &random, 25);
        made.p.refusal = NULL;
        made.p.weight = timed ? made.weight : NULL;
        made.p.due = made.due;
        made.p.makespan_price = timed;
        made.p.start_latest = made.p.end_latest = NULL;
        made.p.pairs = 0;
        made.p.setup_price = 1;
        efi_sequence_result one = solve(&made.p, 3, 1);
        for (int threads = 2; threads <= 4; threads++) {
            efi_sequence_result more = solve(&made.p, 3, threads);
            assert_int_equal(more.value, one.value);
            assert_int_equal(more.bound, one.bound);
            assert_int_equal(more.rounds, one.rounds);
            assert_int_equal(more.steps, one.steps);
            assert_memory_equal(more.order, one.order, 25 * sizeof *one.order);
            efi_sequence_result_free(&more);
        }
        efi_sequence_result_free(&one);
    }
}

typedef struct watch {
    int calls;
    int stop_after;
    int64_t value;
    int rounds;
} watch;

static bool stop_later(void *context, const efi_sequence_progress *progress)
{
    watch *w = context;
    w->value = progress->value;
    w->rounds = progress->rounds;
    return ++w->calls < w->stop_after;
}

static void a_stop_gives_the_best_order_so_far_and_as_many_rounds_give_it_again(void **state)
{
    (void)state;
    efi_random random = efi_random_stream(18, 0, 0);
    made_problem made;
    make_plain(&made, &random, 30);
    for (int i = 0; i < 31 * 31; i++)
        made.setup[i] = draw(&random, 0, 40);
    for (int j = 0; j < 30; j++) {
        made.weight[j] = draw(&random, 1, 9);
        made.due[j] = draw(&random, 0, 900);
    }
    made.p.weight = made.weight;
    made.p.due = made.due;
    for (int stop = 1; stop <= 3; stop++) {
        watch w = {.stop_after = stop};
        efi_sequence_settings settings = efi_sequence_defaults();
        settings.go_on = stop_later;
        settings.context = &w;
        efi_sequence_result stopped;
        assert_int_equal(efi_sequence_solve(&made.p, &settings, &stopped), EF_OK);
        assert_true(stopped.found);
        assert_int_equal(stopped.rounds, stop);
        assert_int_equal(w.rounds, stop);
        assert_int_equal(w.value, stopped.value);
        efi_sequence_result again = solve(&made.p, stop, 1);
        assert_int_equal(again.value, stopped.value);
        assert_memory_equal(again.order, stopped.order, 30 * sizeof *again.order);
        efi_sequence_result_free(&stopped);
        efi_sequence_result_free(&again);
    }
}

static void pairs_in_a_circle_and_lots_that_cannot_start_in_time_have_no_order(void **state)
{
    (void)state;
    efi_random random = efi_random_stream(19, 0, 0);
    made_problem made;
    make_plain(&made, &random, 3);
    const int circle[3][2] = {{0, 1}, {1, 2}, {2, 0}};
    made.p.pairs = 3;
    made.p.before = circle;
    efi_sequence_result result = solve(&made.p, 5, 1);
    assert_true(!result.found && result.proven);
    efi_sequence_result_free(&result);
    make_plain(&made, &random, 3);
    made.release[1] = 10;
    for (int j = 0; j < 3; j++)
        made.start_latest[j] = 9;
    made.p.release = made.release;
    made.p.start_latest = made.start_latest;
    result = solve(&made.p, 5, 1);
    assert_true(!result.found && result.proven);
    efi_sequence_result_free(&result);
}

static void values_out_of_range_are_refused(void **state)
{
    (void)state;
    efi_random random = efi_random_stream(20, 0, 0);
    made_problem made;
    const efi_sequence_settings settings = efi_sequence_defaults();
    efi_sequence_result result = {0};
    for (int wrong = 0; wrong < 7; wrong++) {
        make_plain(&made, &random, 4);
        const int pair[1][2] = {{0, 4}};
        if (wrong == 0)
            made.p.lots = 0;
        else if (wrong == 1)
            made.work[2] = -1;
        else if (wrong == 2)
            made.setup[3] = EFI_SEQUENCE_MOST + 1;
        else if (wrong == 3)
            made.p.setup_price = -1;
        else if (wrong == 4)
            made.p.pairs = 1;
        else if (wrong == 5)
            made.p.setup_time = NULL;
        made.p.before = pair;
        if (wrong == 6) {
            made.setup[3] = made.p.setup_price = EFI_SEQUENCE_MOST; /* their sum would not fit */
        }
        assert_int_equal(efi_sequence_solve(&made.p, &settings, &result), EF_USAGE);
        assert_null(result.order);
    }
}

static void without_memory_nothing_is_given_and_nothing_kept(void **state)
{
    (void)state;
    for (int kind = 0; kind < 3; kind++) {
        efi_random random = efi_random_stream(21, (uint64_t)kind, 0);
        made_problem made;
        make_random(&made, &random, 6);
        made.p.pairs = 0;
        made.p.refusal = kind == 2 ? made.refusal : NULL;
        if (kind == 0) {
            made.p.weight = made.p.release = made.p.start_latest = made.p.end_latest = NULL;
            made.p.makespan_price = 0;
        }
        efi_sequence_settings settings = efi_sequence_defaults();
        settings.rounds = 3;
        bool passed = false;
        for (long n = 1; !passed && n < 2000; n++) {
            efi_sequence_result result = {0};
            efi_memory_fail_at(n);
            const ef_status status = efi_sequence_solve(&made.p, &settings, &result);
            passed = status == EF_OK && efi_memory_fail_at(0) < n;
            efi_memory_fail_at(0);
            assert_true(status == EF_OK || status == EF_MEMORY);
            assert_true(status == EF_OK || result.order == NULL);
            efi_sequence_result_free(&result);
        }
        assert_true(passed);
    }
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(weighted_completion_is_least_in_the_order_of_smith),
        cmocka_unit_test(due_dates_moved_by_the_lateness_of_the_earliest_due_order_can_just_be_kept),
        cmocka_unit_test(fewest_refusals_are_those_of_moore_and_hodgson),
        cmocka_unit_test(values_of_small_problems_are_those_of_full_enumeration),
        cmocka_unit_test(walks_alone_reach_the_least_value_of_small_problems),
        cmocka_unit_test(values_are_those_of_an_integer_program),
        cmocka_unit_test(any_number_of_threads_gives_the_same_order),
        cmocka_unit_test(a_stop_gives_the_best_order_so_far_and_as_many_rounds_give_it_again),
        cmocka_unit_test(pairs_in_a_circle_and_lots_that_cannot_start_in_time_have_no_order),
        cmocka_unit_test(values_out_of_range_are_refused),
        cmocka_unit_test(without_memory_nothing_is_given_and_nothing_kept),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
