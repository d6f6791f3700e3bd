/* SPDX-License-Identifier: GPL-3.0-or-later
 * Rates that are recalled are those that would be solved anew, to the last bit: random plants through random
 * states, seeds printed on failure. */
#include "../lib/networks.h"

#include "shared/engine/rates.h"

#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdlib.h>
#include <string.h>

#include <cmocka.h>

enum {
    PLANTS = 60,
    STATES = 400,
    DIFFERENT = 12 /* states that take turns, by chance */
};

/* A state drawn from `random`: some stations stopped, bins at their bounds, some shut. */
static void draw_state(efi_rates *rates, efi_random random)
{
    const efi_network *network = rates->network;
    for (int i = 0; i < network->stations; i++) {
        const efi_network_station *station = &network->station[i];
        const double u = efi_random_uniform(&random);
        if (station->kind != EFI_NETWORK_BIN) {
            const double capacity = station->capacity_tph *
                                    (station->kind == EFI_NETWORK_SPLIT ? 1 : station->machines);
            rates->capacity_tph[i] = u < 0.2 && station->kind != EFI_NETWORK_SPLIT ? 0.0 : capacity;
            continue;
        }
        rates->at[i] = (unsigned char)(u < 0.3 ? EFI_AT_EMPTY : u < 0.6 ? EFI_AT_FULL : EFI_AT_BETWEEN);
        rates->out_shut[i] = u < 0.05;
        rates->in_shut[i] = u > 0.55 && u < 0.6;
    }
}

static void assert_same(const efi_rates *recalled, const efi_rates *solved, unsigned seed, int k)
{
    const size_t stations = (size_t)solved->network->stations;
    const size_t spouts = (size_t)solved->network->spouts;
    const bool same = memcmp(recalled->flow_tph, solved->flow_tph, spouts * sizeof(double)) == 0 &&
                      memcmp(recalled->supply_tph, solved->supply_tph, stations * sizeof(double)) == 0 &&
                      memcmp(recalled->through_tph, solved->through_tph, stations * sizeof(double)) == 0 &&
                      memcmp(recalled->inflow_tph, solved->inflow_tph, stations * sizeof(double)) == 0 &&
                      memcmp(recalled->accept_tph, solved->accept_tph, stations * sizeof(double)) == 0 &&
                      memcmp(recalled->given_tph, solved->given_tph, stations * sizeof(double)) == 0 &&
                      memcmp(recalled->belt_speed, solved->belt_speed, stations * sizeof(double)) == 0 &&
                      memcmp(recalled->ease, solved->ease, stations) == 0;
    if (!same)
        fail_msg("seed %u, state %d: recalled rates are not those solved anew", seed, k);
}

static void run_plant(unsigned seed)
{
    networks_plant *plant = malloc(sizeof *plant);
    efi_arena *arena = efi_arena_new();
    efi_rates recalled;
    efi_rates solved;
    assert_non_null(plant);
    assert_non_null(arena);
    networks_make(
        plant, seed,
        &(networks_wish){
            .steps = 5 + (int)(seed % 20), .has_latches = true, .has_branches = true, .has_returns = true});
    assert_int_equal(efi_rates_build(&recalled, &plant->network, arena), EF_OK);
    assert_int_equal(efi_rates_remember(&recalled, arena), EF_OK);
    assert_int_equal(efi_rates_build(&solved, &plant->network, arena), EF_OK);
    efi_random turns = efi_random_stream(seed, 0, 1);
    int found = 0;
    for (int k = 0; k < STATES; k++) {
        const uint64_t which = (uint64_t)(efi_random_uniform(&turns) * DIFFERENT);
        draw_state(&recalled, efi_random_stream(seed, which, 2));
        draw_state(&solved, efi_random_stream(seed, which, 2));
        size_t slot;
        found += efi_recall_find(&recalled.recall, recalled.question, recalled.answer, &slot);
        const ef_status status = efi_rates_solve(&recalled);
        assert_int_equal(efi_rates_solve(&solved), status);
        if (status == EF_OK)
            assert_same(&recalled, &solved, seed, k);
    }
    if (found < STATES / 2)
        fail_msg("seed %u: only %d of %d states were recalled", seed, found, STATES);
    efi_arena_free(arena);
    free(plant);
}

static void recalled_rates_are_those_solved_anew(void **state)
{
    (void)state;
    for (unsigned seed = 1; seed <= PLANTS; seed++)
        run_plant(seed);
}

/* Questions that share a place drive each other out, and are never taken for each other. */
static void places_are_shared_without_mistakes(void **state)
{
    (void)state;
    efi_arena *arena = efi_arena_new();
    efi_recall recall;
    assert_int_equal(efi_recall_build(&recall, 3, 2, arena), EF_OK);
    double question[3] = {0.0};
    double answer[2] = {0.0};
    size_t slot;
    int found = 0;
    for (int round = 0; round < 2; round++) {
        for (int k = 0; k < 4 * (int)recall.slots; k++) {
            question[0] = 1.0 + k % 7;
            question[2] = k;
            if (efi_recall_find(&recall, question, answer, &slot)) {
                found++;
                assert_true(answer[0] == 2.0 * k && answer[1] == -k);
                continue;
            }
            assert_true(slot < recall.slots);
            answer[0] = 2.0 * k;
            answer[1] = -k;
            efi_recall_keep(&recall, slot, question, answer);
            answer[0] = answer[1] = 1e9;
            assert_true(efi_recall_find(&recall, question, answer, &slot));
            assert_true(answer[0] == 2.0 * k && answer[1] == -k);
        }
    }
    assert_true(found < 2 * (int)recall.slots);
    efi_arena_free(arena);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(recalled_rates_are_those_solved_anew),
        cmocka_unit_test(places_are_shared_without_mistakes),
    };
    return cmocka_run_group_tests_name("engine recall", tests, NULL, NULL);
}
