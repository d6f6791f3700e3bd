/* SPDX-License-Identifier: GPL-3.0-or-later
 * A shift for a manager. */
#include "base/tongue.h"
#include "report/shift_view.h"

#include <math.h>
#include <string.h>

enum {
    BAR = 40,
    MOST_REMEDIES = 8,
    MOST_NAMES = 3 /* of shifts, in the sentence to repeat */
};
#define LEAST_SHARE_SHOWN 0.0005

efi_shift_view efi_shift_view_of(const ef_shift *shift, ef_units units)
{
    return (efi_shift_view){.shift = shift,
                            .units = units,
                            .t = efi_display_choose(EFI_KIND_MASS, units,
                                                    shift->groups[0].streams[0].p90_t.value,
                                                    shift->trade_weight_tpbu, NULL)};
}

/* ---- the sentence to repeat -----------------------------------------------------------------------------
 */

/* The hours of the line's account that are most, closed times, breaks and full rate aside; -1 for none. */
static int worst_hours(const ef_shift *shift)
{
    const double *hours = shift->stations[shift->account].hours;
    int worst = -1;
    for (int h = EF_SHIFT_BREAK + 1; h < EF_SHIFT_FULL_RATE; h++)
        if (worst < 0 || hours[h] > hours[worst])
            worst = h;
    return hours[worst] / shift->counted_h >= LEAST_SHARE_SHOWN ? worst : -1;
}

/* What a poor, a middling and a good shift of a group make; in full the first time. */
static const char *middle_of(efi_paper *paper, const efi_shift_view *v, const ef_shift_group *group,
                             bool first)
{
    const ef_shift_stream *product = &group->streams[1];
    const efi_display t = efi_display_choose(EFI_KIND_MASS, v->units, product->p90_t.value,
                                             v->shift->trade_weight_tpbu, NULL);
    return efi_paper_phrase(paper,
                            first ? efi_tr("%s in the middle, %s in a poor one and %s in a good one")
                                  : efi_tr("%s, %s and %s"),
                            efi_piece_quantity(&t, product->p50_t.value).words,
                            efi_piece_quantity(&t, product->p10_t.value).words,
                            efi_piece_quantity(&t, product->p90_t.value).words);
}

/* "the early shift makes ..." */
static const char *group_makes(efi_paper *paper, const efi_shift_view *v, const ef_shift_group *group,
                               int named, bool first)
{
    const ef_shift *shift = v->shift;
    const char *middle = middle_of(paper, v, group, first);
    const efi_piece work = efi_piece_duration(group->work_h);
    if (group->sort == EF_SHIFT_NAMED)
        return efi_paper_phrase(paper, first ? efi_tr("the %s shift makes %s") : efi_tr("the %s shift %s"),
                                group->name, middle);
    if (shift->on_calendar && named == 0)
        return efi_paper_phrase(paper, efi_tr("a %s shift of %s makes %s"), shift->periods[0].name,
                                work.words, middle);
    return efi_paper_phrase(paper, efi_tr("a shift of %s makes %s"), work.words, middle);
}

/* "a shift of 8 h makes ...", "the early shift makes ...; the night shift ..." */
static const char *makes(efi_paper *paper, const efi_shift_view *v)
{
    const ef_shift *shift = v->shift;
    int named = 0;
    for (int g = 0; g < shift->group_count; g++)
        named += shift->groups[g].sort == EF_SHIFT_NAMED;
    const char *list = "";
    for (int g = 0; g < shift->group_count; g++) {
        const ef_shift_group *group = &shift->groups[g];
        const bool all = group->sort == EF_SHIFT_ALL && (named == 0 || named > MOST_NAMES);
        if (!all && !(group->sort == EF_SHIFT_NAMED && named <= MOST_NAMES))
            continue;
        list = efi_paper_phrase(paper, "%s%s%s", list, *list ? "; " : "",
                                group_makes(paper, v, group, named, !*list));
    }
    return list;
}

static void add_headline(efi_paper *paper, const efi_shift_view *v)
{
    const ef_shift *shift = v->shift;
    const ef_shift_station *account = &shift->stations[shift->account];
    const char *made = makes(paper, v);
    const int worst = worst_hours(shift);
    if (worst < 0) {
        efi_paper_wordsf(paper, EFI_VERDICT, efi_tr("On %s %s."), shift->crop, made);
        return;
    }
    const char *word = efi_tr(ef_shift_hours_word((ef_shift_hours)worst));
    const char *meaning = efi_tr(ef_shift_hours_meaning((ef_shift_hours)worst));
    const efi_piece hours = efi_piece_duration(account->hours[worst]);
    if (shift->on_calendar)
        efi_paper_wordsf(paper, EFI_VERDICT,
                         efi_tr_n("On %s %s; most lost hours go to %s (%s: %s), %s in %d day.",
                                  "On %s %s; most lost hours go to %s (%s: %s), %s in %d days.", shift->days),
                         shift->crop, made, word, account->name, meaning, hours.words, shift->days);
    else
        efi_paper_wordsf(paper, EFI_VERDICT,
                         efi_tr("On %s %s; most lost hours go to %s (%s: %s), %s in a shift."), shift->crop,
                         made, word, account->name, meaning, hours.words);
}

/* What it would be without stops, the rate to plan with, a week. */
static void add_summary(efi_paper *paper, const efi_shift_view *v)
{
    const ef_shift *shift = v->shift;
    efi_text words = {0};
    efi_text_addf(
        &words,
        efi_tr("Without stops a shift would make %s. For planning: %s of intake in the hours of work, stops "
               "included."),
        efi_piece_quantity(&v->t, shift->balance_product_t).words,
        efi_piece_alone(EFI_KIND_MASS_RATE, v->units, shift->planning_rate_tph, shift->trade_weight_tpbu,
                        NULL)
            .words);
    for (int g = 0; g < shift->group_count; g++)
        if (shift->groups[g].sort == EF_SHIFT_WEEK)
            efi_text_addf(&words, efi_tr(" A week makes %s."), middle_of(paper, v, &shift->groups[g], true));
    efi_paper_say(paper, EFI_VERDICT, &words);
    efi_paper_gap(paper);
}

/* ---- streams --------------------------------------------------------------------------------------------
 */

void efi_shift_add_estimate(efi_paper *paper, const efi_display *display, ef_shift_estimate estimate)
{
    const efi_piece value = efi_piece_number(display, estimate.value);
    const efi_piece low = efi_piece_number(display, estimate.low);
    const efi_piece high = efi_piece_number(display, estimate.high);
    if (!isfinite(estimate.low) || !isfinite(estimate.high))
        efi_paper_cell(paper, value.words);
    else if (estimate.low < 0.0)
        efi_paper_cellf(paper, efi_tr("%s (%s to %s)"), value.words, low.words, high.words);
    else
        efi_paper_cellf(paper, "%s (%s-%s)", value.words, low.words, high.words);
    efi_paper_value(paper, efi_display_value(display, estimate.value), display->decimals, display->name);
    efi_paper_limits(paper, efi_display_value(display, estimate.low),
                     efi_display_value(display, estimate.high));
}

/* A poor, a middling and a good one, and the mean. */
static void add_amounts(efi_paper *paper, const efi_display *t, const ef_shift_stream *stream)
{
    efi_shift_add_estimate(paper, t, stream->p10_t);
    efi_shift_add_estimate(paper, t, stream->p50_t);
    efi_shift_add_estimate(paper, t, stream->p90_t);
    efi_shift_add_estimate(paper, t, stream->mean_t);
}

static void add_streams(efi_paper *paper, const efi_shift_view *v)
{
    static const efi_column columns[] = {{EFI_TR("Stream"), 'l', 0, false},
                                         {EFI_TR("Poor (P10)"), 'r', 0, false},
                                         {EFI_TR("Middle (P50)"), 'r', 0, false},
                                         {EFI_TR("Good (P90)"), 'r', 0, false},
                                         {EFI_TR("Mean"), 'r', 0, false}};
    const ef_shift_group *all = &v->shift->groups[0];
    efi_text caption = {0};
    efi_text_addf(&caption, efi_tr("A shift's amounts in %s, with 95 %% confidence limits"), v->t.name);
    efi_paper_table_say(paper, &(efi_table_form){.name = "amounts"}, &caption, columns, EF_COUNT(columns));
    for (int s = 0; s < all->stream_count; s++) {
        efi_paper_cell(paper, s < 2 ? efi_tr(all->streams[s].name) : all->streams[s].name); /* then outlets */
        add_amounts(paper, &v->t, &all->streams[s]);
    }
    efi_paper_gap(paper);
}

/* Product by shift, day and week. */
static void add_groups(efi_paper *paper, const efi_shift_view *v)
{
    static const efi_column columns[] = {
        {EFI_TR("Of"), 'l', 0, false},           {EFI_TR("In a run"), 'r', 0, false},
        {EFI_TR("Work"), 'r', 0, false},         {EFI_TR("Poor (P10)"), 'r', 0, false},
        {EFI_TR("Middle (P50)"), 'r', 0, false}, {EFI_TR("Good (P90)"), 'r', 0, false},
        {EFI_TR("Mean"), 'r', 0, false}};
    const ef_shift *shift = v->shift;
    if (!shift->on_calendar)
        return;
    const ef_shift_group *last = &shift->groups[shift->group_count - 1];
    const efi_display t = efi_display_choose(EFI_KIND_MASS, v->units, last->streams[1].p90_t.value,
                                             shift->trade_weight_tpbu, NULL);
    efi_text caption = {0};
    efi_text_addf(
        &caption,
        efi_tr_n("Product by shift, day and week, in %s; how many of them in %d day, and their mean "
                 "hours of work",
                 "Product by shift, day and week, in %s; how many of them in %d days, and their mean "
                 "hours of work",
                 shift->days),
        t.name, shift->days);
    efi_paper_table_say(paper, &(efi_table_form){.name = "days"}, &caption, columns, EF_COUNT(columns));
    for (int g = 0; g < shift->group_count; g++) {
        const ef_shift_group *group = &shift->groups[g];
        efi_paper_cell(paper, group->sort == EF_SHIFT_ALL     ? efi_tr("all shifts")
                              : group->sort == EF_SHIFT_NAMED ? group->name
                                                              : efi_tr(group->name));
        efi_paper_count(paper, group->per_run);
        efi_paper_duration(paper, group->work_h);
        add_amounts(paper, &t, &group->streams[1]);
    }
    efi_paper_gap(paper);
}

static void add_histogram(efi_paper *paper, const efi_shift_view *v)
{
    static const efi_column columns[] = {
        {EFI_TR("Product"), 'r', 0, false}, {EFI_TR("Shifts"), 'r', 0, false}, {"", 'l', 0, true}};
    const ef_shift *shift = v->shift;
    int most = 1;
    for (int c = 0; c < shift->histogram_count; c++)
        most = shift->histogram[c] > most ? shift->histogram[c] : most;
    if (!(shift->histogram_width_t > 0.0))
        return;
    efi_text caption = {0};
    efi_text_addf(&caption, efi_tr("Shifts by product, in %s"), v->t.name);
    efi_paper_table_say(paper, &(efi_table_form){.name = "histogram", .bare = true}, &caption, columns,
                        EF_COUNT(columns));
    for (int c = 0; c < shift->histogram_count; c++) {
        const double from = shift->histogram_from_t + c * shift->histogram_width_t;
        efi_text cell = {0};
        efi_display_add_number(&cell, &v->t, from);
        efi_text_add(&cell, "-");
        efi_display_add_number(&cell, &v->t, from + shift->histogram_width_t);
        efi_paper_take(paper, &cell);
        efi_paper_count(paper, shift->histogram[c]);
        efi_text bar = {0};
        efi_text_fill(&bar, '#', (int)((double)shift->histogram[c] / most * BAR + 0.5));
        efi_paper_take(paper, &bar);
    }
    efi_paper_gap(paper);
}

/* ---- remedies -------------------------------------------------------------------------------------------
 */

static efi_piece remedy_piece(const efi_shift_view *v, const ef_shift_remedy *remedy, double value)
{
    return remedy->stop ? efi_piece_duration(value)
                        : efi_piece_alone(EFI_KIND_MASS, v->units, value, v->shift->trade_weight_tpbu, NULL);
}

/* "10 min to 5 min", "1.9 t to 2.9 t" */
static void add_change(efi_paper *paper, const efi_shift_view *v, const ef_shift_remedy *remedy)
{
    efi_paper_cellf(paper, remedy->held_by_lockout ? efi_tr("%s to %s (lock-out)") : efi_tr("%s to %s"),
                    remedy_piece(v, remedy, remedy->now).words, remedy_piece(v, remedy, remedy->then).words);
}

static void add_remedies(efi_paper *paper, const efi_shift_view *v)
{
    const ef_shift *shift = v->shift;
    if (shift->remedy_count == 0)
        return;
    static const efi_table_form form = {
        .name = "remedies",
        .caption = EFI_TR("What to mend first: product a shift gained, on the same random numbers")};
    efi_text gain = {0};
    efi_text_addf(&gain, efi_tr("Gain in %s"), v->t.name);
    const efi_column columns[] = {{EFI_TR("Mend"), 'l', 0, false},
                                  {EFI_TR("From, to"), 'l', 0, false},
                                  {efi_text_get(&gain), 'r', 0, false}};
    efi_paper_table(paper, &form, columns, EF_COUNT(columns));
    efi_text_free(&gain);
    for (int i = 0; i < shift->remedy_count && i < MOST_REMEDIES; i++) {
        const ef_shift_remedy *remedy = &shift->remedies[i];
        efi_paper_cellf(paper, "%s: %s", remedy->station,
                        remedy->stop ? remedy->stop : efi_tr("half as large again"));
        add_change(paper, v, remedy);
        efi_shift_add_estimate(paper, &v->t, remedy->gain_t);
    }
    if (shift->remedy_count > MOST_REMEDIES)
        efi_paper_linef(paper, efi_tr("... and %d more that gain less; --json and --csv have them all"),
                        shift->remedy_count - MOST_REMEDIES);
    efi_paper_gap(paper);
}

/* ---- the whole ------------------------------------------------------------------------------------------
 */

static const char caution[] = EFI_TR(
    "Stops are not shortened below their lock-out in what to mend first. What isolating, locking and, where "
    "somebody enters a bin, the permit and its air tests take belongs into that lock-out; local rules come "
    "first.");

static void add_title(efi_paper *paper, const ef_shift *shift)
{
    efi_text words = {0};
    const unsigned long long seed = shift->seed;
    const long long shifts = (long long)shift->runs * shift->period_count;
    if (shift->on_calendar)
        efi_text_addf(&words,
                      efi_tr_n("%s: %s, %d times the %d day from %s with their %d shifts, seed %llu",
                               "%s: %s, %d times the %d days from %s with their %d shifts, seed %llu",
                               shift->days),
                      shift->plant, shift->scenario_file, shift->runs, shift->days,
                      efi_piece_day(shift->from_day).words, shift->period_count, seed);
    else if (shift->period_count > 1)
        efi_text_addf(&words, efi_tr("%s: %s, %lld shifts in %d runs of %d, seed %llu"), shift->plant,
                      shift->scenario_file, shifts, shift->runs, shift->period_count, seed);
    else
        efi_text_addf(&words, efi_tr("%s: %s, %lld shifts, seed %llu"), shift->plant, shift->scenario_file,
                      shifts, seed);
    efi_paper_title(paper, &words);
}

static void add_shifts_note(efi_text *notes, const ef_shift *shift)
{
    const efi_piece warm_up = efi_piece_duration(shift->warm_up_h);
    if (shift->period_count > 1)
        efi_text_addf(
            notes,
            efi_tr("In each run %d shifts were simulated one after the other, ages and levels carried "
                   "over, after a warm-up of %s; limits come from the differences between runs. No "
                   "calendar was used: no breaks or changes of lot are counted. "),
            shift->period_count, warm_up.words);
    else
        efi_text_addf(
            notes,
            efi_tr("Each shift was simulated on its own, from when work begins, after a warm-up of %s. "
                   "No calendar was used: no breaks or changes of lot are counted. "),
            warm_up.words);
}

static void add_notes(efi_paper *paper, const ef_shift *shift)
{
    efi_text notes = {0};
    if (shift->precision > 0.0)
        efi_text_addf(&notes,
                      shift->precise
                          ? efi_tr("Mean and middle product of a shift are known to %s, as asked for "
                                   "with --precision %s, after %d runs. ")
                          : efi_tr("Mean and middle product of a shift are known to %s; --precision "
                                   "asked for %s, which all %d runs do not give. "),
                      efi_piece_percent(shift->reached, 2).words,
                      efi_piece_percent(shift->precision, 2).words, shift->runs);
    if (shift->on_calendar)
        efi_text_add(&notes,
                     efi_tr("Each run was simulated through the calendar on its own, ages and levels carried "
                            "over from shift to shift, after a week of warm-up by the calendar; limits come "
                            "from the differences between runs. Changes of lot are not counted. "));
    else
        add_shifts_note(&notes, shift);
    efi_paper_say(paper, EFI_NOTE, &notes);
    efi_paper_goes_on(paper, EFI_CAUTION, efi_tr(caution));
}

static void add_pictures(efi_paper *paper, const efi_shift_view *v)
{
    char *svg = NULL;
    if (!paper->with_pictures)
        return;
    efi_paper_picture(paper, "tonnes", ef_report_tonnes_svg(v->shift, v->units, &svg), &svg);
    efi_paper_picture(paper, "hours", ef_report_hours_svg(v->shift, &svg), &svg);
}

void efi_shift_put(efi_paper *paper, const ef_shift *shift, ef_units units)
{
    const efi_shift_view v = efi_shift_view_of(shift, units);
    add_title(paper, shift);
    efi_paper_heading(paper, 2, true, shift->crop);
    add_headline(paper, &v);
    add_summary(paper, &v);
    add_pictures(paper, &v);
    paper->depth = 1;
    add_streams(paper, &v);
    add_groups(paper, &v);
    efi_shift_add_hours(paper, &v);
    efi_shift_add_cost(paper, &v);
    add_remedies(paper, &v);
    efi_shift_add_levels(paper, &v);
    add_histogram(paper, &v);
    paper->depth = 0;
    add_notes(paper, shift);
}

ef_status ef_report_shift_text(const ef_shift *shift, ef_units units, char **text)
{
    efi_paper paper = {0};
    efi_shift_put(&paper, shift, units);
    return efi_paper_give_text(&paper, text);
}
