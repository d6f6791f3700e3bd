/* SPDX-License-Identifier: GPL-3.0-or-later
 * A shift for a manager. */
#include "base/date.h"
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

void efi_shift_add_percent(efi_text *out, double share, int decimals)
{
    efi_number_add_fixed(out, share * 100.0, decimals);
    efi_text_add(out, " %");
}

void efi_shift_add_counted(efi_text *out, const ef_shift *shift)
{
    if (shift->on_calendar)
        efi_text_addf(out, "%d day%s", shift->days, shift->days == 1 ? "" : "s");
    else
        efi_text_add(out, "a shift");
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

static void add_middle(efi_text *out, const efi_shift_view *v, const ef_shift_group *group, bool first)
{
    const ef_shift_stream *product = &group->streams[1];
    const efi_display t = efi_display_choose(EFI_KIND_MASS, v->units, product->p90_t.value,
                                             v->shift->trade_weight_tpbu, NULL);
    efi_display_add(out, &t, product->p50_t.value);
    efi_text_add(out, first ? " in the middle, " : ", ");
    efi_display_add(out, &t, product->p10_t.value);
    efi_text_add(out, first ? " in a poor one and " : " and ");
    efi_display_add(out, &t, product->p90_t.value);
    efi_text_add(out, first ? " in a good one" : "");
}

/* "a shift of 8 h makes ...", "the early shift makes ...; the night shift ..." */
static void add_makes(efi_text *out, const efi_shift_view *v)
{
    const ef_shift *shift = v->shift;
    int named = 0;
    for (int g = 0; g < shift->group_count; g++)
        named += shift->groups[g].sort == EF_SHIFT_NAMED;
    bool first = true;
    for (int g = 0; g < shift->group_count; g++) {
        const ef_shift_group *group = &shift->groups[g];
        const bool all = group->sort == EF_SHIFT_ALL && (named == 0 || named > MOST_NAMES);
        if (!all && !(group->sort == EF_SHIFT_NAMED && named <= MOST_NAMES))
            continue;
        efi_text_add(out, first ? "" : "; ");
        if (group->sort == EF_SHIFT_NAMED) {
            efi_text_addf(out, "the %s shift%s ", group->name, first ? " makes" : "");
        } else {
            efi_text_addf(out, "a %s%sshift of ",
                          shift->on_calendar && named == 0 ? shift->periods[0].name : "",
                          shift->on_calendar && named == 0 ? " " : "");
            efi_display_add_duration(out, group->work_h);
            efi_text_add(out, " makes ");
        }
        add_middle(out, v, group, first);
        first = false;
    }
}

static void add_headline(efi_paper *paper, const efi_shift_view *v)
{
    const ef_shift *shift = v->shift;
    efi_text words = {0};
    efi_text_addf(&words, "On %s ", shift->crop);
    add_makes(&words, v);
    const ef_shift_station *account = &shift->stations[shift->account];
    const int worst = worst_hours(shift);
    if (worst >= 0) {
        efi_text_addf(&words, "; most lost hours go to %s (%s: %s), ",
                      ef_shift_hours_word((ef_shift_hours)worst), account->name,
                      ef_shift_hours_meaning((ef_shift_hours)worst));
        efi_display_add_duration(&words, account->hours[worst]);
        efi_text_add(&words, " in ");
        efi_shift_add_counted(&words, shift);
    }
    efi_text_add(&words, ".");
    efi_paper_say(paper, EFI_VERDICT, &words);
}

/* What it would be without stops, the rate to plan with, a week, the cost: one line each. */
static void add_summary(efi_paper *paper, const efi_shift_view *v)
{
    const ef_shift *shift = v->shift;
    efi_text words = {0};
    efi_text_add(&words, "Without stops a shift would make ");
    efi_display_add(&words, &v->t, shift->balance_product_t);
    efi_text_add(&words, ". For planning: ");
    efi_display_add_alone(&words, EFI_KIND_MASS_RATE, v->units, shift->planning_rate_tph,
                          shift->trade_weight_tpbu, NULL);
    efi_text_add(&words, " of intake in the hours of work, stops included.");
    for (int g = 0; g < shift->group_count; g++) {
        if (shift->groups[g].sort != EF_SHIFT_WEEK)
            continue;
        efi_text_add(&words, " A week makes ");
        add_middle(&words, v, &shift->groups[g], true);
        efi_text_add(&words, ".");
    }
    efi_paper_say(paper, EFI_VERDICT, &words);
    efi_paper_gap(paper);
}

/* ---- streams --------------------------------------------------------------------------------------------
 */

void efi_shift_add_estimate(efi_paper *paper, const efi_display *display, ef_shift_estimate estimate)
{
    efi_text cell = {0};
    efi_display_add_number(&cell, display, estimate.value);
    if (isfinite(estimate.low) && isfinite(estimate.high)) {
        efi_text_add(&cell, " (");
        efi_display_add_number(&cell, display, estimate.low);
        efi_text_add(&cell, estimate.low < 0.0 ? " to " : "-");
        efi_display_add_number(&cell, display, estimate.high);
        efi_text_add(&cell, ")");
    }
    efi_paper_take(paper, &cell);
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
    static const efi_column columns[] = {{"Stream", 'l', 0, false},
                                         {"Poor (P10)", 'r', 0, false},
                                         {"Middle (P50)", 'r', 0, false},
                                         {"Good (P90)", 'r', 0, false},
                                         {"Mean", 'r', 0, false}};
    const ef_shift_group *all = &v->shift->groups[0];
    efi_text caption = {0};
    efi_text_addf(&caption, "A shift's amounts in %s, with 95 %% confidence limits", v->t.name);
    efi_paper_table_say(paper, &(efi_table_form){.name = "amounts"}, &caption, columns, EF_COUNT(columns));
    for (int s = 0; s < all->stream_count; s++) {
        efi_paper_cell(paper, all->streams[s].name);
        add_amounts(paper, &v->t, &all->streams[s]);
    }
    efi_paper_gap(paper);
}

/* Product by shift, day and week. */
static void add_groups(efi_paper *paper, const efi_shift_view *v)
{
    static const efi_column columns[] = {{"Of", 'l', 0, false},           {"In a run", 'r', 0, false},
                                         {"Work", 'r', 0, false},         {"Poor (P10)", 'r', 0, false},
                                         {"Middle (P50)", 'r', 0, false}, {"Good (P90)", 'r', 0, false},
                                         {"Mean", 'r', 0, false}};
    const ef_shift *shift = v->shift;
    if (!shift->on_calendar)
        return;
    const ef_shift_group *last = &shift->groups[shift->group_count - 1];
    const efi_display t = efi_display_choose(EFI_KIND_MASS, v->units, last->streams[1].p90_t.value,
                                             shift->trade_weight_tpbu, NULL);
    efi_text caption = {0};
    efi_text_addf(&caption, "Product by shift, day and week, in %s; how many of them in ", t.name);
    efi_shift_add_counted(&caption, shift);
    efi_text_add(&caption, ", and their mean hours of work");
    efi_paper_table_say(paper, &(efi_table_form){.name = "days"}, &caption, columns, EF_COUNT(columns));
    for (int g = 0; g < shift->group_count; g++) {
        const ef_shift_group *group = &shift->groups[g];
        efi_paper_cell(paper, group->sort == EF_SHIFT_ALL ? "all shifts" : group->name);
        efi_paper_count(paper, group->per_run);
        efi_paper_duration(paper, group->work_h);
        add_amounts(paper, &t, &group->streams[1]);
    }
    efi_paper_gap(paper);
}

static void add_histogram(efi_paper *paper, const efi_shift_view *v)
{
    static const efi_column columns[] = {
        {"Product", 'r', 0, false}, {"Shifts", 'r', 0, false}, {"", 'l', 0, true}};
    const ef_shift *shift = v->shift;
    int most = 1;
    for (int c = 0; c < shift->histogram_count; c++)
        most = shift->histogram[c] > most ? shift->histogram[c] : most;
    if (!(shift->histogram_width_t > 0.0))
        return;
    efi_text caption = {0};
    efi_text_addf(&caption, "Shifts by product, in %s", v->t.name);
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

/* "10 min to 5 min", "1.9 t to 2.9 t" */
static void add_change(efi_paper *paper, const efi_shift_view *v, const ef_shift_remedy *remedy)
{
    efi_text cell = {0};
    const double values[] = {remedy->now, remedy->then};
    for (int i = 0; i < 2; i++) {
        efi_text_add(&cell, i ? " to " : "");
        if (remedy->stop)
            efi_display_add_duration(&cell, values[i]);
        else
            efi_display_add_alone(&cell, EFI_KIND_MASS, v->units, values[i], v->shift->trade_weight_tpbu,
                                  NULL);
    }
    if (remedy->held_by_lockout)
        efi_text_add(&cell, remedy->bin_entry_h > 0.0 ? " (lock-out and bin entry)" : " (lock-out)");
    efi_paper_take(paper, &cell);
}

static void add_remedies(efi_paper *paper, const efi_shift_view *v)
{
    const ef_shift *shift = v->shift;
    if (shift->remedy_count == 0)
        return;
    static const efi_table_form form = {
        .name = "remedies",
        .caption = "What to mend first: product a shift gained, on the same random numbers"};
    efi_text gain = {0};
    efi_text_addf(&gain, "Gain in %s", v->t.name);
    const efi_column columns[] = {
        {"Mend", 'l', 0, false}, {"From, to", 'l', 0, false}, {efi_text_get(&gain), 'r', 0, false}};
    efi_paper_table(paper, &form, columns, EF_COUNT(columns));
    efi_text_free(&gain);
    for (int i = 0; i < shift->remedy_count && i < MOST_REMEDIES; i++) {
        const ef_shift_remedy *remedy = &shift->remedies[i];
        efi_paper_cellf(paper, "%s: %s", remedy->station,
                        remedy->stop ? remedy->stop : "half as large again");
        add_change(paper, v, remedy);
        efi_shift_add_estimate(paper, &v->t, remedy->gain_t);
    }
    if (shift->remedy_count > MOST_REMEDIES)
        efi_paper_linef(paper, "... and %d more that gain less; --json and --csv have them all",
                        shift->remedy_count - MOST_REMEDIES);
    efi_paper_gap(paper);
}

/* ---- the whole ------------------------------------------------------------------------------------------
 */

static const char caution[] =
    "In what to mend first no stop is shortened below its lock-out plus, where somebody enters a bin, its "
    "bin "
    "entry (permit, air tests, harness). These are never hurried; local rules come first.";

static void add_title(efi_paper *paper, const ef_shift *shift)
{
    efi_text words = {0};
    efi_text_addf(&words, "%s: %s, ", shift->plant, shift->scenario_file);
    if (shift->on_calendar) {
        efi_text_addf(&words, "%d times the %d day%s from ", shift->runs, shift->days,
                      shift->days == 1 ? "" : "s");
        efi_date_add(&words, shift->from_day);
        efi_text_addf(&words, " with their %d shifts", shift->period_count);
    } else {
        efi_text_addf(&words, "%lld shifts", (long long)shift->runs * shift->period_count);
        if (shift->period_count > 1)
            efi_text_addf(&words, " in %d runs of %d", shift->runs, shift->period_count);
    }
    efi_text_addf(&words, ", seed %llu", (unsigned long long)shift->seed);
    efi_paper_title(paper, &words);
}

static void add_shifts_note(efi_text *notes, const ef_shift *shift)
{
    if (shift->period_count > 1)
        efi_text_addf(
            notes,
            "In each run %d shifts were simulated one after the other, ages and levels carried over, "
            "after a warm-up of ",
            shift->period_count);
    else
        efi_text_add(notes,
                     "Each shift was simulated on its own, from when work begins, after a warm-up of ");
    efi_display_add_duration(notes, shift->warm_up_h);
    if (shift->period_count > 1)
        efi_text_add(notes, "; limits come from the differences between runs");
    efi_text_add(notes, ". No calendar was used: no breaks or changes of lot are counted. ");
}

static void add_notes(efi_paper *paper, const ef_shift *shift)
{
    efi_text notes = {0};
    if (shift->precision > 0.0) {
        efi_text_add(&notes, "Mean and middle product of a shift are known to ");
        efi_shift_add_percent(&notes, shift->reached, 2);
        efi_text_add(&notes,
                     shift->precise ? ", as asked for with --precision " : "; --precision asked for ");
        efi_shift_add_percent(&notes, shift->precision, 2);
        efi_text_addf(&notes, shift->precise ? ", after %d runs. " : ", which all %d runs do not give. ",
                      shift->runs);
    }
    if (shift->on_calendar) {
        efi_text_add(&notes,
                     "Each run was simulated through the calendar on its own, ages and levels carried "
                     "over from shift to shift, after a week of warm-up by the calendar; limits come "
                     "from the differences between runs. Changes of lot are not counted. ");
    } else {
        add_shifts_note(&notes, shift);
    }
    efi_paper_say(paper, EFI_NOTE, &notes);
    efi_paper_goes_on(paper, EFI_CAUTION, caution);
}

/* A loop that has choked, once. */
static void add_choked(efi_paper *paper, const ef_shift *shift)
{
    efi_text words = {0};
    efi_text names = {0};
    if (shift->choked_runs == 0)
        return;
    for (int i = 0; i < shift->choked_count; i++)
        efi_text_addf(&names, "%s%s", i ? ", " : "", shift->choked[i]);
    efi_text_addf(
        &words,
        "A loop chokes in %d of %d runs: %s hold each other up, and nothing on it can move any more; its "
        "hours then count as blocked. What comes round needs room: a bin of its own, or a place before "
        "what is fresh. evenfeed trace shows when it happens.",
        shift->choked_runs, shift->runs, efi_text_get(&names));
    efi_text_free(&names);
    efi_paper_say(paper, EFI_WARNING, &words);
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
    add_choked(paper, shift);
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
