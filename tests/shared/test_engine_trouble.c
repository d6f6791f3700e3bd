/* SPDX-License-Identifier: GPL-3.0-or-later
 * What the event engine refuses, and how it tells what goes wrong. */
#include "../lib/near.h"
#include "../lib/small_plants.h"
#include "base/memory.h"

static void an_endless_loop_names_its_stations(void **state)
{
    (void)state;
    /* Fed at 5 t/h the deck may not run below 8; with a restart level of a gram it starts and stops without
     * end. */
    efi_network_station station[] = {intake(5.0), bin(1, 4.0, 0.0), machine(2, 10.0), outlet(3, INFINITY)};
    station[0].name = "pit";
    station[1].name = "holding bin";
    station[2].name = "deck";
    station[1].bin.restart_t = 1e-6;
    station[2].steady = (efi_network_steady){.is_steady = true, .least_tph = 8.0, .band_share = 0.02};
    const efi_network_spout spout[] = {{0, 1, 1.0, false}, {1, 2, 1.0, false}, {2, 3, 1.0, false}};
    const efi_network network = NETWORK(station, spout);
    efi_engine *engine = build(&network);
    efi_trouble trouble;
    assert_int_equal(efi_engine_run(engine, 10.0, &trouble), EF_NO_ANSWER);
    assert_int_equal(trouble.kind, EFI_TROUBLE_EVENTS);
    assert_true(trouble.at_h < 1.0);
    efi_text text = {0};
    efi_trouble_write(&trouble, &network, &text);
    assert_non_null(strstr(efi_text_get(&text), "\"holding bin\""));
    assert_null(strstr(efi_text_get(&text), "\"pit\""));
    efi_text_free(&text);
    efi_engine_free(engine);
}

static void what_a_batch_machine_cannot_bring_back_is_told_with_its_stations(void **state)
{
    (void)state;
    /* A tenth of each charge goes back to the bin, which the intake keeps full while the machine works. */
    efi_network_station station[] = {intake(10.0), bin(1, 4.0, 4.0), machine(2, 10.0), outlet(3, INFINITY)};
    station[1].name = "green bin";
    station[2].name = "treater";
    station[2].batch = (efi_network_batch){
        .is_used = true, .charge_t = 2.0, .work_h = 0.1, .discharge_tph = 20.0};
    const efi_network_spout spout[] = {
        {0, 1, 1.0, false}, {1, 2, 1.0, false}, {2, 1, 0.1, true}, {2, 3, 0.9, false}};
    const efi_network network = NETWORK(station, spout);
    efi_engine *engine = build(&network);
    efi_trouble trouble;
    assert_int_equal(efi_engine_run(engine, 50.0, &trouble), EF_NO_ANSWER);
    assert_int_equal(trouble.kind, EFI_TROUBLE_BATCH);
    assert_near_absolute(trouble.at_h, 0.2 + 0.1, 1e-5);
    efi_text text = {0};
    efi_trouble_write(&trouble, &network, &text);
    assert_non_null(strstr(efi_text_get(&text), "a bin of its own"));
    assert_non_null(strstr(efi_text_get(&text), "\"treater\""));
    efi_text_free(&text);
    efi_engine_free(engine);

    /* What helps is what the message says: a bin for it, from which it goes first into the next charge. */
    efi_network_station mended[] = {station[0], station[1], station[2], station[3], bin(4, 0.5, 0.0)};
    const efi_network_spout round[] = {
        {0, 1, 1.0, false}, {1, 2, 1.0, false}, {2, 4, 0.1, false}, {4, 2, 1.0, true}, {2, 3, 0.9, false}};
    const efi_network without = NETWORK(mended, round);
    engine = build(&without);
    run(engine, 50.0);
    assert_true(read_account(engine, 3).in_t >
                0.9 * 2.0 * (50.0 / 0.4 - 1.0)); /* 0.2 + 0.1 + 0.1 h a charge */
    efi_engine_free(engine);
}

static efi_trouble_kind trouble_of(const efi_network *network)
{
    efi_trouble trouble;
    return efi_network_check(network, &trouble) == EF_OK ? EFI_TROUBLE_NONE : trouble.kind;
}

static void a_network_that_cannot_run_is_refused_with_its_reason(void **state)
{
    (void)state;
    const efi_network_station good[] = {intake(10.0), bin(1, 4.0, 0.0), machine(2, 8.0), outlet(3, INFINITY)};
    const efi_network_spout line[] = {{0, 1, 1.0, false}, {1, 2, 1.0, false}, {2, 3, 1.0, false}};
    efi_network_station station[4];
    efi_network_spout spout[4];
    const efi_network network = {.stations = 4, .station = station, .spouts = 3, .spout = spout};
#define RESET() (memcpy(station, good, sizeof good), memcpy(spout, line, sizeof line))
    RESET();
    assert_int_equal(trouble_of(&network), EFI_TROUBLE_NONE);
    station[2].capacity_tph = NAN;
    assert_int_equal(trouble_of(&network), EFI_TROUBLE_NUMBER);
    RESET();
    station[2].machines = 0;
    assert_int_equal(trouble_of(&network), EFI_TROUBLE_NUMBER);
    RESET();
    const efi_stop_mode bad = {.gap = {EFI_FIXED, -1.0, 0.0}};
    station[2] = with_mode(station[2], &bad);
    assert_int_equal(trouble_of(&network), EFI_TROUBLE_STOPS);
    RESET();
    station[1].bin.start_t = 5.0;
    assert_int_equal(trouble_of(&network), EFI_TROUBLE_LEVELS);
    RESET();
    spout[1].to = 9;
    assert_int_equal(trouble_of(&network), EFI_TROUBLE_SPOUT_END);
    RESET();
    spout[2].to = 1;
    assert_int_equal(trouble_of(&network), EFI_TROUBLE_SPOUTS);
    RESET();
    spout[2].share = 0.9;
    assert_int_equal(trouble_of(&network), EFI_TROUBLE_SHARES);
    RESET();
    station[2].capacity_tph = INFINITY;
    assert_int_equal(trouble_of(&network), EFI_TROUBLE_UNLIMITED);
    RESET();
    station[2].steady = (efi_network_steady){.is_steady = true, .least_tph = 5.0, .band_share = 0.02};
    assert_int_equal(trouble_of(&network), EFI_TROUBLE_LEAST_FEED);
    RESET();
    station[2].steady = (efi_network_steady){.is_steady = true, .warm_up_h = 0.1, .warm_spout = 0};
    assert_int_equal(trouble_of(&network), EFI_TROUBLE_WARM_UP);
    RESET();
    station[2].batch = (efi_network_batch){.is_used = true, .charge_t = 0.5, .work_h = 0.1};
    assert_int_equal(trouble_of(&network), EFI_TROUBLE_NUMBER);
    RESET();
    station[0].loads = (efi_network_loads){
        .is_used = true, .is_instant = true, .gap_h = {EFI_FIXED, 1.0, 0.0}, .load_t = {EFI_FIXED, 1.0, 0.0}};
    spout[0].to = 2;
    spout[1] = (efi_network_spout){2, 1, 0.5, false};
    spout[2].share = 0.5;
    spout[3] = (efi_network_spout){1, 3, 1.0, false};
    const efi_network loaded = {.stations = 4, .station = station, .spouts = 4, .spout = spout};
    assert_int_equal(trouble_of(&loaded), EFI_TROUBLE_LOADS);
    RESET();
    spout[2].share = 0.7;
    spout[3] = (efi_network_spout){2, 1, 0.3, false};
    assert_int_equal(trouble_of(&loaded), EFI_TROUBLE_LOOP);
    assert_int_equal(efi_network_mark_returns(&loaded, spout), EF_OK);
    assert_true(spout[3].is_return);
    assert_false(spout[0].is_return || spout[1].is_return || spout[2].is_return);
    assert_int_equal(trouble_of(&loaded), EFI_TROUBLE_NONE);
#undef RESET
}

static void building_without_memory_is_refused_and_leaks_nothing(void **state)
{
    (void)state;
    const efi_network_station station[] = {intake(8.0), bin(1, 4.0, 0.0), machine(2, 12.0),
                                           outlet(3, INFINITY)};
    const efi_network_spout spout[] = {
        {0, 1, 1.0, false}, {1, 2, 1.0, false}, {2, 1, 0.2, true}, {2, 3, 0.8, false}};
    const efi_network network = NETWORK(station, spout);
    for (long n = 1;; n++) {
        efi_engine *engine = NULL;
        efi_trouble trouble;
        efi_memory_fail_at(n);
        const ef_status status = efi_engine_build(&network, NULL, &engine, &trouble);
        efi_memory_fail_at(0);
        if (status == EF_OK) {
            efi_engine_free(engine);
            assert_true(n > 4);
            return;
        }
        assert_int_equal(status, EF_MEMORY);
        assert_null(engine);
    }
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(an_endless_loop_names_its_stations),
        cmocka_unit_test(what_a_batch_machine_cannot_bring_back_is_told_with_its_stations),
        cmocka_unit_test(a_network_that_cannot_run_is_refused_with_its_reason),
        cmocka_unit_test(building_without_memory_is_refused_and_leaks_nothing),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
