/* SPDX-License-Identifier: GPL-3.0-or-later
 * Are all words of reports messages that can be translated? Under a made catalogue each message stands
 * between brackets, so any words outside them that do not come from the scenario were not marked. */
#include "base/tongue.h"
#include "report/html/html.h"

#include "../lib/files.h"
#include "../lib/plants.h"
#include "../lib/seasons.h"
#include "../lib/skip.h"

#include <ctype.h>
#include <evenfeed/report.h>
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include <cmocka.h>

#define OPENS  "⟦"
#define CLOSES "⟧"

enum {
    BRACKET = sizeof OPENS - 1,
    MOST_SHOWN = 60,
    WORD_ROOM = 100,
    RUNS = 20
};

/* Units, and what this program is called. */
static const char *const known[] = {"t",   "h",   "min", "s",   "kg",  "m3",  "m",   "mm",       "l",   "kW",
                                    "kWh", "d",   "bu",  "lb",  "ft3", "EUR", "USD", "evenfeed", "deg", "rpm",
                                    "P10", "P50", "P90", "ISO", "hL",  "ft",  "in",  "kPa"};

static char *made_bytes;

static unsigned long plural(unsigned long n)
{
    return n != 1;
}

static efi_catalogue made = {"made", "Made", NULL, plural};

static int make_catalogue(void **state)
{
    (void)state;
    char *path = scratch_path("made.mo");
    command_result result = command_run(
        (const char *const[]){"sh", "tests/tongue/run.sh", "made", path, NULL}, NULL);
    if (result.exit_code == 0 && file_exists(path)) {
        made_bytes = file_read(path, NULL);
        made.bytes = (const unsigned char *)made_bytes;
    }
    command_result_free(&result);
    free(path);
    return 0;
}

static int free_catalogue(void **state)
{
    (void)state;
    free(made_bytes);
    return 0;
}

/* Does the word stand in the scenario, its comments aside? */
static bool is_of(const char *scenario, const char *word)
{
    const size_t length = strlen(word);
    for (const char *line = scenario; *line;
         line += strcspn(line, "\n") + (line[strcspn(line, "\n")] == '\n')) {
        const char *end = line + strcspn(line, "#\n");
        for (const char *at = strstr(line, word); at && at < end; at = strstr(at + 1, word)) {
            const bool begins = at == line || !isalnum((unsigned char)at[-1]);
            if (begins && !isalnum((unsigned char)at[length]))
                return true;
        }
    }
    return false;
}

static bool is_known(const char *scenario, const char *word)
{
    if (word[1] == '\0') /* a letter for a lot */
        return true;
    for (size_t i = 0; i < sizeof known / sizeof known[0]; i++)
        if (strcmp(known[i], word) == 0)
            return true;
    return is_of(scenario, word);
}

/* Behind a tag, with all of a style sheet, a script, an example of a call. */
static const char *behind_tag(const char *at)
{
    static const char *const whole[] = {"style", "script", "pre"};
    for (size_t i = 0; i < sizeof whole / sizeof whole[0]; i++) {
        char closes[20];
        (void)snprintf(closes, sizeof closes, "</%s>", whole[i]);
        if (strncmp(at + 1, whole[i], strlen(whole[i])) == 0 && strstr(at, closes))
            return strstr(at, closes) + strlen(closes);
    }
    return at + strcspn(at, ">") + 1;
}

/* Fails, showing the places, when words of a text stand in no message. */
static void assert_all_marked(const char *text, const char *scenario, bool tags)
{
    int depth = 0;
    int found = 0;
    for (const char *at = text; *at;) {
        if (strncmp(at, OPENS, BRACKET) == 0 || strncmp(at, CLOSES, BRACKET) == 0) {
            depth += strncmp(at, OPENS, BRACKET) == 0 ? 1 : -1;
            at += BRACKET;
        } else if (tags && *at == '<') {
            at = behind_tag(at);
        } else if (tags && *at == '&') {
            at += strcspn(at, ";");
        } else if (depth == 0 && isalpha((unsigned char)*at)) {
            char word[WORD_ROOM];
            size_t length = 0;
            while (isalnum((unsigned char)at[length]))
                length++;
            (void)snprintf(word, sizeof word, "%.*s", (int)length, at);
            if (!is_known(scenario, word) && found++ < MOST_SHOWN)
                print_error("not marked: \"%s\" in \"%.60s\"\n", word,
                            at - (at - text > 20 ? 20 : at - text));
            at += length;
        } else {
            at += depth == 0 && isdigit((unsigned char)*at)
                      ? strspn(at, "0123456789abcdefghijklmnopqrstuvwxyz")
                      : 1;
        }
    }
    assert_int_equal(found, 0);
}

typedef ef_status writer(const ef_scenario *scenario, char **text);

/* ---- a season -------------------------------------------------------------------------------------------
 */

/* Names that a season has from its scenario, as `is_of` looks them up. */
static void add_season_names(efi_text *names, const ef_season *season)
{
    efi_text_addf(names, "%s %s ", season->plant, season->scenario_file);
    for (int i = 0; i < season->lot_count; i++) {
        const ef_season_lot *lot = &season->lots[i];
        efi_text_addf(names, "%s %s %s %s %s %s %s %s ", lot->name, lot->crop, lot->variety, lot->seed_class,
                      lot->treatment, lot->product, lot->note, lot->after);
    }
    for (int i = 0; i < season->run_count; i++)
        efi_text_addf(names, "%s %s ", season->runs[i].shift, season->runs[i].rule);
    for (int i = 0; i < season->line_count; i++)
        efi_text_addf(names, "%s %s ", season->lines[i].name, season->lines[i].last_rule);
    for (int i = 0; i < season->store_count; i++)
        efi_text_addf(names, "%s ", season->stores[i].name);
}

/* Blanks the days of the chart, between its bars, which letters for lots fill. */
static void blank_chart(char *text)
{
    for (char *line = text; *line; line += strcspn(line, "\n") + (line[strcspn(line, "\n")] == '\n')) {
        char *end = line + strcspn(line, "\n");
        char *last = end;
        while (last > line && *last != '|')
            last--;
        for (char *at = line + strcspn(line, "|\n"); at < last; at++)
            *at = ' ';
    }
}

/* The text of a season is all messages; frees it. */
static void assert_season_marked(const ef_season *season, ef_status status, char *text, bool tags)
{
    efi_text names = {0};
    assert_int_equal(status, EF_OK);
    efi_tongue_set(NULL);
    add_season_names(&names, season);
    if (!tags)
        blank_chart(text);
    assert_all_marked(text, efi_text_get(&names), tags);
    efi_text_free(&names);
    ef_report_free(text);
}

/* What a calendar file says to people: its lines unfolded, of those titles and descriptions. */
static char *said_in_calendar(const char *file)
{
    char *said = calloc(strlen(file) + 1, 1);
    size_t length = 0;
    bool says = false;
    assert_non_null(said);
    for (const char *at = file; *at;) {
        const bool begins = at == file || (at[-1] == '\n' && *at != ' ');
        if (begins)
            says = strncmp(at, "SUMMARY:", 8) == 0 || strncmp(at, "DESCRIPTION:", 12) == 0;
        if (begins && says)
            at += strcspn(at, ":");
        if (strncmp(at, "\r\n ", 3) == 0) {
            at += 3;
        } else if (strncmp(at, "\\n", 2) == 0) {
            said[length++] = '\n';
            at += 2;
        } else {
            if (says)
                said[length++] = *at;
            at++;
        }
    }
    return said;
}

static bool has_catalogue(void)
{
    if (made_bytes)
        efi_tongue_set(&made);
    else
        print_message("SKIP tongue: GNU gettext is not installed\n");
    return made_bytes != NULL;
}

static void seasons_of_all_troubles(void **state)
{
    (void)state;
    const ef_season *season = seasons_by_hand();
    char *text = NULL;
    ef_status status;
    if (!has_catalogue())
        return;
    status = ef_report_season_text(season, EF_UNITS_METRIC, &text);
    assert_season_marked(season, status, text, false);
    efi_tongue_set(&made);
    status = ef_report_season_svg(season, -1, EF_UNITS_METRIC, &text);
    assert_season_marked(season, status, text, true);
    efi_tongue_set(&made);
    status = ef_report_stores_svg(season, -1, EF_UNITS_METRIC, &text);
    assert_season_marked(season, status, text, true);
    efi_tongue_set(&made);
    status = ef_report_season_ics(season, EF_UNITS_METRIC, &text);
    assert_int_equal(status, EF_OK);
    char *said = said_in_calendar(text);
    ef_report_free(text);
    assert_non_null(strstr(said, OPENS));
    assert_season_marked(season, EF_OK, said, false);
}

static void answers_to_when(void **state)
{
    (void)state;
    ef_season season = *seasons_by_hand();
    const ef_season_offer offers[] = {
        {.behind = "B2", .start = seasons_moment(4, 10), .end = seasons_moment(8, 12), .cost = 210.5},
        {.line = 1,
         .behind = "",
         .start = seasons_moment(0, 7),
         .end = seasons_moment(1, 20),
         .cost = 480.0,
         .others_cost = 300.0,
         .others_late = 2}};
    ef_season_answer answer = {.crop = "barley",
                               .amount_t = 120.0,
                               .season = &season,
                               .cheapest = offers[0],
                               .earliest = offers[1],
                               .offers = offers};
    char *text = NULL;
    for (answer.offer_count = 0; answer.offer_count <= 2 && has_catalogue(); answer.offer_count++) {
        const ef_status status = ef_report_when_text(&answer, EF_UNITS_METRIC, &text);
        assert_season_marked(&season, status, text, false);
    }
}

static ef_status season_text(const ef_scenario *scenario, char **text)
{
    ef_season_settings settings = ef_season_defaults();
    ef_season *season = NULL;
    settings.rounds = 0;
    settings.simulated = RUNS;
    assert_int_equal(ef_season_run_plan(scenario, &settings, &season, NULL), EF_OK);
    const ef_status status = ef_report_season_text(season, EF_UNITS_METRIC, text);
    if (status == EF_OK)
        blank_chart(*text);
    ef_season_free(season);
    return status;
}

/* ---- scenarios -----------------------------------------------------------------------------------------
 */

/* What a writer says of a scenario is all messages. Its words stand in its file and perhaps in another that
 * it takes in (NULL: none). */
static void look(const char *path, const char *other, writer *write, bool tags)
{
    char *here = file_read(path, NULL);
    char *there = other ? file_read(other, NULL) : NULL;
    const size_t room = strlen(here) + (there ? strlen(there) : 0) + strlen(path) + sizeof " \n\n";
    char *words = malloc(room);
    assert_non_null(words);
    (void)snprintf(words, room, "%s\n%s\n%s", path, here, there ? there : "");
    free(here);
    free(there);
    ef_scenario *scenario = plant_load(path);
    char *text = NULL;
    if (!made_bytes) {
        print_message("SKIP tongue: GNU gettext is not installed\n");
    } else {
        efi_tongue_set(&made);
        assert_int_equal(write(scenario, &text), EF_OK);
        efi_tongue_set(NULL);
        assert_all_marked(text, words, tags);
    }
    ef_report_free(text);
    ef_scenario_free(scenario);
    free(words);
}

static ef_status balance_text(const ef_scenario *scenario, char **text)
{
    ef_balance_settings settings = ef_balance_defaults();
    ef_balance *balance = NULL;
    settings.ladder = 5;
    assert_int_equal(ef_balance_solve(scenario, &settings, &balance), EF_OK);
    const ef_status status = ef_report_balance_text(balance, EF_UNITS_METRIC, text);
    ef_balance_free(balance);
    return status;
}

static ef_status bins_text(const ef_scenario *scenario, char **text)
{
    ef_bins_settings settings = ef_bins_defaults();
    ef_bins *bins = NULL;
    settings.traces = RUNS;
    assert_int_equal(ef_bins_run(scenario, &settings, &bins), EF_OK);
    const ef_status status = ef_report_bins_text(bins, EF_UNITS_METRIC, text);
    ef_bins_free(bins);
    return status;
}

/* Pictures of what is sized: volume against minutes, a bin of steel. */
static ef_status bins_pictures(const ef_scenario *scenario, char **text)
{
    ef_bins_settings settings = ef_bins_defaults();
    ef_bins *bins = NULL;
    char *curve = NULL;
    char *elevation = NULL;
    efi_text both = {0};
    settings.traces = RUNS;
    assert_int_equal(ef_bins_run(scenario, &settings, &bins), EF_OK);
    assert_int_equal(ef_report_curve_svg(bins, 0, 0, EF_UNITS_METRIC, &curve), EF_OK);
    assert_int_equal(ef_report_elevation_svg(bins, 0, EF_UNITS_METRIC, &elevation), EF_OK);
    efi_text_addf(&both, "%s%s", curve, elevation);
    ef_report_free(curve);
    ef_report_free(elevation);
    ef_bins_free(bins);
    *text = both.bytes;
    return both.failed ? EF_MEMORY : EF_OK;
}

static ef_status learn_text(const ef_scenario *scenario, char **text)
{
    ef_learn_settings settings = ef_learn_defaults();
    ef_learn *learn = NULL;
    ef_diags *diags = ef_diags_new();
    settings.stops.name = "scenarios/logs/stops.csv";
    settings.totals.name = "scenarios/logs/totals.csv";
    settings.resamples = RUNS;
    assert_int_equal(ef_learn_solve(scenario, &settings, diags, &learn, NULL), EF_OK);
    const ef_status status = ef_report_learn_text(learn, EF_UNITS_METRIC, text);
    ef_learn_free(learn);
    ef_diags_free(diags);
    return status;
}

static ef_status shift_text(const ef_scenario *scenario, char **text)
{
    ef_shift_settings settings = ef_shift_defaults();
    ef_shift *shift = NULL;
    settings.runs = RUNS;
    assert_int_equal(ef_shift_run(scenario, &settings, &shift, NULL), EF_OK);
    const ef_status status = ef_report_shift_text(shift, EF_UNITS_METRIC, text);
    ef_shift_free(shift);
    return status;
}

static ef_status trace_text(const ef_scenario *scenario, char **text)
{
    ef_trace_settings settings = ef_trace_defaults(scenario);
    ef_trace *trace = NULL;
    assert_int_equal(ef_trace_run(scenario, &settings, &trace, NULL), EF_OK);
    const ef_status status = ef_report_trace_text(trace, EF_UNITS_METRIC, 50, text);
    ef_trace_free(trace);
    return status;
}

/* All answers, with their pictures. */
static ef_status page(const ef_scenario *scenario, char **text)
{
    ef_balance_settings to_balance = ef_balance_defaults();
    ef_bins_settings to_bins = ef_bins_defaults();
    ef_shift_settings to_shift = ef_shift_defaults();
    ef_season_settings to_season = ef_season_defaults();
    ef_report_answers a = {
        .plant = ef_scenario_plant(scenario), .scenario_file = "plant", .command = "evenfeed"};
    ef_balance *balance = NULL;
    ef_bins *bins = NULL;
    ef_shift *shift = NULL;
    ef_season *season = NULL;
    to_balance.ladder = 5;
    to_bins.traces = RUNS;
    to_shift.runs = RUNS;
    to_season.rounds = 1;
    assert_int_equal(ef_balance_solve(scenario, &to_balance, &balance), EF_OK);
    assert_int_equal(ef_bins_run(scenario, &to_bins, &bins), EF_OK);
    assert_int_equal(ef_shift_run(scenario, &to_shift, &shift, NULL), EF_OK);
    assert_int_equal(ef_season_run_plan(scenario, &to_season, &season, NULL), EF_OK);
    const ef_shift *shifts[] = {shift};
    a.balance = balance;
    a.bins = bins;
    a.shifts = shifts;
    a.shift_count = 1;
    a.season = season;
    const ef_status status = ef_report_html(&a, text);
    ef_season_free(season);
    ef_shift_free(shift);
    ef_bins_free(bins);
    ef_balance_free(balance);
    return status;
}

static void traces(void **state)
{
    (void)state;
    look("scenarios/cereal-seed.yaml", NULL, trace_text, false);
    look("scenarios/pulses-export.yaml", NULL, trace_text, false);
}

static void pages(void **state)
{
    (void)state;
    look("scenarios/seasons/clover-grass-seed.yaml", "scenarios/clover-grass-seed.yaml", page, true);
    look("scenarios/seasons/pulses-export.yaml", "scenarios/pulses-export.yaml", page, true);
}

static void balances(void **state)
{
    (void)state;
    look("scenarios/cereal-seed.yaml", NULL, balance_text, false);
    look("scenarios/pulses-export.yaml", NULL, balance_text, false);
}

static void sized_bins(void **state)
{
    (void)state;
    look("scenarios/cereal-seed.yaml", NULL, bins_text, false);
    look("scenarios/pulses-export.yaml", NULL, bins_text, false);
    look("scenarios/examples/bin-in-steel.yaml", NULL, bins_text, false);
    look("scenarios/examples/bin-in-steel.yaml", NULL, bins_pictures, true);
    look("scenarios/examples/no-bin-helps.yaml", NULL, bins_text, false);
    look("scenarios/examples/two-decks.yaml", NULL, bins_text, false);
}

static void learning(void **state)
{
    (void)state;
    look("scenarios/examples/learn-from-logs.yaml", "scenarios/logs/stops.csv", learn_text, false);
}

static void seasons(void **state)
{
    (void)state;
    look("scenarios/seasons/soybean-seed.yaml", "scenarios/seasons/soybean-seed-lots.csv", season_text,
         false);
}

static void shifts(void **state)
{
    (void)state;
    look("scenarios/cereal-seed.yaml", NULL, shift_text, false);
    look("scenarios/pulses-export.yaml", NULL, shift_text, false);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(seasons_of_all_troubles),
        cmocka_unit_test(answers_to_when),
        cmocka_unit_test(seasons),
        cmocka_unit_test(balances),
        cmocka_unit_test(sized_bins),
        cmocka_unit_test(learning),
        cmocka_unit_test(shifts),
        cmocka_unit_test(traces),
        cmocka_unit_test(pages),
    };
    return cmocka_run_group_tests(tests, make_catalogue, free_catalogue);
}
