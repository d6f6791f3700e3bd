/* SPDX-License-Identifier: GPL-3.0-or-later
 * Lots and season of a scenario: what the keys mean, what holds where they are absent, and lots from a table
 * as a spreadsheet saves it. */
#include "base/base.h"
#include "model/scenario.h"

#include "../lib/files.h"
#include "../lib/near.h"
#include "../lib/scenarios.h"

#include <evenfeed/report.h>
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include <cmocka.h>

#define EXACT 1e-14

/* Two crops, two lines that run both. */
#define HEAD                                                                                                 \
    "evenfeed: 1\nplant: {name: Test, people: 3}\nmaterials: {seed: {wanted: yes}, chaff: }\n"               \
    "crops:\n"                                                                                               \
    "  wheat: {density: 0.75 t/m3, trade weight: 60 lb/bu, moisture: 14 %, receipt: {seed: 95 %, chaff: 5 "  \
    "%}}\n"                                                                                                  \
    "  barley: {density: 0.6 t/m3, largest lot: 30 t, receipt: {seed: 90 %, chaff: 10 %}}\n"                 \
    "lines: {North: , South: }\n"                                                                            \
    "stations:\n"                                                                                            \
    "  Pit: {kind: intake, capacity: 40 t/h, line: North, to: Deck}\n"                                       \
    "  Deck: {kind: machine, capacity: 8 t/h, line: North, discharges: {clean: {takes: {seed: 98 %}, to: "   \
    "Shed}, "                                                                                                \
    "light: {takes: rest, to: Waste}}}\n"                                                                    \
    "  Pit 2: {kind: intake, capacity: 40 t/h, line: South, to: Deck 2}\n"                                   \
    "  Deck 2: {kind: machine, capacity: 6 t/h, line: South, discharges: {clean: {takes: {seed: 98 %}, "     \
    "to: Shed}, light: {takes: rest, to: Waste}}}\n"                                                         \
    "  Shed: {kind: outlet, product: yes}\n  Waste: {kind: outlet}\n"
#define CALENDAR "calendar: {start: 2026-09-07}\n"

/* Days from 1970-01-01, by hand: 2026-09-07 is 20703 (20454 to 2026-01-01, 249 more). */
enum {
    SEPTEMBER_7 = 20703,
    DAY_S = 86400
};

static int64_t moment(int day, int hour)
{
    return (int64_t)(SEPTEMBER_7 + day - 7) * DAY_S + hour * 3600;
}

static const efi_scenario_lot *lot_of(const ef_scenario *scenario, const char *name)
{
    const int lot = efi_index_find(&scenario->lot_index, name, strlen(name));
    assert_true(lot >= 0);
    return &scenario->lots[lot];
}

static void check_given(efi_value value, double expected)
{
    assert_true(value.given);
    assert_near(value.value, expected, EXACT);
}

static void a_scenario_without_a_season_has_the_usual_one(void **state)
{
    (void)state;
    ef_scenario *scenario = plant_read(HEAD CALENDAR);
    const efi_season *season = scenario->season;
    assert_non_null(season);
    assert_false(season->is_given);
    assert_int_equal(scenario->lot_count, 0);
    assert_int_equal(season->from.value, SEPTEMBER_7);
    assert_int_equal(season->to.value, SEPTEMBER_7 + 365);
    check_given(season->late_ph, 100.0 / 24);
    check_given(season->wet_ph, 500.0 / 24);
    check_given(season->no_room_pth, 2.0 / 24);
    check_given(season->move_cost, 50.0);
    check_given(season->restart_h, 1.0 / 6);
    check_given(season->daily_clean_h, 0.0);
    check_given(season->least_clean_h, 0.25);
    check_given(season->straight_h, 0.0);
    check_given(season->collected_h, 24.0);
    assert_int_equal(season->cleaning, EFI_CLEANING_LINE);
    assert_int_equal(season->teams, 1);
    assert_false(season->cleaned_before_arrival);
    assert_null(season->rate_tph);
    ef_scenario_free(scenario);
}

static void every_key_of_a_lot_is_read(void **state)
{
    (void)state;
    ef_scenario *scenario = plant_read(
        HEAD CALENDAR
        "season: {classes: [pre-basic, basic]}\n"
        "lots:\n"
        "  W1: {crop: wheat, amount: 85 t, variety: Amber, class: basic, treatment: red coat, allergen: "
        "gluten, trait: tall, colour: pale, product: bags, moisture: 17 %, arrives: 2026-09-10, arrives "
        "latest: 2026-09-12T10:00, due: 2026-10-01, latest start: 2026-09-14T18:30, priority: 2.5, late: 240 "
        "EUR/d, wet: 48 EUR/d, rate: 5 t/h, lines: [South, North], note: watch it}\n"
        "  W2: {crop: barley, amount: 60 t, after: W1, wait: 10 d}\n"
        "  W3: {crop: wheat, amount: 40 t, left: 12 t, state: running, line: South, starts: "
        "2026-09-07T06:00}\n");
    const efi_scenario_lot *lot = lot_of(scenario, "W1");
    assert_int_equal(lot->crop, 0);
    check_given(lot->amount_t, 85.0);
    check_given(lot->left_t, 85.0);
    static const char *const traits[] = {"Amber", "basic", "red coat", "gluten", "tall", "pale", "bags"};
    for (int t = 0; t < EFI_LOT_TRAITS; t++)
        assert_string_equal(lot->trait[t], traits[t]);
    check_given(lot->moisture, 0.17);
    assert_int_equal(lot->arrives.moment.value, moment(10, 0));
    assert_true(lot->arrives.whole_day);
    assert_int_equal(lot->arrives_latest.moment.value, moment(12, 10));
    assert_false(lot->arrives_latest.whole_day);
    assert_int_equal(lot->due.moment.value, moment(32, 0)); /* 2026-10-02T00:00: the end of October 1 */
    assert_true(lot->due.whole_day);
    assert_int_equal(lot->latest_start.moment.value, moment(14, 18) + 1800);
    check_given(lot->priority, 2.5);
    check_given(lot->late_ph, 10.0);
    check_given(lot->wet_ph, 2.0);
    check_given(lot->rate_tph, 5.0);
    assert_int_equal(lot->lines.count, 2);
    assert_int_equal(lot->lines.items[0], 1);
    assert_int_equal(lot->state, EFI_LOT_WAITING);
    assert_int_equal(lot->line, EFI_NOWHERE);
    assert_int_equal(lot->after, EFI_NOWHERE);
    assert_string_equal(lot->note, "watch it");
    lot = lot_of(scenario, "W2");
    assert_int_equal(lot->after, efi_index_find(&scenario->lot_index, "W1", 2));
    check_given(lot->wait_h, 240.0);
    check_given(lot->priority, 1.0);
    assert_false(lot->arrives.moment.given);
    assert_null(lot->trait[EFI_LOT_VARIETY]);
    lot = lot_of(scenario, "W3");
    assert_int_equal(lot->state, EFI_LOT_RUNNING);
    assert_int_equal(lot->line, 1);
    check_given(lot->left_t, 12.0);
    assert_int_equal(lot->starts.moment.value, moment(7, 6));
    check_given(lot->moisture, 0.14);
    check_given(scenario->crops[1].lot_t, 30.0);
    ef_scenario_free(scenario);
}

static void every_key_of_a_season_is_read(void **state)
{
    (void)state;
    ef_scenario *scenario = plant_read(
        HEAD "season:\n  from: 2026-09-14\n  to: 2026-11-30\n  classes: [pre-basic, basic]\n"
             "  planning rate: {wheat: 7.5 t/h, other crops: 6 t/h}\n  late: 240 EUR/d\n  wet: 480 EUR/d\n"
             "  no room: 48 EUR/t/d\n  move: 30 EUR\n  restart: 15 min\n  daily clean: 30 min\n"
             "  least clean: 45 min\n  straight: 4 h\n  collected: 3 d\n  cleaning: station by station\n"
             "  teams: 2\n  cleaned before arrival: yes\n"
             "  stores:\n    Raw bin: {use: raw, count: 4, holds: 1000 bu, clean: 2 h}\n"
             "    Floor: {use: finished, holds: 300 t, shared: yes}\n"
             "  changeovers:\n"
             "    Down: {when: class down, takes: 1 h, stations: {Deck: {takes: 45 min}, Deck 2: {takes: 1 "
             "h}}}\n"
             "    Crops: {when: crop, from: wheat, to: barley, lines: North, takes: 3 h, flush: 80 kg, "
             "people: 2, cost: 40 EUR}\n"
             "    Pair: {when: lot, from: A, to: B, never: yes}\n"
             "lots:\n  A: {crop: wheat, amount: 10 t, class: basic}\n  B: {crop: barley, amount: 10 t, "
             "class: pre-basic}\n");
    const efi_season *season = scenario->season;
    assert_true(season->is_given);
    assert_int_equal(season->from.value, SEPTEMBER_7 + 7);
    assert_int_equal(season->to.value, SEPTEMBER_7 + 84);
    assert_int_equal(season->class_count, 2);
    assert_string_equal(season->classes[1], "basic");
    check_given(season->rate_tph[0], 7.5);
    check_given(season->rate_tph[1], 6.0);
    check_given(season->late_ph, 10.0);
    check_given(season->wet_ph, 20.0);
    check_given(season->no_room_pth, 2.0);
    check_given(season->move_cost, 30.0);
    check_given(season->restart_h, 0.25);
    check_given(season->daily_clean_h, 0.5);
    check_given(season->least_clean_h, 0.75);
    check_given(season->straight_h, 4.0);
    check_given(season->collected_h, 72.0);
    assert_int_equal(season->cleaning, EFI_CLEANING_STATIONS);
    assert_int_equal(season->teams, 2);
    assert_true(season->cleaned_before_arrival);
    assert_int_equal(season->store_count, 2);
    assert_int_equal(season->stores[0].use, EFI_STORE_RAW);
    assert_int_equal(season->stores[0].count, 4);
    /* 2150.42 in3 = 0.03523907016688 m3: NIST Handbook 44, appendix C. */
    assert_int_equal(season->stores[0].holds.of, EFI_KIND_VOLUME);
    check_given(season->stores[0].holds, 35.23907016688);
    check_given(season->stores[0].clean_h, 2.0);
    assert_int_equal(season->stores[1].use, EFI_STORE_FINISHED);
    assert_int_equal(season->stores[1].count, 1);
    assert_int_equal(season->stores[1].holds.of, EFI_KIND_MASS);
    assert_true(season->stores[1].is_shared);
    assert_int_equal(season->changeover_count, 3);
    const efi_changeover *rule = &season->changeovers[0];
    assert_int_equal(rule->when, EFI_CHANGE_CLASS_DOWN);
    assert_int_equal(rule->station_count, 2);
    assert_string_equal(scenario->stations[rule->stations[1].station].name, "Deck 2");
    check_given(rule->stations[0].takes_h, 0.75);
    check_given(rule->people, 3.0);
    rule = &season->changeovers[1];
    assert_int_equal(rule->when, EFI_CHANGE_CROP);
    assert_string_equal(rule->from, "wheat");
    assert_string_equal(rule->to, "barley");
    assert_int_equal(rule->lines.count, 1);
    check_given(rule->takes_h, 3.0);
    check_given(rule->flush_t, 0.08);
    check_given(rule->people, 2.0);
    check_given(rule->cost, 40.0);
    assert_false(rule->never);
    assert_true(season->changeovers[2].never);
    ef_scenario_free(scenario);
}

/* 60 lb/bu and 1 lb = 0.45359237 kg: 1000 bu of wheat are 27.2155422 t (NIST Handbook 44, appendix C). */
static void bushels_of_a_lot_go_by_its_crop(void **state)
{
    (void)state;
    ef_scenario *scenario = plant_read(HEAD "lots:\n  A: {amount: 1000 bu, crop: wheat}\n");
    check_given(lot_of(scenario, "A")->amount_t, 27.2155422);
    ef_scenario_free(scenario);
}

static void without_a_calendar_the_season_begins_with_the_first_day_that_a_lot_names(void **state)
{
    (void)state;
    ef_scenario *scenario = plant_read(
        HEAD "lots:\n  A: {amount: 10 t, crop: wheat, arrives: 2026-09-09T14:00, due: 2026-10-01}\n"
             "  B: {amount: 10 t, crop: wheat, due: 2026-09-20}\n");
    assert_int_equal(scenario->season->from.value, SEPTEMBER_7 + 2);
    ef_scenario_free(scenario);
}

/* ---- tables ---------------------------------------------------------------------------------------------
 */

/* Loads a scenario whose lots come from a table beside it; the findings as text in `*findings`, freed with
 * ef_report_free. NULL when there are errors. */
static ef_scenario *load(const char *head, const char *table, size_t length, char **findings)
{
    char *plant = scratch_path("season.yaml");
    char *lots = scratch_path("lots.csv");
    char text[8192];
    assert_true(snprintf(text, sizeof text, "%slots: {file: lots.csv}\n", head) < (int)sizeof text);
    file_write(plant, text, strlen(text));
    file_write(lots, table, length);
    ef_diags *diags = ef_diags_new();
    ef_scenario *scenario = NULL;
    const ef_status status = ef_scenario_load(plant, NULL, 0, diags, &scenario);
    assert_true(status == EF_OK || status == EF_SCENARIO);
    assert_int_equal(ef_report_findings(diags, findings), EF_OK);
    ef_diags_free(diags);
    free(plant);
    free(lots);
    return scenario;
}

static ef_scenario *load_good(const char *head, const char *table)
{
    char *findings;
    ef_scenario *scenario = load(head, table, strlen(table), &findings);
    if (!scenario || findings[0] != '\0')
        (void)fprintf(stderr, "%s", findings);
    assert_non_null(scenario);
    assert_string_equal(findings, "");
    ef_report_free(findings);
    return scenario;
}

/* As a spreadsheet of a country with decimal commas saves it: byte order mark, CRLF, semicolons, quotes. */
static void lots_are_read_as_a_spreadsheet_saved_them(void **state)
{
    (void)state;
    ef_scenario *scenario = load_good(
        HEAD CALENDAR,
        "\xef\xbb\xbflot;crop;amount [t];moisture (%);arrives;due;lines;variety;wait [d];after;note\r\n"
        "W 1;wheat;85,25;14,5;2026-09-10;2026-10-01 12:00;North, South;Amber;;;\"a; b, \"\"c\"\"\"\r\n"
        "B-1;barley;2000 lb;;;;South;none;1,5;W 1;4,5\r\n");
    const efi_scenario_lot *lot = lot_of(scenario, "W 1");
    check_given(lot->amount_t, 85.25);
    check_given(lot->moisture, 0.145);
    assert_int_equal(lot->arrives.moment.value, moment(10, 0));
    assert_int_equal(lot->due.moment.value, moment(31, 12)); /* October 1, noon */
    assert_int_equal(lot->lines.count, 2);
    assert_string_equal(lot->note, "a; b, \"c\"");
    lot = lot_of(scenario, "B-1");
    check_given(lot->amount_t, 0.90718474); /* 1 lb = 0.45359237 kg: NIST Handbook 44, appendix C */
    assert_int_equal(lot->lines.count, 1);
    check_given(lot->wait_h, 36.0);
    assert_null(lot->trait[EFI_LOT_VARIETY]);
    assert_string_equal(lot->note, "4,5"); /* a text stays as it was typed */
    ef_scenario_free(scenario);
}

/* Between commas a comma in a number is refused as before. */
static void a_decimal_comma_needs_a_table_that_is_not_parted_by_commas(void **state)
{
    (void)state;
    static const char table[] = "lot,crop,amount [t]\nA,wheat,\"8,5\"\n";
    char *findings;
    assert_null(load(HEAD, table, strlen(table), &findings));
    assert_non_null(strstr(findings, "\"8,5\" has a decimal comma; write a point"));
    ef_report_free(findings);
}

/* Every mistake of a table is found in one run, each at its own cell. */
static void all_mistakes_of_a_table_are_told_in_one_run(void **state)
{
    (void)state;
    static const char table[] = "lot;crop;amount [t];class;arrives;arrives latest;state;line;after;left [t]\n"
                                "A;wheet;85;basic;;;;;;\n"
                                "B;wheat;-3;basic;;;;;;\n"
                                "C;wheat;40;bassic;;;;;;\n"
                                "D;wheat;40;basic;2026-09-20;2026-09-10;;;;\n"
                                "E;wheat;40;basic;;;frozen;North;;\n"
                                "F;wheat;40;basic;;;running;Noth;;\n"
                                "G;wheat;40;basic;;;;;H;\n"
                                "I;wheat;40;basic;2026-13-01;;;;;\n"
                                "J;wheat;40;basic;;;running;South;;44\n";
    static const char *const expected[] = {
        "lots.csv:2:3: error: lots.A.crop: no crop is called \"wheet\" [name-unknown]",
        "lots.csv:3:9: error: lots.B.amount: \"-3 t\" is outside what is possible here [out-of-range]",
        "lots.csv:4:12: error: lots.C.class: no class is called \"bassic\" [name-unknown]",
        "lots.csv:5:29: error: lots.D.arrives latest: the latest arrival is before the earliest [lot-times]",
        "lots.csv:6:20: error: lots.E.state: a frozen lot must say when it starts [lot-place-missing]",
        "lots.csv:7:28: error: lots.F.line: no line is called \"Noth\" [name-unknown]",
        "lots.csv:8:22: error: lots.G.after: no lot is called \"H\" [name-unknown]",
        "lots.csv:9:23: error: lots.I.arrives: \"13\" is no day of the calendar [date-bad]",
        "lots.csv:10:35: error: lots.J.left: \"44 t\" is more than the whole lot [left-over]",
        "9 errors"};
    char *findings;
    assert_null(
        load(HEAD CALENDAR "season: {classes: [pre-basic, basic]}\n", table, strlen(table), &findings));
    for (size_t i = 0; i < EF_COUNT(expected); i++) {
        if (!strstr(findings, expected[i]))
            (void)fprintf(stderr, "missing: %s\nin:\n%s", expected[i], findings);
        assert_non_null(strstr(findings, expected[i]));
    }
    ef_report_free(findings);
}

/* ---- more than is usual ---------------------------------------------------------------------------------
 */

/* A scenario of `count` lots in a chain, each after the one before. */
static char *chain(int count, const char *head)
{
    const size_t room = strlen(head) + 64 + 80 * (size_t)count;
    char *text = calloc(room, 1);
    assert_non_null(text);
    size_t used = (size_t)snprintf(text, room, "%slots:\n", head);
    for (int i = 0; i < count; i++)
        used += (size_t)snprintf(text + used, room - used, "  L%d: {crop: wheat, amount: 10 t, after: L%d}\n",
                                 i, (i + 1) % count);
    return text;
}

static void a_ring_of_two_thousand_lots_is_told_once_and_more_are_too_many(void **state)
{
    (void)state;
    char lines[1024];
    char *text = chain(2000, HEAD);
    ef_diags *diags = scenario_findings(text, strlen(text), EF_SCENARIO);
    findings_summary(diags, lines, sizeof lines);
    assert_int_equal(ef_diags_count(diags), 1);
    assert_non_null(strstr(lines, "after-loop"));
    ef_diags_free(diags);
    free(text);
    text = chain(2001, HEAD);
    diags = scenario_findings(text, strlen(text), EF_SCENARIO);
    assert_int_equal(ef_diags_count(diags), 1);
    assert_string_equal(ef_diags_get(diags, 0)->name, "too-large");
    ef_diags_free(diags);
    free(text);
}

/* South takes no barley: a lot of it that waits there is an error, one that is done is history. */
static void what_is_done_need_not_run_again(void **state)
{
    (void)state;
    static const char plant[] =
        "evenfeed: 1\nplant: {name: Test}\nmaterials: {seed: {wanted: yes}}\n"
        "crops: {wheat: {receipt: {seed: 100 %%}}, barley: {receipt: {seed: 100 %%}}}\n"
        "lines: {North: , South: }\nstations:\n"
        "  Pit: {kind: intake, capacity: 40 t/h, line: North, to: Shed}\n"
        "  Pit 2: {kind: intake, capacity: 30 t/h, line: South, receives: wheat, to: Shed}\n"
        "  Shed: {kind: outlet, product: yes}\n"
        "lots:\n  A: {crop: barley, amount: 10 t, state: %s, line: South}\n";
    static const char *const states[] = {"done", "running"};
    for (int i = 0; i < 2; i++) {
        char text[2048];
        char lines[512];
        assert_true(snprintf(text, sizeof text, plant, states[i]) < (int)sizeof text);
        ef_diags *diags = scenario_findings(text, strlen(text), i == 0 ? EF_OK : EF_SCENARIO);
        findings_summary(diags, lines, sizeof lines);
        assert_int_equal(ef_diags_count(diags), i);
        assert_true(i == 0 || strstr(lines, "lot-without-line") != NULL);
        ef_diags_free(diags);
    }
}

static void a_trait_is_what_a_rule_says_or_none(void **state)
{
    (void)state;
    assert_true(efi_trait_is("red", "red"));
    assert_false(efi_trait_is("red", "none"));
    assert_true(efi_trait_is(NULL, "none"));
    assert_false(efi_trait_is(NULL, "red"));
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(a_scenario_without_a_season_has_the_usual_one),
        cmocka_unit_test(every_key_of_a_lot_is_read),
        cmocka_unit_test(every_key_of_a_season_is_read),
        cmocka_unit_test(bushels_of_a_lot_go_by_its_crop),
        cmocka_unit_test(without_a_calendar_the_season_begins_with_the_first_day_that_a_lot_names),
        cmocka_unit_test(lots_are_read_as_a_spreadsheet_saved_them),
        cmocka_unit_test(a_decimal_comma_needs_a_table_that_is_not_parted_by_commas),
        cmocka_unit_test(all_mistakes_of_a_table_are_told_in_one_run),
        cmocka_unit_test(a_ring_of_two_thousand_lots_is_told_once_and_more_are_too_many),
        cmocka_unit_test(what_is_done_need_not_run_again),
        cmocka_unit_test(a_trait_is_what_a_rule_says_or_none),
    };
    return cmocka_run_group_tests_name("season as the scenario gives it", tests, NULL, NULL);
}
