/* SPDX-License-Identifier: GPL-3.0-or-later
 * Any bytes as a log of stops, or of totals when they begin with "from": what is learned passes its verifier,
 * findings lie inside the table and have printable texts, and every row is used or counted. */
#include <evenfeed/learn.h>
#include <evenfeed/report.h>
#include <stdint.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

int LLVMFuzzerTestOneInput(const uint8_t *data, size_t size);

static const char plant[] =
    "evenfeed: 1\nplant: {name: Test}\nmaterials: {seed: {wanted: yes}, chaff: }\n"
    "crops: {wheat: {density: 0.8 t/m3, trade weight: 60 lb/bu, receipt: {seed: 90 %, chaff: 10 "
    "%}}}\nstations:\n"
    "  Pit: {kind: intake, capacity: 40 t/h, to: Deck}\n"
    "  Deck: {kind: machine, capacity: 9 t/h, stops: {choke: {between: 10 h, lasts: 1 h, lock-out: 20 min}, "
    "wash: {every: "
    "8 h, lasts: 30 min}}, discharges: {chaff: {takes: {chaff: 100 %}, to: Out}, seed: {takes: rest, to: "
    "Bin}}}\n"
    "  Bin: {kind: bin, live volume: 3 m3, to: Pair}\n"
    "  Pair: {kind: machine, count: 2, capacity: 9 t/h, to: Shed}\n"
    "  Out: {kind: outlet}\n"
    "  Shed: {kind: outlet, product: yes}\n"
    "calendar: {start: 2026-08-31, shifts: {day: {days: daily, from: 06:00, to: 22:00}}}\n";

static void demand(bool property)
{
    if (!property)
        abort();
}

static void check(const ef_scenario *scenario, const ef_learn *learn)
{
    char *text = NULL;
    const ef_status verified = ef_learn_verify(scenario, learn, &text);
    if (verified == EF_INTERNAL)
        fputs(text, stderr);
    demand(verified == EF_OK);
    ef_report_free(text);
    demand(ef_report_learn_text(learn, EF_UNITS_US, &text) == EF_OK);
    ef_report_free(text);
    demand(ef_report_learn_json(learn, &text) == EF_OK);
    ef_report_free(text);
    demand(ef_report_learn_settings(learn, &text) == EF_OK);
    ef_report_free(text);
}

int LLVMFuzzerTestOneInput(const uint8_t *data, size_t size)
{
    enum {
        MOST_BYTES = 4000 /* larger logs only take longer */
    };
    if (size > MOST_BYTES)
        return 0;
    ef_diags *diags = ef_diags_new();
    ef_scenario *scenario = NULL;
    ef_learn *learn = NULL;
    demand(ef_scenario_read("plant.yaml", plant, sizeof plant - 1, diags, &scenario) == EF_OK);
    ef_learn_settings settings = ef_learn_defaults();
    char *bytes = malloc(size + 1);
    demand(bytes != NULL);
    if (size)
        memcpy(bytes, data, size);
    bytes[size] = '\0';
    const ef_learn_file file = {.name = "log.csv", .bytes = bytes, .length = size};
    if (size >= 4 && memcmp(bytes, "from", 4) == 0)
        settings.totals = file;
    else
        settings.stops = file;
    settings.resamples = 0;
    settings.clock_rule = (int)(size % 3);
    const ef_status status = ef_learn_solve(scenario, &settings, diags, &learn, NULL);
    demand(status == EF_OK || status == EF_SCENARIO || status == EF_USAGE);
    for (int i = 0; i < ef_diags_count(diags); i++)
        demand(ef_diags_get(diags, i)->place.line >= 0 && ef_diags_get(diags, i)->message != NULL);
    if (status == EF_OK)
        check(scenario, learn);
    free(bytes);
    ef_learn_free(learn);
    ef_diags_free(diags);
    ef_scenario_free(scenario);
    return 0;
}
