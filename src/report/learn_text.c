/* SPDX-License-Identifier: GPL-3.0-or-later
 * What was learned from logs, for people: the sentence to repeat, a table for each station, where scenario
 * and log disagree, where the log is short, what was not used. */
#include "report/learn_view.h"

#include "base/date.h"
#include "base/number.h"
#include "base/tongue.h"
#include "report/words_list.h"

#include <math.h>
#include <stdio.h>
#include <string.h>

enum {
    HOUR_DECIMALS = 3
};

static int decimals_of(double value)
{
    const int decimals = efi_number_decimals(value, 3);
    return decimals > 2 ? 2 : decimals;
}

efi_piece efi_learn_hours(double hours)
{
    efi_piece piece = {""};
    efi_text words = efi_text_fixed(piece.words, sizeof piece.words);
    const bool minutes = hours < 1.0;
    const double value = minutes ? hours * 60.0 : hours;
    efi_number_say_fixed(&words, value, decimals_of(value));
    if (isfinite(hours))
        efi_text_add(&words, minutes ? " min" : " h");
    return piece;
}

efi_piece efi_learn_percent(double share)
{
    return efi_piece_percent(share, share < 0.0995 ? 1 : 0);
}

static const char *reason_words(const ef_learn_stop *stop)
{
    return *stop->reason ? stop->reason : efi_tr("(not said)");
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
    const efi_piece worked = efi_learn_hours(learn->worked_h);
    if (learn->has_calendar)
        efi_words_say(
            words,
            efi_tr("In %s of work the stations of the log stopped %d times and stood still for %s in "
                   "all."),
            worked.words, stops, efi_learn_hours(lost_h).words);
    else
        efi_words_say(words,
                      efi_tr("In %s the stations of the log stopped %d times and stood still for %s in all."),
                      worked.words, stops, efi_learn_hours(lost_h).words);
    if (stop && stop->lost_h > 0.0)
        efi_words_say(words, efi_tr("Most of it, %s, is %s: %s, %s every %s."),
                      efi_learn_percent(stop->lost_h / lost_h).words, station->name, reason_words(stop),
                      efi_learn_hours(stop->lasts.mean_h.value).words,
                      efi_learn_hours(stop->between.mean_h.value).words);
}

static void add_totals_sentence(efi_text *words, const ef_learn *learn, ef_units units)
{
    efi_words_list made = {0};
    for (int i = 0; i < learn->scale_count && made.count < 3; i++)
        if (learn->scales[i].has_rate)
            efi_words_list_addf(&made, efi_tr("%s made %s"), learn->scales[i].name,
                                efi_piece_alone(EFI_KIND_MASS_RATE, units, learn->scales[i].rate_tph.value,
                                                learn->trade_weight_tpbu, NULL)
                                    .words);
    if (made.count > 0)
        efi_words_say(words,
                      efi_tr("In %d intervals %s while at work: %d totals were written down at %d scales."),
                      learn->interval_count, efi_words_list_get(&made, EFI_JOINT_COMMAS), learn->totals_used,
                      learn->scale_count);
    else
        efi_words_say(words, efi_tr("In %d intervals %d totals were written down at %d scales."),
                      learn->interval_count, learn->totals_used, learn->scale_count);
    efi_words_list_free(&made, words);
}

static void add_headline(efi_paper *paper, const ef_learn *learn, ef_units units)
{
    efi_text words = {0};
    if (learn->stops_file)
        add_stops_sentence(&words, learn);
    else
        add_totals_sentence(&words, learn, units);
    if (learn->disagreements > 0)
        efi_words_say(&words,
                      efi_tr_n("Scenario and log disagree in %d point; see below.",
                               "Scenario and log disagree in %d points; see below.", learn->disagreements),
                      learn->disagreements);
    else
        efi_words_say(&words, efi_tr("Nothing in the log speaks against the scenario."));
    efi_paper_say(paper, EFI_VERDICT, &words);
    efi_paper_gap(paper);
}

/* ---- tables ---------------------------------------------------------------------------------------------
 */

/* "9.5 h (7.1-13)" */
static void add_limits(efi_paper *paper, ef_learn_limits m)
{
    efi_text cell = {0};
    if (!isfinite(m.value) && m.low > 0.0) {
        efi_text_addf(&cell, efi_tr("over %s"), efi_learn_hours(m.low).words);
    } else if (!isfinite(m.value)) {
        efi_text_add(&cell, "-");
    } else {
        const double unit = m.value < 1.0 ? 60.0 : 1.0;
        const int decimals = decimals_of(m.value * unit);
        efi_text_addf(&cell, "%s (%s-%s)", efi_learn_hours(m.value).words,
                      efi_piece_fixed(m.low * unit, decimals).words,
                      isfinite(m.high) ? efi_piece_fixed(m.high * unit, decimals).words : "?");
    }
    efi_paper_take(paper, &cell);
    efi_paper_value(paper, m.value, HOUR_DECIMALS, "h");
    efi_paper_limits(paper, m.low, m.high);
}

/* "weibull 1.4 (p 0.32)"; "exponential (taken)" where it could not be told. */
static void add_form(efi_text *out, const ef_learn_times *times)
{
    efi_text form = {0};
    efi_text_add(&form, efi_tr(times->form));
    if (times->shape > 0.0)
        efi_text_addf(&form, " %s", efi_piece_significant(times->shape, 2).words);
    if (times->form_count == 0 && !times->is_fixed)
        efi_text_addf(out, efi_tr("%s (taken)"), efi_text_get(&form));
    else if (times->best >= 0 && isfinite(times->forms[times->best].p))
        efi_text_addf(out, "%s (p %s)", efi_text_get(&form),
                      efi_piece_fixed(times->forms[times->best].p, 2).words);
    else
        efi_text_add(out, efi_text_get(&form));
    out->failed = out->failed || form.failed;
    efi_text_free(&form);
}

static void list_forms(efi_words_list *list, const ef_learn_stop *stop)
{
    efi_text between = {0};
    efi_text lasts = {0};
    efi_text item = {0};
    add_form(&between, &stop->between);
    add_form(&lasts, &stop->lasts);
    efi_text_addf(&item, efi_tr("%s between %s, lasts %s"), reason_words(stop), efi_text_get(&between),
                  efi_text_get(&lasts));
    item.failed = item.failed || between.failed || lasts.failed;
    efi_text_free(&between);
    efi_text_free(&lasts);
    efi_words_list_take(list, &item);
}

/* How the times of each reason spread. */
static void add_forms(efi_paper *paper, const ef_learn_station *station)
{
    efi_words_list forms = {0};
    efi_text words = {0};
    for (int i = 0; i < station->stop_count; i++)
        if (station->stops[i].stops > 0)
            list_forms(&forms, &station->stops[i]);
    if (forms.count > 0)
        efi_text_addf(&words, efi_tr("Forms: %s"), efi_words_list_get(&forms, EFI_JOINT_SEMICOLONS));
    efi_words_list_free(&forms, &words);
    efi_paper_say(paper, EFI_DETAIL, &words);
}

static void add_scenario(efi_paper *paper, const ef_learn_times *times)
{
    efi_text cell = {0};
    if (!times->has_scenario) {
        efi_paper_cell(paper, "-");
        return;
    }
    efi_text_add(&cell, efi_learn_hours(times->scenario_mean_h).words);
    efi_text_add(&cell, times->mean_disagrees || times->form_disagrees ? " !" : "");
    efi_paper_take(paper, &cell);
    efi_paper_value(paper, times->scenario_mean_h, HOUR_DECIMALS, "h");
}

static void add_station_heading(efi_paper *paper, const ef_learn_station *station)
{
    const efi_piece watched = efi_learn_hours(station->watched_h);
    const efi_piece lost = efi_learn_hours(station->lost_h);
    const efi_piece available = efi_piece_percent(station->availability, 1);
    efi_text name = {0};
    efi_text words = {0};
    if (station->machines > 1)
        efi_text_addf(&name, efi_tr("%s (%d machines)"), station->name, station->machines);
    else
        efi_text_add(&name, station->name);
    if (station->watched_running)
        efi_text_addf(&words, efi_tr("%s: watched %s of running, stopped %s, available %s"),
                      efi_text_get(&name), watched.words, lost.words, available.words);
    else
        efi_text_addf(&words, efi_tr("%s: watched %s by the clock, stopped %s, available %s"),
                      efi_text_get(&name), watched.words, lost.words, available.words);
    words.failed = words.failed || name.failed;
    efi_text_free(&name);
    paper->depth = 1;
    efi_paper_heading(paper, 2, false, efi_text_get(&words));
    paper->failed = paper->failed || words.failed;
    efi_text_free(&words);
}

static void add_station(efi_paper *paper, const ef_learn_station *station)
{
    static const efi_column columns[] = {
        {EFI_TR("Reason"), 'l', 0, false},         {EFI_TR("Stops"), 'r', 0, false},
        {EFI_TR("Between (95 %)"), 'r', 0, false}, {EFI_TR("Scenario"), 'r', 0, false},
        {EFI_TR("Lasts (95 %)"), 'r', 0, false},   {EFI_TR("Scenario"), 'r', 0, false}};
    efi_text caption = {0};
    add_station_heading(paper, station);
    efi_text_addf(&caption, efi_tr("Stops of %s"), station->name);
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

/* The mean of the times lies outside the limits: in words for the times between stops and for lengths. */
static void say_mean(efi_text *words, const char *station, const ef_learn_stop *stop, bool between)
{
    const ef_learn_times *times = between ? &stop->between : &stop->lasts;
    const efi_piece scenario = efi_learn_hours(times->scenario_mean_h);
    const efi_piece low = efi_learn_hours(times->mean_h.low);
    const efi_piece high = efi_learn_hours(times->mean_h.high);
    const char *file = stop->place.file ? stop->place.file : "";
    if (between && isfinite(times->mean_h.high))
        efi_text_addf(
            words,
            efi_tr("%s, %s: the time between stops is %s in the scenario, by the log between %s and "
                   "%s (%s line %d)"),
            station, reason_words(stop), scenario.words, low.words, high.words, file, stop->place.line);
    else if (between)
        efi_text_addf(words,
                      efi_tr("%s, %s: the time between stops is %s in the scenario, by the log more than %s "
                             "(%s line %d)"),
                      station, reason_words(stop), scenario.words, low.words, file, stop->place.line);
    else if (isfinite(times->mean_h.high))
        efi_text_addf(
            words,
            efi_tr("%s, %s: the length is %s in the scenario, by the log between %s and %s (%s line %d)"),
            station, reason_words(stop), scenario.words, low.words, high.words, file, stop->place.line);
    else
        efi_text_addf(
            words, efi_tr("%s, %s: the length is %s in the scenario, by the log more than %s (%s line %d)"),
            station, reason_words(stop), scenario.words, low.words, file, stop->place.line);
}

/* "weibull with shape 1.4" */
static void add_form_and_shape(efi_text *words, const char *form, double shape)
{
    if (shape > 0.0)
        efi_text_addf(words, efi_tr("%s with shape %s"), efi_tr(form), efi_piece_significant(shape, 3).words);
    else
        efi_text_add(words, efi_tr(form));
}

static void say_form(efi_text *words, const char *station, const ef_learn_stop *stop, bool between)
{
    const ef_learn_times *times = between ? &stop->between : &stop->lasts;
    efi_text scenario = {0};
    efi_text log = {0};
    add_form_and_shape(&scenario, times->scenario_form, times->scenario_shape);
    add_form_and_shape(&log, times->form, times->shape);
    if (between)
        efi_text_addf(
            words,
            efi_tr("%s, %s: the form of the time between stops is %s in the scenario; by the log it "
                   "is %s"),
            station, reason_words(stop), efi_text_get(&scenario), efi_text_get(&log));
    else
        efi_text_addf(words,
                      efi_tr("%s, %s: the form of the length is %s in the scenario; by the log it is %s"),
                      station, reason_words(stop), efi_text_get(&scenario), efi_text_get(&log));
    words->failed = words->failed || scenario.failed || log.failed;
    efi_text_free(&scenario);
    efi_text_free(&log);
}

static void add_disagreement(efi_paper *paper, const char *station, const ef_learn_stop *stop, bool between)
{
    const ef_learn_times *times = between ? &stop->between : &stop->lasts;
    efi_text words = {0};
    if (times->mean_disagrees) {
        say_mean(&words, station, stop, between);
        efi_paper_item(paper, &words);
    }
    if (times->form_disagrees) {
        say_form(&words, station, stop, between);
        efi_paper_item(paper, &words);
    }
}

static void add_disagreements(efi_paper *paper, const ef_learn *learn, ef_units units)
{
    if (learn->disagreements == 0)
        return;
    begin_list(paper, efi_tr("Where scenario and log disagree"));
    for (int s = 0; s < learn->station_count; s++)
        for (int i = 0; i < learn->stations[s].stop_count; i++) {
            const ef_learn_stop *stop = &learn->stations[s].stops[i];
            add_disagreement(paper, learn->stations[s].name, stop, true);
            add_disagreement(paper, learn->stations[s].name, stop, false);
        }
    efi_learn_add_total_disagreements(paper, learn, units);
    efi_paper_gap(paper);
}

/* How many stops more are needed, and for what. */
static void say_needed(efi_text *words, const ef_learn_station *station, const ef_learn_stop *stop, int more)
{
    efi_text there = {0};
    efi_text_addf(&there, efi_tr_n("%d stop in the log", "%d stops in the log", stop->stops), stop->stops);
    const bool between = !stop->between.enough;
    const bool lasts = !stop->lasts.enough && stop->stops > 0;
    if (between && lasts)
        efi_text_addf(words,
                      efi_tr("%s, %s: %s; for the time between and the length some %d more are needed"),
                      station->name, reason_words(stop), efi_text_get(&there), more);
    else if (between)
        efi_text_addf(words, efi_tr("%s, %s: %s; for the time between some %d more are needed"),
                      station->name, reason_words(stop), efi_text_get(&there), more);
    else
        efi_text_addf(words, efi_tr("%s, %s: %s; for the length some %d more are needed"), station->name,
                      reason_words(stop), efi_text_get(&there), more);
    words->failed = words->failed || there.failed;
    efi_text_free(&there);
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
    efi_text needed = {0};
    efi_text words = {0};
    say_needed(&needed, station, stop, most->more_stops);
    if (!(most->more_h > 0.0))
        efi_text_add(&words, efi_text_get(&needed));
    else if (stop->counts_running)
        efi_text_addf(&words, efi_tr("%s, about %s of running"), efi_text_get(&needed),
                      efi_learn_hours(most->more_h).words);
    else
        efi_text_addf(&words, efi_tr("%s, about %s by the clock"), efi_text_get(&needed),
                      efi_learn_hours(most->more_h).words);
    words.failed = words.failed || needed.failed;
    efi_text_free(&needed);
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
    begin_list(paper, efi_tr("Where the log is too short for limits within a factor of three"));
    for (int s = 0; s < learn->station_count; s++)
        for (int i = 0; i < learn->stations[s].stop_count && learn->stations[s].in_log; i++) {
            const ef_learn_stop *stop = &learn->stations[s].stops[i];
            add_short_item(paper, &learn->stations[s], stop);
        }
    efi_paper_gap(paper);
}

/* ---- notes ----------------------------------------------------------------------------------------------
 */

static void say_poor_fit(efi_text *words, const ef_learn_station *station, const ef_learn_stop *stop,
                         bool between)
{
    const ef_learn_times *times = between ? &stop->between : &stop->lasts;
    if (times->best < 0 || !(times->forms[times->best].p < 0.05))
        return;
    if (between)
        efi_words_say(words,
                      efi_tr("No form fits the time between stops of %s, %s well: look at the log itself, it "
                             "may mix reasons."),
                      station->name, reason_words(stop));
    else
        efi_words_say(
            words,
            efi_tr("No form fits the lengths of %s, %s well: look at the log itself, it may mix reasons."),
            station->name, reason_words(stop));
}

static void add_poor_fits(efi_text *words, const ef_learn *learn)
{
    for (int s = 0; s < learn->station_count; s++)
        for (int i = 0; i < learn->stations[s].stop_count; i++) {
            say_poor_fit(words, &learn->stations[s], &learn->stations[s].stops[i], true);
            say_poor_fit(words, &learn->stations[s], &learn->stations[s].stops[i], false);
        }
}

static void add_unlogged(efi_text *words, const ef_learn *learn)
{
    efi_words_list names = {0};
    for (int s = 0; s < learn->station_count; s++)
        if (!learn->stations[s].in_log)
            efi_words_list_add(&names, learn->stations[s].name);
    if (names.count > 0)
        efi_words_say(words, efi_tr("Stops in the scenario, but not in the log: %s."),
                      efi_words_list_get(&names, EFI_JOINT_COMMAS));
    efi_words_list_free(&names, words);
}

static void add_used(efi_text *words, const ef_learn *learn)
{
    if (learn->stops_file)
        efi_words_say(
            words,
            efi_tr(
                "Of %d rows of %s %d were used; %d more count as stops of unknown length; %d were not used."),
            learn->rows_used + learn->rows_length_unknown + learn->rows_not_used, learn->stops_file,
            learn->rows_used, learn->rows_length_unknown, learn->rows_not_used);
    if (learn->totals_file)
        efi_words_say(words, efi_tr("Of %d rows of %s %d were used, %d not."), learn->totals_rows,
                      learn->totals_file, learn->totals_used, learn->totals_not_used);
    if (learn->rows_not_used + learn->rows_length_unknown + learn->totals_not_used > 0)
        efi_words_say(words, efi_tr("The findings name them one by one."));
}

static const char lockout[] = EFI_TR(
    "A length under the lock-out is no target: isolating, locking and, where "
    "somebody enters a bin, the permit and its air tests take their time; "
    "local rules come first.");

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
    if (learn->has_calendar)
        efi_words_say(&words,
                      efi_tr("Times between stops are hours of work by the scenario's calendar, without "
                             "the station's own stops; p is that of the fit (small: it does not fit), "
                             "\"taken\" a form that so few stops cannot show, ! marks what disagrees."));
    else
        efi_words_say(&words, efi_tr("Times between stops are hours of the clock where neither calendar nor "
                                     "totals tell running hours; p is that of the fit (small: it does not "
                                     "fit), \"taken\" a form that so few stops cannot show, ! marks what "
                                     "disagrees."));
    efi_words_say(&words, efi_tr("A log holds what was written down: short stops are often missing."));
    efi_paper_say(paper, EFI_NOTE, &words);
    efi_paper_goes_on(paper, EFI_CAUTION, efi_tr(lockout));
}

/* To the second where it is not a full minute. */
static efi_piece moment(int64_t moment_s)
{
    const int second = efi_moment_clock(moment_s) % 60;
    efi_piece piece = efi_piece_moment(moment_s);
    const size_t length = strlen(piece.words);
    if (second != 0)
        (void)snprintf(piece.words + length, sizeof piece.words - length, ":%02d", second);
    return piece;
}

ef_status ef_report_learn_text(const ef_learn *learn, ef_units units, char **text)
{
    efi_paper paper = {0};
    efi_text title = {0};
    efi_text_addf(&title, efi_tr("%s: %s, %s to %s"), learn->plant, learn->scenario_file,
                  moment(learn->since_s).words, moment(learn->until_s).words);
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
