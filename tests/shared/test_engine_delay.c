/* SPDX-License-Identifier: GPL-3.0-or-later
 * Conveyors on which material takes its time: small cases worked out by hand, and laws. */
#include "../lib/near.h"
#include "../lib/networks.h"
#include "../lib/small_plants.h"
#include "base/memory.h"
#include "base/random.h"

static efi_network_station conveyor(uint64_t key, double capacity_tph, double delay_h)
{
    return (efi_network_station){.kind = EFI_NETWORK_CONVEYOR,
                                 .key = key,
                                 .capacity_tph = capacity_tph,
                                 .machines = 1,
                                 .delay_h = delay_h};
}

/* ---- by hand ----------------------------------------------------------------------------------- */

enum {
    INTAKE,
    BELT,
    NEXT,
    OUT
};

static const efi_network_spout in_line[] = {
    {INTAKE, BELT, 1.0, false}, {BELT, NEXT, 1.0, false}, {NEXT, OUT, 1.0, false}};

static void check_at(efi_engine *engine, double hour, double brought_t, double on_belt_t)
{
    run(engine, hour);
    assert_near_absolute(read_account(engine, BELT).out_t, brought_t, 1e-9);
    assert_near_absolute(read_account(engine, BELT).level_t, on_belt_t, 1e-9);
    assert_near_absolute(efi_engine_imbalance_t(engine), 0.0, 1e-9);
}

static void what_goes_on_comes_off_after_the_delay(void **state)
{
    (void)state;
    /* 10 t/h, none from 2 to 3, on a conveyor of half an hour: comes off from 0.5 on, none from 2.5 to 3.5.
     */
    const efi_interval at = {2.0, 3.0};
    const efi_stop_mode stop = {.schedule = EFI_STOPS_LIST, .intervals = 1, .list = &at};
    efi_network_station station[] = {with_mode(intake(10.0), &stop), conveyor(1, 20.0, 0.5), machine(2, 30.0),
                                     outlet(3, INFINITY)};
    const efi_network network = NETWORK(station, in_line);
    efi_engine *engine = build(&network);
    assert_false(efi_engine_is_series(engine));
    check_at(engine, 0.25, 0.0, 2.5);
    check_at(engine, 0.5, 0.0, 5.0);
    check_at(engine, 1.5, 10.0, 5.0);
    check_at(engine, 2.5, 20.0, 0.0);
    check_at(engine, 3.25, 20.0, 2.5);
    check_at(engine, 3.5, 20.0, 5.0);
    check_at(engine, 4.5, 30.0, 5.0);
    assert_near_absolute(read_account(engine, NEXT).in_t, 30.0, 1e-9);
    assert_near_absolute(read_account(engine, BELT).state_h[EFI_STATE_SLOW], 3.5, 1e-9);
    assert_near_absolute(read_account(engine, BELT).state_h[EFI_STATE_STARVED], 1.0, 1e-9);
    efi_engine_clear(engine);
    check_at(engine, 5.5, 10.0, 5.0);
    efi_engine_free(engine);
}

static void a_stopped_conveyor_keeps_what_is_on_it(void **state)
{
    (void)state;
    /* Stopped from 1 to 3.25 with 5 t on it: nothing goes on or off, then it goes on where it was. */
    const efi_interval at = {1.0, 3.25};
    const efi_stop_mode stop = {.schedule = EFI_STOPS_LIST, .intervals = 1, .list = &at};
    efi_network_station station[] = {intake(10.0), with_mode(conveyor(1, 20.0, 0.5), &stop), machine(2, 30.0),
                                     outlet(3, INFINITY)};
    const efi_network network = NETWORK(station, in_line);
    efi_engine *engine = build(&network);
    check_at(engine, 1.0, 5.0, 5.0);
    check_at(engine, 2.0, 5.0, 5.0);
    check_at(engine, 3.25, 5.0, 5.0);
    check_at(engine, 4.25, 15.0, 5.0);
    assert_near_absolute(read_account(engine, BELT).in_t, 20.0, 1e-9);
    assert_near_absolute(read_account(engine, INTAKE).state_h[EFI_STATE_BLOCKED], 2.25, 1e-9);
    assert_near_absolute(read_account(engine, BELT).state_h[EFI_STATE_RANDOM_STOP], 2.25, 1e-9);
    assert_near_absolute(read_account(engine, NEXT).state_h[EFI_STATE_STARVED], 2.25 + 0.5, 1e-9);
    efi_engine_free(engine);
}

static void what_comes_next_holds_the_conveyor_back(void **state)
{
    (void)state;
    /* 10 t/h on a conveyor of 20 t/h and 1 h, before a machine of 10 t/h that stands from 2 to 2.5: meanwhile
     * the conveyor does, with 10 t on it. */
    const efi_interval whole = {2.0, 2.5};
    const efi_stop_mode stop = {.schedule = EFI_STOPS_LIST, .intervals = 1, .list = &whole};
    efi_network_station station[] = {intake(10.0), conveyor(1, 20.0, 1.0), with_mode(machine(2, 10.0), &stop),
                                     outlet(3, INFINITY)};
    const efi_network network = NETWORK(station, in_line);
    efi_engine *engine = build(&network);
    check_at(engine, 2.0, 10.0, 10.0);
    check_at(engine, 2.5, 10.0, 10.0);
    check_at(engine, 4.0, 25.0, 10.0);
    assert_near_absolute(read_account(engine, INTAKE).state_h[EFI_STATE_BLOCKED], 0.5, 1e-9);
    assert_near_absolute(read_account(engine, BELT).state_h[EFI_STATE_BLOCKED], 0.5, 1e-9);
    efi_engine_free(engine);

    /* Before one of 5 t/h it goes at half speed from 1 h on, and takes up to 10 t/h still, which lies twice
     * as thick: by 3 h there are 20 t on it. */
    station[NEXT] = machine(2, 5.0);
    engine = build(&network);
    check_at(engine, 1.0, 0.0, 10.0);
    check_at(engine, 3.0, 10.0, 20.0);
    assert_near_absolute(efi_engine_rate_tph(engine, BELT), 10.0, 1e-9);
    /* Now 20 t/h would come off at full speed: a quarter of it, and so it takes 5 t/h. */
    check_at(engine, 4.0, 15.0, 20.0);
    assert_near_absolute(efi_engine_rate_tph(engine, BELT), 5.0, 1e-9);
    assert_near_absolute(efi_engine_rate_tph(engine, INTAKE), 5.0, 1e-9);
    efi_engine_free(engine);
}

static void a_full_bin_behind_stops_it_with_its_load(void **state)
{
    (void)state;
    /* 10 t/h, a quarter of an hour, a bin of 5 t drawn at 4 t/h: full at 0.25 + 5/6 h; from then on the
     * conveyor of 10 t/h goes at 0.4 of its speed with 2.5 t on it. */
    efi_network_station station[] = {intake(10.0), conveyor(1, 10.0, 0.25), bin(2, 5.0, 0.0), machine(3, 4.0),
                                     outlet(4, INFINITY)};
    const efi_network_spout spout[] = {
        {0, 1, 1.0, false}, {1, 2, 1.0, false}, {2, 3, 1.0, false}, {3, 4, 1.0, false}};
    const efi_network network = NETWORK(station, spout);
    efi_engine *engine = build(&network);
    run(engine, 0.25 + 5.0 / 6.0 - 1e-6);
    assert_near_absolute(efi_engine_level_t(engine, 2), 5.0, 1e-5);
    assert_near_absolute(efi_engine_rate_tph(engine, 0), 10.0, 1e-9);
    run(engine, 10.0);
    assert_near_absolute(efi_engine_rate_tph(engine, 0), 4.0, 1e-9);
    assert_near_absolute(efi_engine_level_t(engine, 2), 5.0, 1e-12);
    assert_near_absolute(read_account(engine, 1).level_t, 2.5, 1e-9);
    assert_near_absolute(read_account(engine, 4).in_t, 4.0 * 9.75, 1e-9);
    efi_engine_free(engine);
}

static void a_return_by_a_slow_leg_comes_round_in_turns(void **state)
{
    (void)state;
    /* Fresh feed 8 t/h straight onto a deck that sends a fifth back by a leg of 0.5 h: the deck takes
     * 8 (1 + 0.2 + ... + 0.2^n) after n turns, X = F/(1 - r) = 10 in the end. */
    efi_network_station station[] = {intake(8.0), machine(1, 12.0), conveyor(2, 5.0, 0.5),
                                     outlet(3, INFINITY)};
    const efi_network_spout spout[] = {
        {0, 1, 1.0, false}, {1, 3, 0.8, false}, {1, 2, 0.2, false}, {2, 1, 1.0, true}};
    const efi_network network = NETWORK(station, spout);
    efi_engine *engine = build(&network);
    double deck_tph = 8.0;
    for (int turn = 0; turn < 12; turn++) {
        run(engine, 0.5 * turn + 0.25);
        assert_near_relative(efi_engine_rate_tph(engine, 1), deck_tph, 1e-12);
        deck_tph = 8.0 + 0.2 * deck_tph;
    }
    run(engine, 400.0);
    assert_near_relative(efi_engine_rate_tph(engine, 1), 10.0, 1e-11);
    assert_true(efi_engine_events(engine) < 40); /* echoes that are rounding die out */
    efi_engine_free(engine);
}

/* ---- laws -------------------------------------------------------------------------------------- */

#define POINTS 40000

/* Tonnes taken and brought, against the hours the conveyor has run, kept from rates between events. */
typedef struct record {
    double ran_h[POINTS];
    double in_t[POINTS];
    int points;
    double out_t;
    double last_h;
    bool has_last;
    bool is_stopped;
    double in_tph;
    double out_tph;
    double delay_h;
    double worst_t;
    int checked;
} record;

/* Tonnes taken by the time the conveyor had run `ran_h`. */
static double taken_by(const record *r, double ran_h)
{
    if (!(ran_h > 0.0))
        return 0.0;
    int low = 0;
    int high = r->points - 1;
    while (high - low > 1) {
        const int middle = (low + high) / 2;
        if (r->ran_h[middle] > ran_h)
            high = middle;
        else
            low = middle;
    }
    const double span_h = r->ran_h[high] - r->ran_h[low];
    const double part = span_h > 0.0 ? (ran_h - r->ran_h[low]) / span_h : 0.0;
    return r->in_t[low] + part * (r->in_t[high] - r->in_t[low]);
}

static void keep_record(void *context, const efi_engine *engine, const efi_event *event)
{
    record *r = context;
    const double hours = event->at_h - r->last_h;
    if (hours > 0.0 && r->points < POINTS) {
        const int last = r->points - 1;
        r->ran_h[r->points] = r->ran_h[last] + (r->is_stopped ? 0.0 : hours);
        r->in_t[r->points] = r->in_t[last] + r->in_tph * hours;
        r->points++;
        r->out_t += r->out_tph * hours;
        const double due_t = taken_by(r, r->ran_h[r->points - 1] - r->delay_h);
        const double off_t = fabs(r->out_t - due_t);
        r->worst_t = off_t > r->worst_t ? off_t : r->worst_t;
        r->checked++;
    }
    r->last_h = event->at_h;
    r->is_stopped = efi_engine_is_stopped(engine, BELT);
    r->in_tph = efi_engine_flow_tph(engine, 0);
    r->out_tph = efi_engine_flow_tph(engine, 1);
}

static void the_output_of_a_plain_line_is_shifted_by_the_delay(void **state)
{
    (void)state;
    /* Random stops of intake and conveyor; what comes next always takes what is brought. Then what has come
     * off is what had gone on when the conveyor had run the delay less. */
    static record r;
    int checked = 0;
    for (uint64_t seed = 1; seed <= 40; seed++) {
        efi_random random = efi_random_stream(seed, 3, 0);
        const double delay_h = 0.02 + 2.0 * efi_random_uniform(&random);
        const efi_stop_mode of_intake = {.counting = EFI_COUNT_CLOCK,
                                         .gap = {EFI_EXPONENTIAL, 1.0, 0.0},
                                         .duration = {EFI_EXPONENTIAL, 0.3, 0.0}};
        const efi_stop_mode of_belt = {.counting = EFI_COUNT_RUNNING,
                                       .gap = {EFI_EXPONENTIAL, 3.0, 0.0},
                                       .duration = {EFI_WEIBULL, 0.4, 1.5}};
        efi_network_station station[] = {with_mode(intake(5.0), &of_intake),
                                         with_mode(conveyor(1, 12.0, delay_h), &of_belt), machine(2, 12.0),
                                         outlet(3, INFINITY)};
        station[INTAKE].machines = 2;
        const efi_network network = NETWORK(station, in_line);
        efi_engine *engine = build(&network);
        memset(&r, 0, sizeof r);
        r.points = 1;
        r.delay_h = delay_h;
        r.in_tph = 10.0; /* until the first event */
        efi_engine_watch(engine, keep_record, &r);
        efi_engine_start(engine, seed, 0);
        run(engine, 3000.0);
        efi_engine_free(engine);
        if (!(r.worst_t <= 1e-8))
            fail_msg("seed %llu: %g t too early or too late", (unsigned long long)seed, r.worst_t);
        checked += r.checked;
    }
    print_message("%d instants\n", checked);
    assert_true(checked > 100000);
}

static void without_stops_the_rate_is_that_without_delay(void **state)
{
    (void)state;
    int plants = 0;
    for (int k = 0; k < 300; k++) {
        static networks_plant with;
        static networks_plant without;
        const uint64_t seed = 700000 + (uint64_t)k;
        const networks_wish wish = {.steps = 3 + k % 20, .has_delays = true};
        networks_make(&with, seed, &wish);
        networks_make(&without, seed, &wish);
        int belts = 0;
        for (int i = 0; i < with.network.stations; i++) {
            belts += with.station[i].delay_h > 0.0;
            without.station[i].delay_h = 0.0;
        }
        if (belts == 0)
            continue;
        plants++;
        efi_engine *slow = build(&with.network);
        efi_engine *fast = build(&without.network);
        run(slow, 2000.0);
        run(fast, 2000.0);
        for (int i = 0; i < with.network.stations; i++)
            if (!(fabs(efi_engine_rate_tph(slow, i) - efi_engine_rate_tph(fast, i)) <= 1e-9))
                fail_msg("seed %llu: station %d %g not %g t/h", (unsigned long long)seed, i,
                         efi_engine_rate_tph(slow, i), efi_engine_rate_tph(fast, i));
        efi_engine_free(slow);
        efi_engine_free(fast);
    }
    assert_true(plants > 50);
}

static void a_delay_that_cannot_be_is_refused(void **state)
{
    (void)state;
    efi_network_station station[] = {intake(10.0), conveyor(1, 20.0, 0.5), machine(2, 30.0),
                                     outlet(3, INFINITY)};
    const efi_network network = NETWORK(station, in_line);
    efi_trouble trouble;
    assert_int_equal(efi_network_check(&network, &trouble), EF_OK);
    const double bad[] = {-0.1, (double)NAN, INFINITY};
    for (int k = 0; k < COUNT(bad); k++) {
        station[BELT].delay_h = bad[k];
        assert_int_equal(efi_network_check(&network, &trouble), EF_SCENARIO);
        assert_int_equal(trouble.kind, EFI_TROUBLE_DELAY);
        assert_int_equal(trouble.station[0], BELT);
    }
    station[BELT] = conveyor(1, INFINITY, 0.5);
    assert_int_equal(efi_network_check(&network, &trouble), EF_SCENARIO);
    station[BELT] = conveyor(1, 20.0, 0.5);
    station[BELT].machines = 2;
    assert_int_equal(efi_network_check(&network, &trouble), EF_SCENARIO);
    assert_int_equal(trouble.kind, EFI_TROUBLE_DELAY);
}

static void a_run_without_memory_says_so_and_leaks_nothing(void **state)
{
    (void)state;
    /* An intake that stops every few minutes and a conveyor of 20 h: more pieces than there is room for at
     * the start, so memory is asked for while it runs. */
    const efi_stop_mode often = {
        .schedule = EFI_STOPS_EVERY, .every = 0.125, .duration = {EFI_FIXED, 0.03, 0.0}};
    efi_network_station station[] = {with_mode(intake(10.0), &often), conveyor(1, 20.0, 20.0),
                                     machine(2, 30.0), outlet(3, INFINITY)};
    const efi_network network = NETWORK(station, in_line);
    bool has_failed = false;
    bool has_passed = false;
    for (long n = 1; n < 60 && !has_passed; n++) {
        efi_engine *engine = NULL;
        efi_trouble trouble;
        efi_memory_fail_at(0);
        assert_int_equal(efi_engine_build(&network, NULL, &engine, &trouble), EF_OK);
        efi_engine_start(engine, 1, 0);
        efi_memory_fail_at(n);
        const ef_status status = efi_engine_run(engine, 100.0, &trouble);
        efi_memory_fail_at(0);
        assert_true(status == EF_OK || status == EF_MEMORY);
        has_failed = has_failed || status == EF_MEMORY;
        has_passed = status == EF_OK;
        efi_engine_free(engine);
    }
    assert_true(has_failed && has_passed);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(what_goes_on_comes_off_after_the_delay),
        cmocka_unit_test(a_stopped_conveyor_keeps_what_is_on_it),
        cmocka_unit_test(what_comes_next_holds_the_conveyor_back),
        cmocka_unit_test(a_full_bin_behind_stops_it_with_its_load),
        cmocka_unit_test(a_return_by_a_slow_leg_comes_round_in_turns),
        cmocka_unit_test(the_output_of_a_plain_line_is_shifted_by_the_delay),
        cmocka_unit_test(without_stops_the_rate_is_that_without_delay),
        cmocka_unit_test(a_delay_that_cannot_be_is_refused),
        cmocka_unit_test(a_run_without_memory_says_so_and_leaks_nothing),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
