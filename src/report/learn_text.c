/* SPDX-License-Identifier: GPL-3.0-or-later
 * What was learned from logs, for people: the sentence to repeat, a table for each station, where scenario
 * and log disagree, where the log is short, what was not used. */
#include "report/learn_view.h"

#include "base/date.h"

#include <math.h>
#include <string.h>

enum {
    HOUR_DECIMALS = 3
};

void efi_learn_add_hours(efi_text *out, double hours)
{
    if (!isfinite(hours)) {
        efi_text_add(out, "n/a");
        return;
    }
    const bool minutes = hours < 1.0;
    const double value = minutes ? hours * 60.0 : hours;
    efi_number_add_fixed(out, value, efi_number_decimals(value, 3) > 2 ? 2 : efi_number_decimals(value, 3));
    efi_text_add(out, minutes ? " min" : " h");
}

void efi_learn_add_percent(efi_text *out, double share)
{
    efi_number_add_fixed(out, share * 100.0, share < 0.0995 ? 1 : 0);
    efi_text_add(out, " %");
}

static const char *reason_words(const ef_learn_stop *stop)
{
    return *stop->reason ? stop->reason : "(not said)";
}

/* ---- the sentence ---------------------------------------------------------------------------------------
 */

static void find_worst(const ef_learn *learn, const ef_learn_station **station, const ef_learn_stop **stop)
{
    *stop = NULL;
    for (int s = 0; s < learn->station_count; s++)
        for (int i = 0; i < learn->stations[s].stop_count; i++)
            if (!*stop || learn->stations[s].stops[i].lost_h > (*stop)->lost_h) {
                *station = &learn->stations[s];
                *stop = &learn->stations[s].stops[i];
            }
}

static double lost_of(const ef_learn *learn, int *stops)
{
    double lost_h = 0.0;
    *stops = 0;
    for (int s = 0; s < learn->station_count; s++) {
        lost_h += learn->stations[s].lost_h;
        for (int i = 0; i < learn->stations[s].stop_count; i++)
            *stops += learn->stations[s].stops[i].stops;
    }
    return lost_h;
}

static void add_stops_sentence(efi_text *words, const ef_learn *learn)
{
    const ef_learn_station *station = NULL;
    const ef_learn_stop *stop;
    int stops;
    const double lost_h = lost_of(learn, &stops);
    find_worst(learn, &station, &stop);
    efi_text_add(words, "In ");
    efi_learn_add_hours(words, learn->worked_h);
    efi_text_addf(words, "%s the stations of the log stopped %d times and stood still for ",
                  learn->has_calendar ? " of work" : "", stops);
    efi_learn_add_hours(words, lost_h);
    efi_text_add(words, " in all");
    if (stop && stop->lost_h > 0.0) {
        efi_text_add(words, ". Most of it, ");
        efi_learn_add_percent(words, stop->lost_h / lost_h);
        efi_text_addf(words, ", is %s: %s, ", station->name, reason_words(stop));
        efi_learn_add_hours(words, stop->lasts.mean_h.value);
        efi_text_add(words, " every ");
        efi_learn_add_hours(words, stop->between.mean_h.value);
    }
    efi_text_add(words, ".");
}

static void add_totals_sentence(efi_text *words, const ef_learn *learn, ef_units units)
{
    int named = 0;
    efi_text_addf(words, "In %d intervals", learn->interval_count);
    for (int i = 0; i < learn->scale_count && named < 3; i++) {
        if (!learn->scales[i].has_rate)
            continue;
        efi_text_addf(words, "%s %s made ", named ? "," : "", learn->scales[i].name);
        efi_display_add_alone(words, EFI_KIND_MASS_RATE, units, learn->scales[i].rate_tph.value,
                              learn->trade_weight_tpbu, NULL);
        named++;
    }
    efi_text_addf(words, "%s%d totals were written down at %d scales.", named ? " while at work: " : " ",
                  learn->totals_used, learn->scale_count);
}

static void add_headline(efi_paper *paper, const ef_learn *learn, ef_units units)
{
    efi_text words = {0};
    if (learn->stops_file)
        add_stops_sentence(&words, learn);
    else
        add_totals_sentence(&words, learn, units);
    if (learn->disagreements > 0)
        efi_text_addf(&words, " Scenario and log disagree in %d point%s; see below.", learn->disagreements,
                      learn->disagreements == 1 ? "" : "s");
    else
        efi_text_add(&words, " Nothing in the log speaks against the scenario.");
    efi_paper_say(paper, EFI_VERDICT, &words);
    efi_paper_gap(paper);
}

/* ---- tables ---------------------------------------------------------------------------------------------
 */

/* "9.5 h (7.1-13)" */
static void add_limits(efi_paper *paper, ef_learn_limits m)
{
    efi_text cell = {0};
    if (!isfinite(m.value)) {
        efi_text_add(&cell, m.low > 0.0 ? "over " : "-");
        if (m.low > 0.0)
            efi_learn_add_hours(&cell, m.low);
    } else {
        const double unit = m.value < 1.0 ? 60.0 : 1.0;
        const int decimals = efi_number_decimals(m.value * unit, 3) > 2
                                 ? 2
                                 : efi_number_decimals(m.value * unit, 3);
        efi_learn_add_hours(&cell, m.value);
        efi_text_add(&cell, " (");
        efi_number_add_fixed(&cell, m.low * unit, decimals);
        efi_text_add(&cell, "-");
        if (isfinite(m.high))
            efi_number_add_fixed(&cell, m.high * unit, decimals);
        else
            efi_text_add(&cell, "?");
        efi_text_add(&cell, ")");
    }
    efi_paper_take(paper, &cell);
    efi_paper_value(paper, m.value, HOUR_DECIMALS, "h");
    efi_paper_limits(paper, m.low, m.high);
}

/* "weibull 1.4 (p 0.32)"; "exponential (taken)" where it could not be told. */
static void add_form(efi_text *out, const ef_learn_times *times)
{
    efi_text_add(out, times->form);
    if (times->shape > 0.0) {
        efi_text_add(out, " ");
        efi_number_add_significant(out, times->shape, 2);
    }
    if (times->form_count == 0 && !times->is_fixed) {
        efi_text_add(out, " (taken)");
    } else if (times->best >= 0 && isfinite(times->forms[times->best].p)) {
        efi_text_add(out, " (p ");
        efi_number_add_fixed(out, times->forms[times->best].p, 2);
        efi_text_add(out, ")");
    }
}

/* How the times of each reason spread. */
static void add_forms(efi_paper *paper, const ef_learn_station *station)
{
    efi_text words = {0};
    for (int i = 0; i < station->stop_count; i++) {
        const ef_learn_stop *stop = &station->stops[i];
        if (stop->stops == 0)
            continue;
        efi_text_addf(&words, "%s%s between ", words.length ? "; " : "Forms: ", reason_words(stop));
        add_form(&words, &stop->between);
        efi_text_add(&words, ", lasts ");
        add_form(&words, &stop->lasts);
    }
    efi_paper_say(paper, EFI_DETAIL, &words);
}

static void add_scenario(efi_paper *paper, const ef_learn_times *times)
{
    efi_text cell = {0};
    if (!times->has_scenario) {
        efi_paper_cell(paper, "-");
        return;
    }
    efi_learn_add_hours(&cell, times->scenario_mean_h);
    efi_text_add(&cell, times->mean_disagrees || times->form_disagrees ? " !" : "");
    efi_paper_take(paper, &cell);
    efi_paper_value(paper, times->scenario_mean_h, HOUR_DECIMALS, "h");
}

static void add_station_heading(efi_paper *paper, const ef_learn_station *station)
{
    efi_text words = {0};
    efi_text_add(&words, station->name);
    if (station->machines > 1)
        efi_text_addf(&words, " (%d machines)", station->machines);
    efi_text_add(&words, ": watched ");
    efi_learn_add_hours(&words, station->watched_h);
    efi_text_add(&words, station->watched_running ? " of running, stopped " : " by the clock, stopped ");
    efi_learn_add_hours(&words, station->lost_h);
    efi_text_add(&words, ", available ");
    efi_number_add_fixed(&words, 100.0 * station->availability, 1);
    efi_text_add(&words, " %");
    paper->depth = 1;
    efi_paper_heading(paper, 2, false, efi_text_get(&words));
    paper->failed = paper->failed || words.failed;
    efi_text_free(&words);
}

static void add_station(efi_paper *paper, const ef_learn_station *station)
{
    static const efi_column columns[] = {{"Reason", 'l', 0, false},         {"Stops", 'r', 0, false},
                                         {"Between (95 %)", 'r', 0, false}, {"Scenario", 'r', 0, false},
                                         {"Lasts (95 %)", 'r', 0, false},   {"Scenario", 'r', 0, false}};
    efi_text caption = {0};
    add_station_heading(paper, station);
    efi_text_addf(&caption, "Stops of %s", station->name);
    paper->depth = 2;
    efi_paper_table_say(paper, &(efi_table_form){.name = "stops", .quiet = true}, &caption, columns,
                        EF_COUNT(columns));
    for (int i = 0; i < station->stop_count; i++) {
        const ef_learn_stop *stop = &station->stops[i];
        efi_paper_cell(paper, reason_words(stop));
        efi_paper_count(paper, stop->stops);
        add_limits(paper, stop->between.mean_h);
        add_scenario(paper, &stop->between);
        add_limits(paper, stop->lasts.mean_h);
        add_scenario(paper, &stop->lasts);
    }
    add_forms(paper, station);
    efi_paper_gap(paper);
}

/* ---- lists ----------------------------------------------------------------------------------------------
 */

static void begin_list(efi_paper *paper, const char *heading)
{
    paper->depth = 1;
    efi_paper_heading(paper, 2, false, heading);
    paper->depth = 2;
}

static void add_disagreement(efi_paper *paper, const ef_learn_station *station, const ef_learn_stop *stop,
                             const ef_learn_times *times, const char *what)
{
    efi_text words = {0};
    if (times->mean_disagrees) {
        efi_text_addf(&words, "%s, %s: %s is ", station->name, reason_words(stop), what);
        efi_learn_add_hours(&words, times->scenario_mean_h);
        efi_text_add(&words, " in the scenario, by the log ");
        if (isfinite(times->mean_h.high)) {
            efi_text_add(&words, "between ");
            efi_learn_add_hours(&words, times->mean_h.low);
            efi_text_add(&words, " and ");
            efi_learn_add_hours(&words, times->mean_h.high);
        } else {
            efi_text_add(&words, "more than ");
            efi_learn_add_hours(&words, times->mean_h.low);
        }
        efi_text_addf(&words, " (%s line %d)", stop->place.file, stop->place.line);
        efi_paper_item(paper, &words);
    }
    if (times->form_disagrees) {
        efi_text_addf(&words, "%s, %s: the form of %s is %s", station->name, reason_words(stop), what,
                      times->scenario_form);
        if (times->scenario_shape > 0.0) {
            efi_text_add(&words, " with shape ");
            efi_number_add_significant(&words, times->scenario_shape, 3);
        }
        efi_text_addf(&words, " in the scenario; by the log it is %s", times->form);
        if (times->shape > 0.0) {
            efi_text_add(&words, " with shape ");
            efi_number_add_significant(&words, times->shape, 3);
        }
        efi_paper_item(paper, &words);
    }
}

static void add_disagreements(efi_paper *paper, const ef_learn *learn, ef_units units)
{
    if (learn->disagreements == 0)
        return;
    begin_list(paper, "Where scenario and log disagree");
    for (int s = 0; s < learn->station_count; s++)
        for (int i = 0; i < learn->stations[s].stop_count; i++) {
            const ef_learn_stop *stop = &learn->stations[s].stops[i];
            add_disagreement(paper, &learn->stations[s], stop, &stop->between, "the time between stops");
            add_disagreement(paper, &learn->stations[s], stop, &stop->lasts, "the length");
        }
    efi_learn_add_total_disagreements(paper, learn, units);
    efi_paper_gap(paper);
}

static void add_short_item(efi_paper *paper, const ef_learn_station *station, const ef_learn_stop *stop)
{
    const bool between = !stop->between.enough;
    const bool lasts = !stop->lasts.enough && stop->stops > 0;
    if (!between && !lasts)
        return;
    const ef_learn_times *most = !between || (lasts && stop->lasts.more_stops > stop->between.more_stops)
                                     ? &stop->lasts
                                     : &stop->between;
    efi_text words = {0};
    efi_text_addf(&words, "%s, %s: %d stop%s in the log; for %s%s%s some %d more are needed", station->name,
                  reason_words(stop), stop->stops, stop->stops == 1 ? "" : "s",
                  between ? "the time between" : "", between && lasts ? " and " : "",
                  lasts ? "the length" : "", most->more_stops);
    if (most->more_h > 0.0) {
        efi_text_add(&words, ", about ");
        efi_learn_add_hours(&words, most->more_h);
        efi_text_add(&words, stop->counts_running ? " of running" : " by the clock");
    }
    efi_paper_item(paper, &words);
}

static bool any_short(const ef_learn *learn)
{
    for (int s = 0; s < learn->station_count; s++)
        for (int i = 0; i < learn->stations[s].stop_count && learn->stations[s].in_log; i++)
            if (!learn->stations[s].stops[i].between.enough || !learn->stations[s].stops[i].lasts.enough)
                return true;
    return false;
}

static void add_shorts(efi_paper *paper, const ef_learn *learn)
{
    if (!any_short(learn))
        return;
    begin_list(paper, "Where the log is too short for limits within a factor of three");
    for (int s = 0; s < learn->station_count; s++)
        for (int i = 0; i < learn->stations[s].stop_count && learn->stations[s].in_log; i++) {
            const ef_learn_stop *stop = &learn->stations[s].stops[i];
            add_short_item(paper, &learn->stations[s], stop);
        }
    efi_paper_gap(paper);
}

/* ---- notes ----------------------------------------------------------------------------------------------
 */

static void add_poor_fits(efi_text *words, const ef_learn *learn)
{
    for (int s = 0; s < learn->station_count; s++)
        for (int i = 0; i < learn->stations[s].stop_count; i++) {
            const ef_learn_stop *stop = &learn->stations[s].stops[i];
            const ef_learn_times *both[] = {&stop->between, &stop->lasts};
            for (int b = 0; b < 2; b++)
                if (both[b]->best >= 0 && both[b]->forms[both[b]->best].p < 0.05)
                    efi_text_addf(
                        words, " No form fits %s of %s, %s well: look at the log itself, it may mix reasons.",
                        b == 0 ? "the time between stops" : "the lengths", learn->stations[s].name,
                        reason_words(stop));
        }
}

static void add_unlogged(efi_text *words, const ef_learn *learn)
{
    bool first = true;
    for (int s = 0; s < learn->station_count; s++) {
        if (learn->stations[s].in_log)
            continue;
        efi_text_addf(words, "%s%s", first ? " Stops in the scenario, but not in the log: " : ", ",
                      learn->stations[s].name);
        first = false;
    }
    if (!first)
        efi_text_add(words, ".");
}

static void add_used(efi_text *words, const ef_learn *learn)
{
    if (learn->stops_file)
        efi_text_addf(
            words,
            "Of %d rows of %s %d were used; %d more count as stops of unknown length; %d were not used.",
            learn->rows_used + learn->rows_length_unknown + learn->rows_not_used, learn->stops_file,
            learn->rows_used, learn->rows_length_unknown, learn->rows_not_used);
    if (learn->totals_file)
        efi_text_addf(words, "%sOf %d rows of %s %d were used, %d not.", learn->stops_file ? " " : "",
                      learn->totals_rows, learn->totals_file, learn->totals_used, learn->totals_not_used);
    if (learn->rows_not_used + learn->rows_length_unknown + learn->totals_not_used > 0)
        efi_text_add(words, " The findings name them one by one.");
}

static const char lockout[] =
    "A length under lock-out and bin entry is no target: isolating, locking and, where "
    "somebody enters a bin, the permit "
    "and its air tests take their time; local rules come first.";

static void add_notes(efi_paper *paper, const ef_learn *learn)
{
    efi_text words = {0};
    add_used(&words, learn);
    add_unlogged(&words, learn);
    add_poor_fits(&words, learn);
    paper->depth = 0;
    efi_paper_say(paper, EFI_NOTE, &words);
    if (!learn->stops_file)
        return;
    efi_text_add(&words, "Times between stops are ");
    efi_text_add(&words, learn->has_calendar
                             ? "hours of work by the scenario's calendar, without the station's own stops"
                             : "hours of the clock where neither calendar nor totals tell running hours");
    efi_text_add(&words,
                 "; p is that of the fit (small: it does not fit), \"taken\" a form that so few stops cannot "
                 "show, ! marks what disagrees. ");
    efi_text_add(&words, "A log holds what was written down: short stops are often missing.");
    efi_paper_say(paper, EFI_NOTE, &words);
    efi_paper_goes_on(paper, EFI_CAUTION, lockout);
}

static void add_moment(efi_text *out, int64_t moment_s)
{
    efi_date_add(out, efi_moment_day(moment_s));
    efi_text_add(out, " ");
    efi_clock_add(out, efi_moment_clock(moment_s));
}

ef_status ef_report_learn_text(const ef_learn *learn, ef_units units, char **text)
{
    efi_paper paper = {0};
    efi_text title = {0};
    efi_text_addf(&title, "%s: %s, ", learn->plant, learn->scenario_file);
    add_moment(&title, learn->since_s);
    efi_text_add(&title, " to ");
    add_moment(&title, learn->until_s);
    efi_paper_title(&paper, &title);
    add_headline(&paper, learn, units);
    for (int s = 0; s < learn->station_count; s++)
        if (learn->stations[s].in_log)
            add_station(&paper, &learn->stations[s]);
    efi_learn_add_totals(&paper, learn, units);
    add_disagreements(&paper, learn, units);
    add_shorts(&paper, learn);
    add_notes(&paper, learn);
    return efi_paper_give_text(&paper, text);
}

ef_status ef_report_learn_settings(const ef_learn *learn, char **text)
{
    efi_text out = {0};
    for (int i = 0; i < learn->setting_count; i++)
        efi_text_addf(&out, "%s\n", learn->settings[i]);
    return efi_report_give(&out, text);
}
