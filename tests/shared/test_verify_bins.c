/* SPDX-License-Identifier: GPL-3.0-or-later
 * The verifier of bins notices wrong answers: each kind of figure is made wrong in turn. And its shortest way
 * is the shortfall of lines solved by hand. */
#include "../lib/near.h"
#include "../lib/plants.h"
#include "shared/verify/bins_line.h"

#include <evenfeed/bins.h>
#include <evenfeed/report.h>
#include <math.h>
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <stdio.h>
#include <string.h>

#include <cmocka.h>

static const char plant[] =
    "evenfeed: 1\n"
    "plant: {name: Test}\n"
    "materials: {sound: {wanted: yes}, light: }\n"
    "crops:\n"
    "  wheat: {density: 0.8 t/m3, receipt: {sound: rest, light: 6 %}}\n"
    "  oats: {density: 0.5 t/m3, receipt: {sound: rest, light: 9 %}}\n"
    "stations:\n"
    "  Pit: {kind: intake, capacity: 40 t/h, receipts: {load: 20 t, every: 1 h, queue: 2}, to: Raw bin}\n"
    "  Raw bin: {kind: bin, live volume: 30 m3, sizing: {cost: 700 EUR/m3, most: 200 m3}, to: Cleaner}\n"
    "  Cleaner: {kind: machine, capacity: 14 t/h, stops: {choke: {between: 9 h, lasts: 20 min}}, to: Leg}\n"
    "  Leg: {kind: elevator, capacity: 16 t/h, stops: {belt: {between: 90 h, lasts: 15 min}}, to: Holding "
    "bin}\n"
    "  Holding bin: {kind: bin, live volume: 2 m3, sizing: {cost: 900 EUR/m3, least: 1 m3}, to: Deck}\n"
    "  Deck:\n"
    "    kind: density separator\n"
    "    capacity: 10 t/h\n"
    "    discharges:\n"
    "      lights: {takes: {light: 60 %}, to: Waste}\n"
    "      middlings: {takes: {sound: 12 %, light: 20 %}, to: Leg}\n"
    "      heavies: {takes: rest, to: Bag bin}\n"
    "  Bag bin: {kind: bin, live volume: 2 m3, sizing: {cost: 800 EUR/m3}, to: Bagger}\n"
    "  Bagger: {kind: bagger, capacity: 6 t/h, count: 2, stops: {bags: {between: 2 h, lasts: 5 min}}, to: "
    "Shed}\n"
    "  Waste: {kind: outlet, use: waste}\n"
    "  Shed: {kind: outlet, product: yes}\n";

typedef struct answer {
    ef_bins *bins;
    ef_bins_crop *crop;
    ef_bins_feed *feed;
    ef_bins_bin *bin;   /* the holding bin */
    ef_bins_unit *unit; /* the cleaner */
    ef_bins_link *link; /* of the holding bin */
    ef_bins_whole *whole;
} answer;

/* The answer may be written to here: it is made wrong on purpose. */
static void *open_up(const void *kept)
{
    void *written;
    memcpy(&written, &kept, sizeof written);
    return written;
}

static void take_apart(answer *a)
{
    a->crop = open_up(&a->bins->crops[0]);
    a->feed = open_up(&a->crop->feeds[0]);
    for (int b = 0; b < a->crop->bin_count; b++)
        if (strcmp(a->crop->bins[b].name, "Holding bin") == 0)
            a->bin = open_up(&a->crop->bins[b]);
    for (int u = 0; u < a->feed->unit_count; u++)
        if (strcmp(a->feed->units[u].station, "Cleaner") == 0)
            a->unit = open_up(&a->feed->units[u]);
    for (int j = 0; j < a->feed->segments - 1; j++)
        if (a->feed->links[j].bin && strcmp(a->feed->links[j].bin, "Holding bin") == 0)
            a->link = open_up(&a->feed->links[j]);
    for (int b = 0; b < a->bins->bin_count; b++)
        if (strcmp(a->bins->bins[b].name, "Holding bin") == 0)
            a->whole = open_up(&a->bins->bins[b]);
    assert_non_null(a->bin);
    assert_non_null(a->unit);
    assert_non_null(a->link);
    assert_non_null(a->whole);
}

static bool agrees(const ef_scenario *scenario, const ef_bins *bins)
{
    char *report = NULL;
    const ef_status status = ef_bins_verify(scenario, bins, &report);
    assert_true(status == EF_OK || status == EF_INTERNAL);
    assert_true((status == EF_OK) == (report == NULL));
    ef_report_free(report);
    return status == EF_OK;
}

#define WRONG(field, value)                                                                                  \
    do {                                                                                                     \
        const double kept = (field);                                                                         \
        (field) = (value);                                                                                   \
        if (agrees(scenario, a.bins))                                                                        \
            fail_msg("%s wrong and not noticed", #field);                                                    \
        (field) = kept;                                                                                      \
        assert_true(agrees(scenario, a.bins));                                                               \
    } while (0)

static void figures_made_wrong_are_noticed(void **state)
{
    (void)state;
    ef_scenario *scenario = plant_read(plant);
    for (int aim = EF_BINS_MEAN; aim <= EF_BINS_TAIL; aim++) {
        ef_bins_settings settings = ef_bins_defaults();
        settings.traces = 12;
        settings.aim = (ef_bins_aim)aim;
        settings.aim_h = 0.1;
        settings.tail_share = 0.2;
        settings.with_receipts = true;
        answer a = {0};
        assert_int_equal(ef_bins_run(scenario, &settings, &a.bins), EF_OK);
        assert_true(agrees(scenario, a.bins));
        take_apart(&a);
        WRONG(a.feed->balance_tph, a.feed->balance_tph * 1.001);
        WRONG(a.feed->set_tph, a.feed->balance_tph * 1.01);
        WRONG(a.feed->net_tph, a.feed->net_tph * 0.99);
        WRONG(a.feed->sized_h, a.feed->sized_h + 1e-4);
        WRONG(a.feed->sized_h, a.feed->sized_h * 0.99);
        WRONG(a.feed->unavoidable_h, a.feed->unavoidable_h + 1e-4);
        WRONG(a.feed->target_h, a.feed->sized_h * 0.9);
        WRONG(a.feed->now.lost_t.value, a.feed->now.lost_t.value * 1.01);
        WRONG(a.feed->rule.short_share.value, 1.2);
        WRONG(a.feed->recommended.short_h.low, a.feed->recommended.short_h.high + 1.0);
        WRONG(a.unit->capacity_tph, a.unit->capacity_tph * 1.01);
        WRONG(a.unit->flow_tph, a.unit->flow_tph * 1.01);
        WRONG(a.unit->running_share, a.unit->running_share * 0.97);
        WRONG(a.link->volume_t, a.link->volume_t * 1.01);
        WRONG(a.link->volume_t, a.link->volume_t * 0.99);
        WRONG(a.link->start_share, 0.4);
        WRONG(a.link->t_per_t, 1.1);
        WRONG(a.bin->now_m3, 3.0);
        WRONG(a.bin->rule_m3, a.bin->rule_m3 * 0.99);
        WRONG(a.bin->t_per_m3, a.bin->t_per_m3 * 1.01);
        WRONG(a.bin->optimum_m3, a.bin->optimum_m3 * 1.01);
        WRONG(a.bin->needed_m3, a.bin->needed_m3 * 0.9);
        WRONG(a.whole->recommended_m3, a.whole->recommended_m3 * 0.9);
        ef_bins_free(a.bins);
    }
    ef_scenario_free(scenario);
}

/* Volumes that are right in all else but too large, or the wrong one of two, are no optimum. */
static void volumes_that_could_be_smaller_are_noticed(void **state)
{
    (void)state;
    ef_scenario *scenario = plant_read(plant);
    ef_bins_settings settings = ef_bins_defaults();
    settings.traces = 12;
    settings.crop = 0;
    settings.aim_h = 0.2;
    answer a = {0};
    assert_int_equal(ef_bins_run(scenario, &settings, &a.bins), EF_OK);
    assert_true(agrees(scenario, a.bins));
    take_apart(&a);
    a.feed->target_h *= 1.5; /* as if the aim had been looser: then less would do */
    char *report = NULL;
    assert_int_equal(ef_bins_verify(scenario, a.bins, &report), EF_INTERNAL);
    assert_non_null(strstr(report, "could be smaller"));
    ef_report_free(report);
    ef_bins_free(a.bins);
    ef_scenario_free(scenario);
}

/* 5 t are missing over the hour of a stop, 3 t are in the bin; with 6 t nothing is short. Behind: 5 t come in
 * the hour of a stop, 2 t have room. */
static void the_shortest_way_is_the_shortfall_by_hand(void **state)
{
    (void)state;
    efi_interval stop = {1.0, 2.0};
    const efi_trace before[] = {{&stop, 1, 1}, {0}};
    const efi_trace behind[] = {{0}, {&stop, 1, 1}};
    const ef_bins_unit up[] = {{.station = "A", .segment = 0, .machines = 1, .capacity_tph = 10.0},
                               {.station = "Feed", .segment = 1, .machines = 1, .capacity_tph = 5.0}};
    const ef_bins_unit down[] = {{.station = "Feed", .segment = 0, .machines = 1, .capacity_tph = 5.0},
                                 {.station = "B", .segment = 1, .machines = 1, .capacity_tph = 10.0}};
    const ef_bins_link full = {.start_share = 1.0};
    const ef_bins_link empty = {.start_share = 0.0};
    const ef_bins_feed first = {
        .name = "Feed", .segments = 2, .feed_segment = 1, .units = up, .unit_count = 2, .links = &full};
    const ef_bins_feed second = {
        .name = "Feed", .segments = 2, .feed_segment = 0, .units = down, .unit_count = 2, .links = &empty};
    double shortfall_t = NAN;
    assert_int_equal(efi_bins_shortest(&first, (double[]){3.0}, &(efi_bins_trace){before, 8.0}, &shortfall_t),
                     EF_OK);
    assert_near_absolute(shortfall_t, 2.0, 1e-12);
    assert_int_equal(efi_bins_shortest(&first, (double[]){6.0}, &(efi_bins_trace){before, 8.0}, &shortfall_t),
                     EF_OK);
    assert_near_absolute(shortfall_t, 0.0, 1e-12);
    assert_int_equal(
        efi_bins_shortest(&second, (double[]){2.0}, &(efi_bins_trace){behind, 8.0}, &shortfall_t), EF_OK);
    assert_near_absolute(shortfall_t, 3.0, 1e-12);
}

/* Clean-downs at six and two, and a recorded stop of the leg: their shortfall is recomputed, too. */
static void a_shortfall_with_clock_times_and_records_is_recomputed(void **state)
{
    (void)state;
    ef_scenario *scenario = plant_read(
        "evenfeed: 1\nplant: {name: Test, shift length: 8 h}\nmaterials: {sound: {wanted: yes}, light: }\n"
        "crops: {wheat: {density: 0.8 t/m3, receipt: {sound: rest, light: 6 %}}}\n"
        "calendar: {start: 2026-09-09}\n"
        "stations:\n"
        "  Pit: {kind: intake, capacity: 40 t/h, to: Raw bin}\n"
        "  Raw bin: {kind: bin, live volume: 30 m3, to: Cleaner}\n"
        "  Cleaner: {kind: machine, capacity: 14 t/h, stops: {brush: {at: [06:00, 14:00], days: mon-thu, "
        "lasts: 30 "
        "min}, choke: {between: 9 h, lasts: 20 min}}, to: Leg}\n"
        "  Leg: {kind: elevator, capacity: 16 t/h, stops: {belt: {between: 90 h, lasts: 15 min}}, to: "
        "Holding "
        "bin}\n"
        "  Holding bin: {kind: bin, live volume: 2 m3, to: Deck}\n"
        "  Deck: {kind: density separator, capacity: 10 t/h, discharges: {heavies: {takes: rest, to: "
        "Shed}}}\n"
        "  Shed: {kind: outlet, product: yes}\n"
        "recorded stops:\n"
        "  a: {station: Leg, from: 2026-09-09T10:00, to: 2026-09-09T10:40}\n"
        "  b: {station: Leg, from: 2026-09-10T03:00, to: 2026-09-10T03:20, planned: yes}\n");
    ef_bins_settings settings = ef_bins_defaults();
    settings.traces = 20;
    ef_bins *bins = NULL;
    assert_int_equal(ef_bins_run(scenario, &settings, &bins), EF_OK);
    assert_true(agrees(scenario, bins));
    ef_bins_feed *feed = open_up(&bins->crops[0].feeds[0]);
    assert_true(feed->sized_h > 0.0);
    feed->sized_h *= 1.01;
    assert_false(agrees(scenario, bins));
    ef_bins_free(bins);
    ef_scenario_free(scenario);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(figures_made_wrong_are_noticed),
        cmocka_unit_test(volumes_that_could_be_smaller_are_noticed),
        cmocka_unit_test(the_shortest_way_is_the_shortfall_by_hand),
        cmocka_unit_test(a_shortfall_with_clock_times_and_records_is_recomputed),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
