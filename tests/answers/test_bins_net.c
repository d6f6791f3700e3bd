/* SPDX-License-Identifier: GPL-3.0-or-later
 * The program of a network: on a series line the same shortfalls as the recursion; its slopes against finite
 * differences; where streams part, meet and come back the optimum of the plain program, here and by a solver
 * that is none of ours. */
#include "../lib/files.h"
#include "../lib/near.h"
#include "../lib/outside_solver.h"
#include "../lib/skip.h"
#include "answers/bins/net.h"
#include "answers/bins/path.h"
#include "base/memory.h"
#include "base/random.h"

#include <math.h>
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdlib.h>
#include <string.h>

#include <cmocka.h>

enum {
    STATIONS = 15,
    SPOUTS = 24,
    TRACES = 6,
    BINS_MOST = EFI_FLUID_SEGMENTS_MOST - 1
};
#define HOURS 8.0

typedef struct plant {
    efi_network_station station[STATIONS];
    efi_network_spout spout[SPOUTS];
    efi_stop_mode mode[STATIONS];
    double flow_tph[STATIONS];
    bool is_product[STATIONS];
    double load_share[STATIONS];
    efi_plant_network network;
} plant;

static int add(plant *p, efi_network_kind kind, double capacity_tph, double flow_tph)
{
    efi_network *network = &p->network.network;
    const int n = network->stations++;
    p->station[n] = (efi_network_station){
        .kind = kind, .key = (uint64_t)(100 + n), .capacity_tph = capacity_tph, .machines = 1};
    if (kind == EFI_NETWORK_BIN)
        p->station[n].bin = (efi_network_bin){.full_t = 1.0, .start_t = 0.5, .refill_t = 1.0};
    p->flow_tph[n] = flow_tph;
    p->load_share[n] = 1.0;
    return n;
}

static void join(plant *p, int from, int to, double share, bool is_return)
{
    p->spout[p->network.network.spouts++] = (efi_network_spout){from, to, share, is_return};
}

/* Random stops by the clock. */
static void stop(plant *p, int n, double between_h, double lasts_h)
{
    p->mode[n] = (efi_stop_mode){.schedule = EFI_STOPS_DRAWN,
                                 .counting = EFI_COUNT_CLOCK,
                                 .gap = {EFI_EXPONENTIAL, between_h, 0.0},
                                 .duration = {EFI_EXPONENTIAL, lasts_h, 0.0}};
    p->station[n].mode = &p->mode[n];
    p->station[n].modes = 1;
}

static plant *start(void)
{
    plant *p = calloc(1, sizeof *p);
    assert_non_null(p);
    p->network.network.station = p->network.stations = p->station;
    p->network.network.spout = p->network.spouts = p->spout;
    return p;
}

/* Pit, raw bin, cleaner, holding bin, a deck that sends 15 % back to it, a bin, two baggers side by side. */
static plant *make_series(int *deck)
{
    plant *p = start();
    const int pit = add(p, EFI_NETWORK_INTAKE, 14.0, 8.5);
    const int raw = add(p, EFI_NETWORK_BIN, INFINITY, 8.5);
    const int cleaner = add(p, EFI_NETWORK_MACHINE, 12.0, 8.5);
    const int holding = add(p, EFI_NETWORK_BIN, INFINITY, 10.0);
    *deck = add(p, EFI_NETWORK_MACHINE, 10.0, 10.0);
    const int after = add(p, EFI_NETWORK_BIN, INFINITY, 8.5);
    const int bagger = add(p, EFI_NETWORK_MACHINE, 6.0, 8.5);
    const int shed = add(p, EFI_NETWORK_OUTLET, INFINITY, 8.5);
    p->station[bagger].machines = 2;
    p->station[*deck].steady.is_steady = true;
    p->is_product[shed] = true;
    join(p, pit, raw, 1.0, false);
    join(p, raw, cleaner, 1.0, false);
    join(p, cleaner, holding, 1.0, false);
    join(p, holding, *deck, 1.0, false);
    join(p, *deck, holding, 0.15, true);
    join(p, *deck, after, 0.85, false);
    join(p, after, bagger, 1.0, false);
    join(p, bagger, shed, 1.0, false);
    stop(p, pit, 3.0, 0.2);
    stop(p, cleaner, 2.0, 0.3);
    stop(p, *deck, 6.0, 0.1);
    stop(p, bagger, 1.5, 0.2);
    return p;
}

/* One raw bin, two lines that part behind its leg by `split`, each with cleaner, holding bin and a deck that
 * sends back, and meet in a bin before two sorters. */
static plant *make_two_lines(efi_network_split split, int *deck)
{
    plant *p = start();
    const int pit = add(p, EFI_NETWORK_INTAKE, 30.0, 18.0);
    const int raw = add(p, EFI_NETWORK_BIN, INFINITY, 18.0);
    const int leg = add(p, EFI_NETWORK_MACHINE, 24.0, 18.0);
    const int flap = add(p, EFI_NETWORK_SPLIT, INFINITY, 18.0);
    const int sorter_bin = add(p, EFI_NETWORK_BIN, INFINITY, 17.0);
    const int sorter = add(p, EFI_NETWORK_MACHINE, 11.0, 17.0);
    const int shed = add(p, EFI_NETWORK_OUTLET, INFINITY, 17.0);
    p->station[flap].split = split;
    p->station[sorter].machines = 2;
    p->is_product[shed] = true;
    join(p, pit, raw, 1.0, false);
    join(p, raw, leg, 1.0, false);
    join(p, leg, flap, 1.0, false);
    join(p, sorter_bin, sorter, 1.0, false);
    join(p, sorter, shed, 1.0, false);
    stop(p, leg, 4.0, 0.1);
    stop(p, sorter, 2.0, 0.15);
    for (int i = 0; i < 2; i++) {
        const double fresh_tph = i == 0 ? 10.0 : 8.0;
        const int first = add(p, EFI_NETWORK_BIN, INFINITY, fresh_tph);
        const int cleaner = add(p, EFI_NETWORK_MACHINE, 13.0 - i, fresh_tph);
        const int holding = add(p, EFI_NETWORK_BIN, INFINITY, fresh_tph / 0.9);
        deck[i] = add(p, EFI_NETWORK_MACHINE, fresh_tph / 0.9, fresh_tph / 0.9);
        p->station[deck[i]].steady.is_steady = true;
        join(p, flap, first, fresh_tph / 18.0, false);
        join(p, first, cleaner, 1.0, false);
        join(p, cleaner, holding, 1.0, false);
        join(p, holding, deck[i], 1.0, false);
        join(p, deck[i], holding, 0.1, true);
        join(p, deck[i], sorter_bin, 0.85, false);
        join(p, deck[i], shed, 0.05, false);
        stop(p, cleaner, 2.5 - i, 0.25);
    }
    return p;
}

typedef struct job {
    efi_arena *arena;
    efi_net net;
    efi_net_traces *traces;
    efi_sizing_bin bin[BINS_MOST];
    efi_sizing sizing;
} job;

static void open_job(job *j, const plant *p, const int *deck, int decks, uint64_t seed)
{
    *j = (job){.arena = efi_arena_new()};
    efi_net_steady steady[2];
    for (int f = 0; f < decks; f++)
        steady[f] = (efi_net_steady){deck[f], 1.0};
    assert_int_equal(efi_net_build(&j->net, j->arena, &p->network, p->flow_tph, p->load_share, steady, decks),
                     EF_OK);
    assert_int_equal(efi_net_lay(&j->net, seed, TRACES, HOURS, &j->traces), EF_OK);
    for (int b = 0; b < j->net.bins; b++)
        j->bin[b] = (efi_sizing_bin){.cost = 1.0 + 0.1 * b, .most_t = 40.0};
    j->sizing = (efi_sizing){.traces = TRACES,
                             .bins = j->net.bins,
                             .pass = efi_net_pass,
                             .add = efi_net_add,
                             .program = j->traces,
                             .bin = j->bin,
                             .gap_share = 1e-7,
                             .tail_share = 1.0,
                             .threads = 1};
}

static void close_job(job *j)
{
    efi_net_free(j->traces);
    efi_arena_free(j->arena);
    efi_lp_thread_end();
}

/* ---- against the recursion ------------------------------------------------------------------------------
 */

static void on_a_series_line_it_is_short_by_what_the_recursion_says(void **state)
{
    (void)state;
    int deck = -1;
    plant *p = make_series(&deck);
    double sum = 0.0;
    for (uint64_t seed = 1; seed <= 6; seed++) {
        job j;
        efi_path path;
        efi_path_lines lines;
        open_job(&j, p, &deck, 1, seed);
        assert_int_equal(efi_path_follow(&path, j.arena, &p->network, p->flow_tph, p->is_product, deck, 1.0),
                         EF_OK);
        assert_int_equal((int)path.notes, EFI_PATH_SERIES);
        assert_int_equal(path.segments - 1, j.net.bins);
        assert_int_equal(efi_path_lay(&path, seed, TRACES, HOURS, 1, &lines), EF_OK);
        efi_random random = efi_random_stream(seed, 3, 0);
        double volume_t[BINS_MOST];
        double measure_t[BINS_MOST];
        double net_t[TRACES];
        double slope[TRACES * BINS_MOST];
        for (int b = 0; b < j.net.bins; b++) {
            assert_int_equal(path.bin[b].station, j.net.bin[b].station);
            volume_t[b] = 4.0 * efi_random_uniform(&random);
            measure_t[b] = volume_t[b] / path.bin[b].t_per_t;
        }
        assert_int_equal(efi_net_pass(j.traces, volume_t, net_t, slope), EF_OK);
        for (int t = 0; t < TRACES; t++) {
            double short_t = 0.0;
            assert_int_equal(efi_fluid_run(&lines.line[t], measure_t, &short_t, NULL), EF_OK);
            /* the recursion counts net of returns */
            if (fabs(net_t[t] - short_t * 10.0 / 8.5) > 1e-4)
                print_message("seed %d, trace %d\n", (int)seed, t);
            assert_near_absolute(net_t[t], short_t * 10.0 / 8.5, 1e-4);
            sum += short_t;
        }
        efi_path_lines_free(&lines);
        close_job(&j);
    }
    assert_true(sum > 1.0);
    free(p);
}

/* ---- slopes ---------------------------------------------------------------------------------------------
 */

/* A cut lies nowhere above the shortfall, and away from kinks it is the slope. */
static void its_slopes_are_those_of_finite_differences(void **state)
{
    (void)state;
    int deck[2];
    plant *p = make_two_lines(EFI_NETWORK_BY_SHARES, deck);
    const double h = 1e-3;
    int smooth = 0;
    int looked_at = 0;
    for (uint64_t seed = 1; seed <= 4; seed++) {
        job j;
        open_job(&j, p, deck, 2, seed);
        efi_random random = efi_random_stream(seed, 4, 0);
        double volume_t[BINS_MOST];
        double slope[BINS_MOST];
        double short_t = 0.0;
        for (int b = 0; b < j.net.bins; b++)
            volume_t[b] = 0.3 + 3.0 * efi_random_uniform(&random);
        assert_int_equal(efi_sizing_shortfall(&j.sizing, volume_t, &short_t, slope), EF_OK);
        assert_true(short_t > 0.01);
        for (int b = 0; b < j.net.bins; b++) {
            double more_t = 0.0;
            double less_t = 0.0;
            volume_t[b] += h;
            assert_int_equal(efi_sizing_shortfall(&j.sizing, volume_t, &more_t, NULL), EF_OK);
            volume_t[b] -= 2.0 * h;
            assert_int_equal(efi_sizing_shortfall(&j.sizing, volume_t, &less_t, NULL), EF_OK);
            volume_t[b] += h;
            assert_true(slope[b] <= 0.0);
            assert_true(more_t >= short_t + slope[b] * h - 1e-7);
            assert_true(less_t >= short_t - slope[b] * h - 1e-7);
            looked_at++;
            smooth += fabs((more_t - less_t) / (2.0 * h) - slope[b]) < 1e-4;
        }
        close_job(&j);
    }
    assert_int_equal(looked_at, 4 * 6);
    assert_true(smooth >= 18); /* the rest at kinks */
    free(p);
}

/* ---- the optimum ----------------------------------------------------------------------------------------
 */

static double least_shortfall(const efi_sizing *sizing)
{
    double most_t[BINS_MOST];
    double shortfall_t = NAN;
    for (int b = 0; b < sizing->bins; b++)
        most_t[b] = sizing->bin[b].most_t;
    assert_int_equal(efi_sizing_shortfall(sizing, most_t, &shortfall_t, NULL), EF_OK);
    return shortfall_t;
}

static efi_sizing_aim aim_of(efi_sizing *sizing, uint64_t seed)
{
    sizing->tail_share = seed % 3 == 2 ? 0.4 : 1.0;
    if (seed % 3 == 1)
        return (efi_sizing_aim){.priced = true, .price = 4.0};
    return (efi_sizing_aim){.target_t = least_shortfall(sizing) + 0.3};
}

/* Value by cuts against the plain program by the wrapper and, where it is there, by a solver of others. */
static void compare(const plant *p, const int *deck, uint64_t seed, const char *mps)
{
    job j;
    open_job(&j, p, deck, 2, seed);
    const efi_sizing_aim aim = aim_of(&j.sizing, seed);
    efi_sizing_search *search = efi_sizing_open(&j.sizing);
    double volume_t[BINS_MOST];
    int column[BINS_MOST];
    efi_sizing_result result;
    efi_lp *lp = NULL;
    assert_non_null(search);
    assert_int_equal(efi_sizing_solve(search, &aim, volume_t, &result), EF_OK);
    const double value = result.cost + (aim.priced ? aim.price * result.shortfall_t : 0.0);
    assert_int_equal(efi_sizing_plain(&j.sizing, &aim, &lp, column), EF_OK);
    if (mps) {
        assert_int_equal(efi_lp_write(lp, mps, EFI_LP_FREE_MPS, true), EF_OK);
        const outside_result outside = outside_solver_run(mps);
        assert_int_equal(outside.outcome, OUTSIDE_OPTIMAL);
        assert_near_relative(value, outside.objective, 1e-6);
    } else {
        efi_lp_result plain;
        assert_int_equal(efi_lp_solve(lp, NULL, &plain), EF_OK);
        assert_int_equal(plain.outcome, EFI_LP_OPTIMAL);
        if (fabs(value - plain.objective) > 1e-6 * plain.objective)
            print_message("seed %d\n", (int)seed);
        assert_near_relative(value, plain.objective, 1e-6);
    }
    assert_true(value > 0.5);
    efi_lp_free(lp);
    efi_sizing_close(search);
    close_job(&j);
}

static void cuts_of_each_trace_have_the_optimum_of_the_plain_program(void **state)
{
    (void)state;
    static const efi_network_split splits[] = {EFI_NETWORK_BY_SHARES, EFI_NETWORK_FIRST};
    for (int s = 0; s < 2; s++) {
        int deck[2];
        plant *p = make_two_lines(splits[s], deck);
        for (uint64_t seed = 1; seed <= 6; seed++)
            compare(p, deck, seed, NULL);
        free(p);
    }
}

static void a_solver_of_others_finds_the_same(void **state)
{
    (void)state;
    if (!outside_solver_is_there())
        ef_test_skip("clp is not installed");
    int deck[2];
    plant *p = make_two_lines(EFI_NETWORK_BY_SHARES, deck);
    char *path = scratch_path("net.mps");
    for (uint64_t seed = 1; seed <= 3; seed++)
        compare(p, deck, seed, path);
    free(path);
    free(p);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(on_a_series_line_it_is_short_by_what_the_recursion_says),
        cmocka_unit_test(its_slopes_are_those_of_finite_differences),
        cmocka_unit_test(cuts_of_each_trace_have_the_optimum_of_the_plain_program),
        cmocka_unit_test(a_solver_of_others_finds_the_same),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
