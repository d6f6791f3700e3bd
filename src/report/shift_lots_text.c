/* SPDX-License-Identifier: GPL-3.0-or-later
 * A list of lots for a manager: the sentence to repeat first. */
#include "base/tongue.h"
#include "report/season_view.h"
#include "report/shift_lots_view.h"
#include "report/shift_view.h"

#include <math.h>
#include <string.h>

/* Shares of the time under these are left out: of the line's account, and of single stations. */
#define LEAST_SHARE_SHOWN   0.0005
#define LEAST_STATION_SHARE 0.005

typedef efi_lots_view view;

/* ---- pieces ---------------------------------------------------------------------------------------------
 */

/* Of the lots of a list; of several lists that of all of them. */
static double shared_trade_weight(const ef_shift_lots *lots)
{
    const double first = lots->line_count > 0 ? shared_trade_weight(&lots->lines[0])
                                              : lots->lots[0].trade_weight_tpbu;
    for (int i = 1; i < lots->line_count; i++) {
        const double other = shared_trade_weight(&lots->lines[i]);
        if (other < first || other > first)
            return 0.0;
    }
    for (int k = 1; k < lots->lot_count && lots->line_count == 0; k++)
        if (lots->lots[k].trade_weight_tpbu < first || lots->lots[k].trade_weight_tpbu > first)
            return 0.0;
    return first;
}

efi_lots_view efi_lots_view_of(const ef_shift_lots *lots, ef_units units)
{
    return (efi_lots_view){.lots = lots, .units = units, .trade_weight_tpbu = shared_trade_weight(lots)};
}

static efi_piece quantity(const view *v, efi_kind kind, double value)
{
    return efi_piece_alone(kind, v->units, value, v->trade_weight_tpbu, NULL);
}

/* The moment so many hours after the beginning, to the minute at which it has passed. */
static int64_t moment_of(const ef_shift_lots *lots, double hours)
{
    return lots->from_moment_s + (int64_t)ceil(hours * 60.0 - 1e-6) * 60;
}

/* ---- the sentences to repeat ----------------------------------------------------------------------------
 */

/* Is it the same in all runs, to the minute? */
bool efi_lots_are_sure(const ef_shift_spread *hours)
{
    return hours->p90.value - hours->p10.value < 1.0 / 60.0;
}

static void add_hours(efi_paper *paper, const view *v)
{
    const ef_shift_lots *lots = v->lots;
    const efi_piece tonnes = quantity(v, EFI_KIND_MASS, lots->tonnes_t);
    const efi_piece middle = efi_piece_duration(lots->work_h.p50.value);
    if (efi_lots_are_sure(&lots->work_h))
        efi_paper_wordsf(paper, EFI_VERDICT,
                         efi_tr_n("The list of %d lot, %s, takes %s of work in every run.",
                                  "The list of %d lots, %s, takes %s of work in every run.", lots->lot_count),
                         lots->lot_count, tonnes.words, middle.words);
    else
        efi_paper_wordsf(
            paper, EFI_VERDICT,
            efi_tr_n("The list of %d lot, %s, takes %s of work in the middle, %s in a poor run and %s "
                     "in a good one.",
                     "The list of %d lots, %s, takes %s of work in the middle, %s in a poor run and %s "
                     "in a good one.",
                     lots->lot_count),
            lots->lot_count, tonnes.words, middle.words, efi_piece_duration(lots->work_h.p90.value).words,
            efi_piece_duration(lots->work_h.p10.value).words);
}

void efi_lots_add_dates(efi_paper *paper, const view *v)
{
    const ef_shift_lots *lots = v->lots;
    if (!lots->on_calendar)
        return;
    const efi_piece from = efi_piece_when(lots->from_moment_s);
    const efi_piece middle = efi_piece_when(moment_of(lots, lots->list_h.p50.value));
    if (efi_lots_are_sure(&lots->list_h))
        efi_paper_wordsf(paper, EFI_VERDICT, efi_tr("Begun on %s, it ends on %s."), from.words, middle.words);
    else
        efi_paper_wordsf(
            paper, EFI_VERDICT,
            efi_tr("Begun on %s, it has ended by %s in half of the runs and by %s in nine of ten."),
            from.words, middle.words, efi_piece_when(moment_of(lots, lots->list_h.p90.value)).words);
}

/* The hours of the line's account that are most, closed times, breaks and full rate aside; -1 for none. */
static int worst_hours(const ef_shift_lots *lots)
{
    const double *hours = lots->stations[lots->account].hours;
    int worst = -1;
    for (int h = EF_SHIFT_BREAK + 1; h < EF_SHIFT_FULL_RATE; h++)
        if (worst < 0 || hours[h] > hours[worst])
            worst = h;
    return hours[worst] > LEAST_SHARE_SHOWN * lots->list_h.mean.value ? worst : -1;
}

void efi_lots_add_shift(efi_paper *paper, const view *v)
{
    const ef_shift_lots *lots = v->lots;
    if (lots->period_count == 0) {
        efi_paper_words(
            paper, EFI_VERDICT,
            efi_tr("In some run no shift lies wholly within the list, so there are no tonnes of a shift."));
        return;
    }
    const ef_shift_stream *product = &lots->streams[1];
    efi_paper_wordsf(
        paper, EFI_VERDICT,
        efi_tr("A shift, of %s of work, makes %s in the middle, %s in a poor one and %s in a good one."),
        efi_piece_duration(lots->shift_work_h).words, quantity(v, EFI_KIND_MASS, product->p50_t.value).words,
        quantity(v, EFI_KIND_MASS, product->p10_t.value).words,
        quantity(v, EFI_KIND_MASS, product->p90_t.value).words);
}

static void add_worst(efi_paper *paper, const view *v)
{
    const ef_shift_lots *lots = v->lots;
    const ef_shift_lots_station *account = &lots->stations[lots->account];
    const int worst = worst_hours(lots);
    if (worst >= 0)
        efi_paper_wordsf(paper, EFI_VERDICT,
                         efi_tr("Most lost hours go to %s (%s: %s), %s in the whole list."),
                         efi_tr(ef_shift_hours_word((ef_shift_hours)worst)), account->name,
                         efi_tr(ef_shift_hours_meaning((ef_shift_hours)worst)),
                         efi_piece_duration(account->hours[worst]).words);
}

static void add_least(efi_paper *paper, const view *v)
{
    const ef_shift_lots *lots = v->lots;
    efi_paper_wordsf(
        paper, EFI_VERDICT,
        lots->line_clear
            ? efi_tr("Without stops the tonnes alone would take %s at the rates of the balance, and the "
                     "clean-downs %s more. With all of it the list makes %s of intake in the hours of work.")
            : efi_tr(
                  "Without stops the tonnes alone would take %s at the rates of the balance; the clean-downs "
                  "are %s of cleaning, part of it while other stations run. With all of it the list makes "
                  "%s of intake in the hours of work."),
        efi_piece_duration(lots->balance_h).words, efi_piece_duration(lots->clean_h).words,
        quantity(v, EFI_KIND_MASS_RATE, lots->rate_tph).words);
    efi_paper_gap(paper);
}

/* ---- tables ---------------------------------------------------------------------------------------------
 */

/* A moment, or without a calendar the hours since the beginning. */
void efi_lots_add_end(efi_paper *paper, const ef_shift_lots *lots, double hours)
{
    if (!lots->on_calendar) {
        efi_paper_duration(paper, hours);
        return;
    }
    const int64_t moment_s = moment_of(lots, hours);
    efi_paper_cellf(paper, "%s %s", efi_season_short_day(moment_s).words,
                    efi_piece_clock(efi_moment_clock(moment_s)).words);
    efi_paper_moment(paper, moment_s);
}

static void add_lots(efi_paper *paper, const view *v)
{
    static const efi_table_form form = {
        .name = "lots",
        .caption = EFI_TR("The lots in the order in which they run; work from the first in to the last out")};
    static const efi_column columns[] = {{EFI_TR("Lot"), 'l', 0, false},
                                         {EFI_TR("Crop"), 'l', 0, false},
                                         {EFI_TR_IN("lot", "Amount"), 'r', 0, false},
                                         {EFI_TR("Clean-down"), 'r', 0, false},
                                         {EFI_TR("Work"), 'r', 0, false},
                                         {EFI_TR("Rate"), 'r', 0, false},
                                         {EFI_TR("Ends (P50)"), 'r', 0, false},
                                         {EFI_TR("Poor: later"), 'r', 0, false}};
    const ef_shift_lots *lots = v->lots;
    efi_paper_table(paper, &form, columns, EF_COUNT(columns));
    for (int k = 0; k < lots->lot_count; k++) {
        const ef_shift_lot *lot = &lots->lots[k];
        const efi_display mass = efi_display_choose(EFI_KIND_MASS, v->units, lot->tonnes_t,
                                                    lot->trade_weight_tpbu, NULL);
        const efi_display rate = efi_display_choose(EFI_KIND_MASS_RATE, v->units, lot->rate_tph,
                                                    lot->trade_weight_tpbu, NULL);
        efi_paper_cell(paper, lot->name);
        efi_paper_cell(paper, lot->crop);
        efi_paper_show(paper, &mass, lot->tonnes_t);
        if (lot->clean_h > 0.0)
            efi_paper_duration(paper, lot->clean_h);
        else
            efi_paper_cell(paper, "");
        efi_paper_duration(paper, lot->work_h.p50.value);
        efi_paper_show(paper, &rate, lot->rate_tph);
        efi_lots_add_end(paper, lots, lot->end_h.p50.value);
        efi_paper_duration(paper, lot->end_h.p90.value - lot->end_h.p50.value);
    }
    efi_paper_gap(paper);
}

void efi_lots_add_streams(efi_paper *paper, const view *v)
{
    static const efi_column columns[] = {{EFI_TR("Stream"), 'l', 0, false},
                                         {EFI_TR("Poor (P10)"), 'r', 0, false},
                                         {EFI_TR("Middle (P50)"), 'r', 0, false},
                                         {EFI_TR("Good (P90)"), 'r', 0, false},
                                         {EFI_TR("Mean"), 'r', 0, false}};
    const ef_shift_lots *lots = v->lots;
    if (lots->period_count == 0)
        return;
    const efi_display t = efi_display_choose(EFI_KIND_MASS, v->units, lots->streams[0].p90_t.value,
                                             v->trade_weight_tpbu, NULL);
    efi_text caption = {0};
    efi_text_addf(
        &caption,
        efi_tr(
            "A shift's amounts in %s, with 95 %% confidence limits; shifts of each run that are counted: %d"),
        t.name, lots->period_count);
    efi_paper_table_say(paper, &(efi_table_form){.name = "amounts"}, &caption, columns, EF_COUNT(columns));
    for (int s = 0; s < lots->stream_count; s++) {
        const ef_shift_stream *stream = &lots->streams[s];
        efi_paper_cell(paper, s < 2 ? efi_tr(stream->name) : stream->name); /* then outlets */
        efi_shift_add_estimate(paper, &t, stream->p10_t);
        efi_shift_add_estimate(paper, &t, stream->p50_t);
        efi_shift_add_estimate(paper, &t, stream->p90_t);
        efi_shift_add_estimate(paper, &t, stream->mean_t);
    }
    efi_paper_gap(paper);
}

static void add_account(efi_paper *paper, const view *v)
{
    static const efi_column columns[] = {{EFI_TR("Hours"), 'l', 0, false},
                                         {EFI_TR("Time"), 'r', 0, false},
                                         {EFI_TR("Share"), 'r', 0, false},
                                         {EFI_TR("Meaning"), 'l', 0, false}};
    const ef_shift_lots *lots = v->lots;
    const ef_shift_lots_station *account = &lots->stations[lots->account];
    efi_text caption = {0};
    efi_text_addf(&caption, efi_tr("Where the hours of the list go, by %s, whose account is the line's"),
                  account->name);
    efi_paper_table_say(paper, &(efi_table_form){.name = "account", .bare = true}, &caption, columns,
                        EF_COUNT(columns));
    for (int h = 0; h < EF_SHIFT_HOURS_COUNT; h++) {
        const double share = account->hours[h] / lots->list_h.mean.value;
        if (share < LEAST_SHARE_SHOWN)
            continue;
        efi_paper_cell(paper, efi_tr(ef_shift_hours_word((ef_shift_hours)h)));
        efi_paper_duration(paper, account->hours[h]);
        efi_paper_percent(paper, share, 1);
        efi_paper_cell(paper, efi_tr(ef_shift_hours_meaning((ef_shift_hours)h)));
    }
    efi_paper_gap(paper);
}

/* What a station did in the hours of work, most first. */
static void add_most(efi_text *out, const ef_shift_lots *lots, const ef_shift_lots_station *station)
{
    const double work_h = lots->list_h.mean.value - station->hours[EF_SHIFT_CLOSED] -
                          station->hours[EF_SHIFT_BREAK];
    bool done[EF_SHIFT_HOURS_COUNT] = {[EF_SHIFT_CLOSED] = true, [EF_SHIFT_BREAK] = true};
    for (int said = 0; said < EF_SHIFT_HOURS_COUNT - 2; said++) {
        int best = -1;
        for (int h = 0; h < EF_SHIFT_HOURS_COUNT; h++)
            if (!done[h] && (best < 0 || station->hours[h] > station->hours[best]))
                best = h;
        if (!(station->hours[best] / work_h >= LEAST_STATION_SHARE))
            return;
        done[best] = true;
        efi_text_addf(out, "%s%s %s", said ? "\n" : "", efi_tr(ef_shift_hours_word((ef_shift_hours)best)),
                      efi_piece_percent(station->hours[best] / work_h, 1).words);
    }
}

static void add_stations(efi_paper *paper, const view *v)
{
    static const efi_table_form form = {
        .name = "hours", .caption = EFI_TR("What each station took and did"), .quiet = true};
    static const efi_column columns[] = {{EFI_TR("Station"), 'l', 0, false},
                                         {EFI_TR("Taken"), 'r', 0, false},
                                         {EFI_TR("Of the hours of work"), 'l', 70, false}};
    const ef_shift_lots *lots = v->lots;
    efi_paper_table(paper, &form, columns, EF_COUNT(columns));
    for (int s = 0; s < lots->station_count; s++) {
        const efi_display mass = efi_display_choose(EFI_KIND_MASS, v->units, lots->stations[s].taken_t,
                                                    v->trade_weight_tpbu, NULL);
        efi_text most = {0};
        efi_paper_cell(paper, lots->stations[s].name);
        efi_paper_show(paper, &mass, lots->stations[s].taken_t);
        add_most(&most, lots, &lots->stations[s]);
        efi_paper_take(paper, &most);
    }
    efi_paper_gap(paper);
}

/* ---- notes ----------------------------------------------------------------------------------------------
 */

static const char caution[] = EFI_TR(
    "The hours of a clean-down are those of the rules. What isolating, locking and, where somebody enters a "
    "bin, the permit and its air tests take belongs into them (see `least clean` and `bin entry`); local "
    "rules come first.");

static void add_left_out(efi_paper *paper, const ef_shift_lots *lots)
{
    efi_text words = {0};
    if (lots->left_out == 0)
        return;
    efi_text_addf(
        &words,
        lots->by_plan
            ? efi_tr("Not in the list: lots of the scenario that are done, or that the plan does not name "
                     "(%d). A running lot counts with what is left of it.")
            : efi_tr("Not in the list: lots of the scenario that are frozen, running or done (%d)."),
        lots->left_out);
    efi_paper_say(paper, EFI_NOTE, &words);
}

static void add_cleaning(efi_paper *paper, const ef_shift_lots *lots)
{
    efi_text words = {0};
    if (lots->cleared_after_all)
        efi_text_add(&words, efi_tr("No rule says how long one of the stations takes, so the whole line is "
                                    "cleaned: from when the "
                                    "last of a lot has left, and the next enters when it is over."));
    else if (lots->line_clear)
        efi_text_add(
            &words,
            efi_tr("Line clear: a clean-down begins when the last of a lot has left, and the next lot "
                   "enters when it is over."));
    else
        efi_text_addf(
            &words,
            efi_tr("Station by station: each is cleaned when it has ended a lot, %d at a time, and takes the "
                   "next lot when it is clean."),
            lots->teams);
    efi_paper_say(paper, EFI_NOTE, &words);
    efi_paper_goes_on(
        paper, EFI_NOTE,
        efi_tr("Clean-downs rest in breaks, closed times and while the whole plant is in maintenance. "
               "Flushed seed is not taken off the tonnes."));
}

/* Has any list several of them? */
static bool has_several_crops(const ef_shift_lots *lots)
{
    for (int i = 0; i < lots->line_count; i++)
        if (has_several_crops(&lots->lines[i]))
            return true;
    for (int k = 1; k < lots->lot_count && lots->line_count == 0; k++)
        if (strcmp(lots->lots[k].crop, lots->lots[0].crop) != 0)
            return true;
    return false;
}

void efi_lots_add_notes(efi_paper *paper, const view *v)
{
    const ef_shift_lots *lots = v->lots;
    efi_paper_words(
        paper, EFI_NOTE,
        efi_tr(
            "Each run begins with the line empty and clean and ends when the last of the last lot has left; "
            "the "
            "clean-down after it is not counted. A lot is there when its turn comes: arrivals, due dates and "
            "waits for a laboratory are the business of evenfeed season."));
    add_cleaning(paper, lots);
    add_left_out(paper, lots);
    if (has_several_crops(lots))
        efi_paper_words(paper, EFI_NOTE,
                        efi_tr("Each crop runs at the shares of its own steady balance. What does not change "
                               "with the lot is "
                               "that of the first crop that passes a station: stops after so many tonnes, "
                               "and where the product "
                               "of "
                               "a warm-up goes."));
    if (lots->has_loads)
        efi_paper_words(paper, EFI_NOTE, efi_tr("Loads at the intake are left out: the whole lot is there."));
    if (lots->has_batches)
        efi_paper_words(
            paper, EFI_NOTE,
            efi_tr("Batch machines take all the time what their batches make of it in the mean."));
    efi_paper_words(paper, EFI_CAUTION, efi_tr(caution));
}

/* ---- the whole ------------------------------------------------------------------------------------------
 */

static void add_title(efi_paper *paper, const ef_shift_lots *lots)
{
    efi_text words = {0};
    efi_text_addf(&words,
                  lots->by_plan
                      ? efi_tr("%s: %s, its lots in the order of a plan, %d runs, seed %llu")
                      : efi_tr("%s: %s, its waiting lots in the order of the scenario, %d runs, seed %llu"),
                  lots->plant, lots->scenario_file, lots->runs, (unsigned long long)lots->seed);
    efi_paper_title(paper, &words);
}

void efi_lots_put_list(efi_paper *paper, const efi_lots_view *v)
{
    add_hours(paper, v);
    efi_lots_add_dates(paper, v);
    efi_lots_add_shift(paper, v);
    add_worst(paper, v);
    add_least(paper, v);
    paper->depth = 1;
    add_lots(paper, v);
    efi_lots_add_streams(paper, v);
    add_account(paper, v);
    add_stations(paper, v);
    paper->depth = 0;
}

ef_status ef_report_shift_lots_text(const ef_shift_lots *lots, ef_units units, char **text)
{
    efi_paper paper = {0};
    const efi_lots_view v = efi_lots_view_of(lots, units);
    if (lots->line_count > 0) {
        efi_lots_put_lines(&paper, &v);
    } else {
        add_title(&paper, lots);
        efi_lots_put_list(&paper, &v);
        efi_lots_add_notes(&paper, &v);
    }
    return efi_paper_give_text(&paper, text);
}
