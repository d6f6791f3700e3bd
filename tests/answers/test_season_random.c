/* SPDX-License-Identifier: GPL-3.0-or-later
 * Random scenarios through the whole season: every plan passes its verifier, plans are written, read, taken
 * up again at some moment and kept as they are, and answers that were altered are caught. */
#include "base/random.h"
#include "base/text.h"

#include <evenfeed/report.h>
#include <evenfeed/season.h>
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include <cmocka.h>

#define DAY INT64_C(86400)

enum {
    SCENARIOS = 200,
    SEED = 20261125
};

/* ---- a random scenario ----------------------------------------------------------------------------------
 */

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

static char *invent(efi_random *random)
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

/* ---- one scenario ---------------------------------------------------------------------------------------
 */

static ef_scenario *read_text(const char *text)
{
    ef_diags *diags = ef_diags_new();
    ef_scenario *scenario = NULL;
    const ef_status status = ef_scenario_read("random.yaml", text, strlen(text), diags, &scenario);
    assert_true(status == EF_OK || status == EF_SCENARIO); /* two lots running on one line, say */
    ef_diags_free(diags);
    return scenario;
}

/* Lines of two stations and more that were cleaned station by station, and those of them with a bin between.
 */
static int by_station, with_bins;

static void count_stations(const ef_season *season)
{
    for (int i = 1; i < season->passage_count; i++) {
        const ef_season_passage *one = &season->passages[i];
        if (one->line != one[-1].line || strcmp(one->crop, one[-1].crop) != 0)
            continue;
        by_station++;
        with_bins += one[-1].room_t > 0.0;
    }
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
        fprintf(stderr, "scenario %d of seed %d:\n%s\n%s", number, SEED, text, differences);
    }
    ef_report_free(differences);
    assert_int_equal(status, EF_OK);
    count_stations(season);
}

static ef_season *plan(const ef_scenario *scenario, const ef_season_settings *settings, const char *text,
                       int number)
{
    ef_season *season = NULL;
    char *reason = NULL;
    const ef_status status = ef_season_run_plan(scenario, settings, &season, &reason);
    if (status != EF_OK && status != EF_NO_ANSWER)
        fprintf(stderr, "scenario %d of seed %d: status %d\n%s", number, SEED, (int)status, text);
    ef_report_free(reason);
    assert_true(status == EF_OK || status == EF_NO_ANSWER);
    if (season)
        assert_verified(scenario, season, text, number);
    return season;
}

static ef_season_plan *write_and_read(const ef_scenario *scenario, const ef_season *season)
{
    char *text;
    ef_season_plan *plan_read = NULL;
    ef_diags *diags = ef_diags_new();
    assert_int_equal(ef_report_season_plan(season, &text), EF_OK);
    const ef_status status = ef_season_plan_read(scenario, "plan.csv", text, strlen(text), diags, &plan_read);
    if (status != EF_OK) {
        char *findings;
        assert_int_equal(ef_report_findings(diags, &findings), EF_OK);
        fprintf(stderr, "%s\n%s", text, findings);
        ef_report_free(findings);
    }
    ef_report_free(text);
    ef_diags_free(diags);
    assert_int_equal(status, EF_OK);
    return plan_read;
}

/* The plan is kept: the same cost without lots moved; taken up later, what has run stays as it was. */
static void take_up(efi_random *random, const ef_scenario *scenario, const ef_season *season,
                    const char *text, int number)
{
    ef_season_plan *before = write_and_read(scenario, season);
    ef_season_settings settings = ef_season_defaults();
    settings.rounds = 1;
    settings.simulated = 0;
    settings.rate_runs = 20;
    settings.plan = before;
    settings.keep_order = true;
    ef_season *kept = plan(scenario, &settings, text, number);
    assert_non_null(kept);
    assert_true(kept->kept_order && kept->has_ours);
    assert_int_equal(kept->moved_lots, 0);
    if (kept->cost.total < season->cost.total - 1e-6 || kept->cost.total > season->cost.total + 1e-6)
        fprintf(stderr, "scenario %d of seed %d: %.3f kept, %.3f before\n%s", number, SEED, kept->cost.total,
                season->cost.total, text);
    assert_true(kept->cost.total > season->cost.total - 1e-6 && kept->cost.total < season->cost.total + 1e-6);
    ef_season_free(kept);
    settings.keep_order = false;
    settings.has_at = true;
    settings.at = season->from + (int64_t)below(random, 20) * DAY / 2 + below(random, 3600);
    ef_season *later = plan(scenario, &settings, text, number);
    for (int r = 0; later && r < season->run_count; r++) {
        const ef_season_run *was = &season->runs[r];
        for (int k = 0; k < later->run_count; k++) {
            const ef_season_run *now = &later->runs[k];
            if (now->lot != was->lot || was->start >= settings.at)
                continue;
            if (now->line != was->line || now->start != was->start ||
                (was->end <= settings.at && now->end != was->end))
                fprintf(stderr, "scenario %d of seed %d, from %lld s on: lot %d\n%s", number, SEED,
                        (long long)(settings.at - season->from), was->lot, text);
            assert_int_equal(now->line, was->line);
            assert_int_equal(now->start, was->start);
            if (was->end <= settings.at)
                assert_int_equal(now->end, was->end);
        }
    }
    ef_season_free(later);
    ef_season_plan_free(before);
}

static void plans_of_random_scenarios_are_what_the_verifier_works_out(void **state)
{
    int planned = 0;
    (void)state;
    print_message("seed %d\n", SEED);
    for (int i = 0; i < SCENARIOS; i++) {
        efi_random random = efi_random_stream(SEED, (uint64_t)i, 0);
        char *text = invent(&random);
        ef_scenario *scenario = read_text(text);
        if (!scenario) {
            free(text);
            continue;
        }
        ef_season_settings settings = ef_season_defaults();
        settings.rounds = below(&random, 3);
        settings.simulated = below(&random, 2) * 20;
        settings.rate_runs = 20;
        settings.threads = 1 + below(&random, 2);
        ef_season *season = plan(scenario, &settings, text, i);
        planned += season != NULL;
        if (season)
            take_up(&random, scenario, season, text, i);
        ef_season_free(season);
        ef_scenario_free(scenario);
        free(text);
    }
    print_message("%d of %d could be planned\n", planned, SCENARIOS);
    assert_true(planned > SCENARIOS / 2);
}

/* ---- altered answers ------------------------------------------------------------------------------------
 */

/* An answer of which arrays may be altered. */
typedef struct altered {
    ef_season season;
    ef_season_run *runs;
    ef_season_lot *lots;
    ef_season_stay *stays;
    ef_season_line *lines;
} altered;

static void *copy(const void *from, int count, size_t size)
{
    void *to = malloc((size_t)count * size + 1);
    assert_non_null(to);
    memcpy(to, from, (size_t)count * size);
    return to;
}

static altered copy_of(const ef_season *season)
{
    altered a = {.season = *season,
                 .runs = copy(season->runs, season->run_count, sizeof *season->runs),
                 .lots = copy(season->lots, season->lot_count, sizeof *season->lots),
                 .stays = copy(season->stays, season->stay_count, sizeof *season->stays),
                 .lines = copy(season->lines, season->line_count, sizeof *season->lines)};
    a.season.runs = a.runs;
    a.season.lots = a.lots;
    a.season.stays = a.stays;
    a.season.lines = a.lines;
    return a;
}

/* Each alters one thing; false where there is nothing to alter. */
static bool later_start(altered *a, int r)
{
    a->runs[r].start += 60;
    return a->lots[a->runs[r].lot].state != EF_SEASON_DONE &&
           a->lots[a->runs[r].lot].state != EF_SEASON_RUNNING;
}
static bool later_end(altered *a, int r)
{
    a->runs[r].end += 60;
    return a->lots[a->runs[r].lot].state != EF_SEASON_DONE;
}
static bool other_rule(altered *a, int r)
{
    a->runs[r].rule = "another rule";
    return a->lots[a->runs[r].lot].state == EF_SEASON_WAITING;
}
static bool cheaper_cleaning(altered *a, int r)
{
    a->runs[r].clean_cost -= 1.0;
    return a->lots[a->runs[r].lot].state == EF_SEASON_WAITING;
}
static bool less_late(altered *a, int r)
{
    a->runs[r].late_days += 0.01;
    return a->lots[a->runs[r].lot].state != EF_SEASON_DONE;
}
static bool more_rate(altered *a, int r)
{
    a->runs[r].rate_tph *= 1.01;
    return a->lots[a->runs[r].lot].state != EF_SEASON_DONE;
}
static bool more_restarts(altered *a, int r)
{
    a->runs[r].restarts++;
    return a->lots[a->runs[r].lot].state != EF_SEASON_DONE;
}
static bool other_lot(altered *a, int r)
{
    const int other = (r + 1) % a->season.run_count;
    const int kept = a->runs[r].lot;
    a->runs[r].lot = a->runs[other].lot;
    a->runs[other].lot = kept;
    return other != r;
}
static bool twice(altered *a, int r)
{
    a->runs[r].lot = a->runs[(r + 1) % a->season.run_count].lot;
    return a->season.run_count > 1;
}
static bool moved(altered *a, int r)
{
    a->runs[r].is_moved = true;
    return true;
}
static bool cheaper(altered *a, int r)
{
    a->season.cost.total -= 1.0;
    return r == 0;
}
static bool cheaper_term(altered *a, int r)
{
    a->season.cost.term[r % EF_SEASON_TERMS] += 1.0;
    a->season.cost.total += 1.0;
    return true;
}
static bool high_bound(altered *a, int r)
{
    a->season.bound.term[EF_SEASON_CLEANING] = a->season.cost.term[EF_SEASON_CLEANING] + 1.0;
    return r == 0 && a->season.forbidden == 0;
}
static bool more_forbidden(altered *a, int r)
{
    a->season.forbidden++;
    return r == 0;
}
static bool less_stored(altered *a, int r)
{
    if (r >= a->season.stay_count)
        return false;
    a->stays[r].amount_t -= 0.5;
    return true;
}
static bool longer_stored(altered *a, int r)
{
    if (r >= a->season.stay_count)
        return false;
    a->stays[r].to += 60;
    return true;
}
static bool same_store(altered *a, int r)
{
    if (r >= a->season.stay_count || a->stays[r].store >= 0)
        return false;
    for (int s = 0; s < a->season.store_count; s++)
        if (a->season.stores[s].finished == a->stays[r].finished)
            a->stays[r].store = s; /* what finds no room is put into the last, which must be full */
    return a->stays[r].store >= 0;
}
static bool cheaper_last(altered *a, int r)
{
    a->lines[0].last_clean_cost += 1.0;
    return r == 0;
}
static bool other_due(altered *a, int r)
{
    a->lots[a->runs[r].lot].due = 0;
    return true;
}
static bool sure(altered *a, int r)
{
    a->runs[r].chance_late = 0.123456;
    return a->season.seasons_simulated > 0;
}

static bool later_station(altered *a, int r)
{
    static ef_season_cleaned cleaned[8];
    if (a->runs[r].cleaned_count == 0)
        return false;
    memcpy(cleaned, a->runs[r].cleaned, (size_t)a->runs[r].cleaned_count * sizeof *cleaned);
    cleaned[a->runs[r].cleaned_count - 1].from += 60;
    a->runs[r].cleaned = cleaned;
    return true;
}
static bool less_stands(altered *a, int r)
{
    if (a->runs[r].cleaned_count == 0)
        return false;
    a->runs[r].stands_h += 0.01;
    return true;
}
static bool one_station_fewer(altered *a, int r)
{
    if (a->runs[r].cleaned_count == 0)
        return false;
    a->runs[r].cleaned_count--;
    return true;
}
static bool cleared_after_all(altered *a, int r)
{
    if (!a->lines[0].by_station)
        return false;
    a->lines[0].by_station = false;
    return r == 0;
}

static void altered_answers_are_caught(void **state)
{
    static const struct {
        const char *name;
        bool (*alter)(altered *a, int run);
    } changes[] = {{"later start", later_start},
                   {"later end", later_end},
                   {"other rule", other_rule},
                   {"cheaper cleaning", cheaper_cleaning},
                   {"less late", less_late},
                   {"more rate", more_rate},
                   {"more restarts", more_restarts},
                   {"other lot", other_lot},
                   {"twice", twice},
                   {"moved", moved},
                   {"cheaper", cheaper},
                   {"cheaper term", cheaper_term},
                   {"high bound", high_bound},
                   {"more forbidden", more_forbidden},
                   {"less stored", less_stored},
                   {"longer stored", longer_stored},
                   {"same store", same_store},
                   {"cheaper last", cheaper_last},
                   {"other due", other_due},
                   {"sure", sure},
                   {"later station", later_station},
                   {"less stands", less_stands},
                   {"one station fewer", one_station_fewer},
                   {"cleared after all", cleared_after_all}};
    int caught[sizeof changes / sizeof changes[0]] = {0};
    (void)state;
    for (int i = 0; i < 40; i++) {
        efi_random random = efi_random_stream(SEED, (uint64_t)i, 0);
        char *text = invent(&random);
        ef_scenario *scenario = read_text(text);
        ef_season_settings settings = ef_season_defaults();
        settings.rounds = 0;
        settings.simulated = 20;
        settings.rate_runs = 20;
        ef_season *season = scenario ? plan(scenario, &settings, text, i) : NULL;
        for (size_t k = 0; season && k < sizeof changes / sizeof changes[0]; k++) {
            for (int r = 0; r < season->run_count; r++) {
                altered a = copy_of(season);
                char *differences = NULL;
                if (changes[k].alter(&a, r)) {
                    if (ef_season_verify(scenario, &a.season, &differences) == EF_OK)
                        fprintf(stderr, "scenario %d of seed %d: not caught: %s, run %d\n%s", i, SEED,
                                changes[k].name, r, text);
                    assert_non_null(differences);
                    caught[k]++;
                }
                ef_report_free(differences);
                free(a.runs);
                free(a.lots);
                free(a.stays);
                free(a.lines);
            }
        }
        ef_season_free(season);
        ef_scenario_free(scenario);
        free(text);
    }
    for (size_t k = 0; k < sizeof changes / sizeof changes[0]; k++)
        assert_true(caught[k] > 0);
}

static void many_lines_were_cleaned_station_by_station(void **state)
{
    (void)state;
    print_message("%d ways of crops over several stations, %d with a bin between\n", by_station, with_bins);
    assert_true(by_station > 50 && with_bins > 20);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(plans_of_random_scenarios_are_what_the_verifier_works_out),
        cmocka_unit_test(many_lines_were_cleaned_station_by_station),
        cmocka_unit_test(altered_answers_are_caught),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
