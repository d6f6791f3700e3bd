/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "random_season.h"

#include "base/text.h"

#include <evenfeed/report.h>
#include <setjmp.h>
#include <stdarg.h>
#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>
#include <stdio.h>
#include <string.h>

#include <cmocka.h>

static int below(efi_random *random, int count)
{
    return (int)efi_random_below(random, (uint32_t)count);
}

static bool chance(efi_random *random, int percent)
{
    return below(random, 100) < percent;
}

static const char *pick(efi_random *random, const char *const *words, int count)
{
    return words[below(random, count)];
}

static void add_calendar(efi_random *random, efi_text *out, int lines)
{
    static const char *const days[] = {"daily", "mon-fri", "mon-sat"};
    const bool nights = chance(random, 30);
    efi_text_addf(out, "calendar:\n  start: 2026-09-07\n  shifts:\n");
    efi_text_addf(out, "    early: {days: %s, from: 06:00, to: 14:00}\n", pick(random, days, 3));
    if (chance(random, 60))
        efi_text_addf(out, "    late: {days: %s, from: 14:00, to: 22:00}\n", pick(random, days, 3));
    if (nights)
        efi_text_addf(out, "    night: {days: mon-thu, from: 22:00, to: 06:00}\n");
    if (chance(random, 50))
        efi_text_addf(out, "  breaks: {lunch: {days: daily, from: 10:%02d, to: 11:00%s}}\n",
                      below(random, 60), chance(random, 30) ? ", staggered: yes" : "");
    if (chance(random, 30))
        efi_text_add(out, "  holidays: {fair: {date: 2026-09-10}}\n");
    if (chance(random, 40)) {
        efi_text_addf(
            out,
            "  overtime:\n    extra: {date: 2026-09-12, last: 2026-09-13, from: 22:00, to: %s, price "
            "factor: 1.5}\n",
            nights ? "23:30" : "23:45");
        if (chance(random, 50))
            efi_text_add(out, "    sunday: {date: 2026-09-20, from: 23:50, to: 23:59, cost: 35 EUR/h}\n");
    }
    if (chance(random, 40)) {
        efi_text_add(out, "  maintenance:\n    belts: {days: wed, from: 09:00, to: 11:20}\n");
        if (chance(random, 50))
            efi_text_addf(out,
                          "    screens: {begin: 2026-09-09T08:00, end: 2026-09-09T15:30, stations: [Cleaner "
                          "%d]}\n",
                          below(random, lines));
    }
}

/* What comes after a cleaner: a bin, or none, a leg, a deck, and a way past the deck now and then. */
static void add_rest(efi_random *random, efi_text *out, int lines, int k)
{
    const bool bin = chance(random, 60);
    char line[32] = "";
    if (lines > 1)
        (void)snprintf(line, sizeof line, "line: L%d, ", k);
    efi_text_addf(out, "%s %d}}\n", bin ? "Hopper" : "Leg", k);
    if (bin)
        efi_text_addf(out, "  Hopper %d: {kind: bin, %slive volume: %d m3, to: Leg %d}\n", k, line,
                      1 + below(random, 40), k);
    efi_text_addf(out, "  Leg %d: {kind: elevator, %scapacity: 40 t/h, travel time: %d s, to: Deck %d}\n", k,
                  line, 20 + below(random, 300), k);
    efi_text_addf(
        out,
        "  Deck %d: {kind: density separator, %scapacity: %d t/h, discharges: {light: {takes: {seed: 2 "
        "%%}, to: Dust}, heavy: {takes: rest, to: Seed}}}\n",
        k, line, 3 + below(random, 9));
}

static void add_plant(efi_random *random, efi_text *out, int lines)
{
    efi_text_addf(out, "evenfeed: 1\nplant: {name: Random, labour price: 21.5 EUR/h, people: %d}\n",
                  1 + below(random, 4));
    if (lines > 1) {
        efi_text_add(out, "lines: {");
        for (int k = 0; k < lines; k++)
            efi_text_addf(out, "%sL%d: ", k ? ", " : "", k);
        efi_text_add(out, "}\n");
    }
    efi_text_add(out, "materials: {seed: {wanted: yes}, chaff: }\n"
                      "crops:\n"
                      "  wheat: {density: 0.77 t/m3, receipt: {seed: rest, chaff: 7 %}, price: 200 EUR/t, "
                      "largest lot: 30 t}\n"
                      "  barley: {density: 0.62 t/m3, receipt: {seed: rest, chaff: 12 %}, price: 160 EUR/t}\n"
                      "  peas: {density: 0.8 t/m3, receipt: {seed: rest, chaff: 3 %}}\n"
                      "stations:\n  Pit: {kind: intake, capacity: 90 t/h, to: Fork}\n"
                      "  Fork: {kind: split, rule: free, branches: {");
    for (int k = 0; k < lines; k++)
        efi_text_addf(out, "%sb%d: {to: Cleaner %d}", k ? ", " : "", k, k);
    efi_text_add(out, "}}\n");
    for (int k = 0; k < lines; k++) {
        efi_text_addf(out, "  Cleaner %d:\n    kind: air-screen cleaner\n    capacity: %d t/h\n", k,
                      4 + below(random, 10));
        if (lines > 1)
            efi_text_addf(out, "    line: L%d\n", k);
        if (chance(random, 50))
            efi_text_add(out, "    stops: {jam: {between: 5 h, lasts: 25 min}}\n");
        const bool deep = chance(random, 60);
        efi_text_addf(out,
                      "    discharges: {air: {takes: {chaff: 100 %%}, to: Dust}, clean: {takes: rest, to: ");
        if (deep)
            add_rest(random, out, lines, k);
        else
            efi_text_add(out, "Seed}}\n");
    }
    efi_text_add(out, "  Dust: {kind: outlet, use: waste}\n  Seed: {kind: outlet, product: yes, use: seed");
    efi_text_add(out, chance(random, 50) ? ", price: {wheat: 320 EUR/t, other crops: 280 EUR/t}}\n" : "}\n");
}

static void add_rules(efi_random *random, efi_text *out, int lines, int lots)
{
    efi_text_add(out, "  changeovers:\n");
    if (chance(random, 40))
        efi_text_addf(out,
                      "    peas: {when: crop, from: peas, to: wheat, takes: %d min, flush: 120 kg, people: "
                      "2}\n",
                      30 + below(random, 300));
    if (chance(random, 25))
        efi_text_add(out, "    not so: {when: allergen, from: none, to: gluten, never: yes}\n");
    if (lines > 1 && chance(random, 40))
        efi_text_add(out, "    here: {when: crop, lines: L1, takes: 4 h, cost: 33 EUR}\n");
    const bool deck = strstr(efi_text_get(out), "  Deck 0:") != NULL;
    for (int i = 0; i < 2 && deck; i++)
        if (chance(random, 70))
            efi_text_addf(
                out,
                "    parts %d: {when: %s, stations: {Deck 0: {takes: %d min}, Cleaner 0: {takes: %d "
                "min}}}\n",
                i, i ? "variety" : "crop", 5 + below(random, 200), below(random, 200));
    if (!deck && chance(random, 40))
        efi_text_addf(out,
                      "    parts: {when: treatment, stations: {Pit: {takes: %d min}, Cleaner 0: {takes: 40 "
                      "min}, Seed: {takes: 35 min}}}\n",
                      10 + below(random, 60));
    efi_text_addf(out, "    crops: {when: crop, takes: %d min, flush: 200 kg}\n", below(random, 240));
    if (chance(random, 60))
        efi_text_add(out,
                     "    up: {when: class up, takes: 95 min}\n    down: {when: class down, takes: 5 min}\n");
    if (chance(random, 60))
        efi_text_add(out, "    variety: {when: variety, takes: 50 min, cost: 12 EUR}\n");
    if (lots > 2 && chance(random, 40))
        efi_text_addf(out, "    pair: {when: lot, from: lot 0, to: lot 1, takes: %d min}\n",
                      below(random, 500));
    if (chance(random, 40))
        efi_text_add(out, "    open: {when: first, takes: 1 h, people: 1}\n");
    if (chance(random, 40))
        efi_text_add(out, "    shut: {when: last, takes: 6 h, cost: 50 EUR}\n");
}

static void add_stores(efi_random *random, efi_text *out)
{
    efi_text_add(out, "  stores:\n");
    if (chance(random, 70)) {
        efi_text_addf(out, "    Silo: {use: raw, holds: %d m3, count: %d, clean: %d h}\n",
                      40 + below(random, 150), 1 + below(random, 4), below(random, 4));
        if (chance(random, 60))
            efi_text_addf(out, "    Pit bin: {use: raw, holds: %d t}\n", 20 + below(random, 90));
    }
    efi_text_addf(out, "    Box: {use: finished, holds: %d t, count: 2, clean: 1 h}\n",
                  20 + below(random, 60));
    if (chance(random, 50))
        efi_text_addf(out, "    Floor: {use: finished, holds: %d %s, shared: yes}\n", 60 + below(random, 200),
                      chance(random, 50) ? "t" : "m3");
}

static void add_season(efi_random *random, efi_text *out, int lines, int lots)
{
    efi_text_add(out, "season:\n  from: 2026-09-07\n  to: 2026-11-30\n  classes: [basic, certified]\n");
    if (chance(random, 50))
        efi_text_addf(out, "  daily clean: %d min\n", below(random, 50));
    if (chance(random, 50))
        efi_text_addf(out, "  cleaning: station by station\n  teams: %d\n", 1 + below(random, 3));
    if (chance(random, 50))
        efi_text_addf(out, "  restart: %d min\n", below(random, 30));
    if (chance(random, 50))
        efi_text_add(out, "  cleaned before arrival: yes\n");
    if (chance(random, 50))
        efi_text_addf(out, "  straight: %d h\n", below(random, 20));
    if (chance(random, 60))
        efi_text_addf(out, "  collected: %d h\n", below(random, 90));
    if (chance(random, 70))
        efi_text_addf(out, "  planning rate: {wheat: %d t/h, other crops: 5.3 t/h}\n", 3 + below(random, 9));
    if (chance(random, 70))
        add_stores(random, out);
    add_rules(random, out, lines, lots);
}

static void add_date(efi_random *random, efi_text *out, const char *key, int from_day, int days)
{
    const int day = from_day + below(random, days);
    if (chance(random, 50))
        efi_text_addf(out, ", %s: 2026-09-%02d", key, day);
    else
        efi_text_addf(out, ", %s: 2026-09-%02dT%02d:%02d", key, day, below(random, 24), below(random, 60));
}

static void add_state(efi_random *random, efi_text *out, int lines)
{
    const int kind = below(random, 4);
    const int line = below(random, lines);
    static const char *const words[] = {"done", "running", "frozen", "frozen"};
    efi_text_addf(out, ", state: %s", words[kind]);
    if (lines > 1)
        efi_text_addf(out, ", line: L%d", line);
    if (kind == 0)
        efi_text_addf(out, ", starts: 2026-09-0%dT08:00", 1 + below(random, 6));
    else if (kind == 1)
        efi_text_addf(out, ", starts: 2026-09-06T20:00, left: %d t", 1 + below(random, 9));
    else
        efi_text_addf(out, ", starts: 2026-09-%02dT%02d:30", 8 + below(random, 20), 6 + below(random, 10));
}

static void add_lot(efi_random *random, efi_text *out, int number, int lines)
{
    static const char *const crops[] = {"wheat", "barley", "peas"};
    static const char *const varieties[] = {"Amber", "Brisk", "Cora"};
    static const char *const classes[] = {"basic", "certified"};
    efi_text_addf(out, "  lot %d: {crop: %s, amount: %d.%d t", number, pick(random, crops, 3),
                  10 + below(random, 90), below(random, 10));
    if (chance(random, 70))
        efi_text_addf(out, ", variety: %s", pick(random, varieties, 3));
    if (chance(random, 70))
        efi_text_addf(out, ", class: %s", pick(random, classes, 2));
    if (chance(random, 20))
        efi_text_add(out, ", allergen: gluten");
    if (chance(random, 20))
        efi_text_add(out, ", treatment: red");
    if (chance(random, 50))
        add_date(random, out, "due", 10, 20);
    if (chance(random, 20))
        add_date(random, out, "latest start", 9, 15);
    if (chance(random, 20))
        efi_text_addf(out, ", priority: %d", 1 + below(random, 4));
    if (chance(random, 15))
        efi_text_addf(out, ", rate: %d t/h", 2 + below(random, 7));
    if (lines > 1 && chance(random, 20))
        efi_text_addf(out, ", lines: L%d", below(random, lines));
    else if (chance(random, 15)) {
        add_state(random, out, lines);
        efi_text_add(out, "}\n");
        return;
    }
    if (chance(random, 60)) {
        const int day = 7 + below(random, 10);
        efi_text_addf(out, ", arrives: 2026-09-%02dT%02d:00", day, below(random, 24));
        if (chance(random, 30))
            efi_text_addf(out, ", arrives latest: 2026-09-%02d", day + 1 + below(random, 4));
    }
    if (number > 0 && chance(random, 20))
        efi_text_addf(out, ", after: lot %d, wait: %d h", below(random, number), below(random, 80));
    efi_text_add(out, "}\n");
}

char *random_season_text(efi_random *random)
{
    efi_text out = {0};
    const int lines = 1 + below(random, 3);
    const int lots = 2 + below(random, 12);
    add_plant(random, &out, lines);
    add_calendar(random, &out, lines);
    add_season(random, &out, lines, lots);
    efi_text_add(&out, "lots:\n");
    for (int l = 0; l < lots; l++)
        add_lot(random, &out, l, lines);
    assert_false(out.failed);
    return out.bytes;
}

ef_scenario *random_season_read(const char *text)
{
    ef_diags *diags = ef_diags_new();
    ef_scenario *scenario = NULL;
    const ef_status status = ef_scenario_read("random.yaml", text, strlen(text), diags, &scenario);
    assert_true(status == EF_OK || status == EF_SCENARIO); /* two lots running on one line, say */
    ef_diags_free(diags);
    return scenario;
}

static void assert_verified(const ef_scenario *scenario, const ef_season *season, const char *text,
                            int number)
{
    char *differences = NULL;
    const ef_status status = ef_season_verify(scenario, season, &differences);
    if (status != EF_OK) {
        char *shown = NULL;
        if (ef_report_season_text(season, EF_UNITS_METRIC, &shown) == EF_OK)
            fprintf(stderr, "%s\n", shown);
        ef_report_free(shown);
        fprintf(stderr, "scenario %d of seed %d:\n%s\n%s", number, RANDOM_SEASON_SEED, text, differences);
    }
    ef_report_free(differences);
    assert_int_equal(status, EF_OK);
}

ef_season *random_season_plan(const ef_scenario *scenario, const ef_season_settings *settings,
                              const char *text, int number)
{
    ef_season *season = NULL;
    char *reason = NULL;
    const ef_status status = ef_season_run_plan(scenario, settings, &season, &reason);
    if (status != EF_OK && status != EF_NO_ANSWER)
        fprintf(stderr, "scenario %d of seed %d: status %d\n%s", number, RANDOM_SEASON_SEED, (int)status,
                text);
    ef_report_free(reason);
    assert_true(status == EF_OK || status == EF_NO_ANSWER);
    if (season)
        assert_verified(scenario, season, text, number);
    return season;
}
