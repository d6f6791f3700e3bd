/* SPDX-License-Identifier: GPL-3.0-or-later
 * Two plants on the same random numbers, as text. */
#include "base/tongue.h"
#include "report/shift_view.h"

#include <math.h>

#define LEAST_HOURS_SHOWN 0.01

/* Is it a shift that is compared, or all days of a run, since the numbers of shifts differ? */
static bool of_a_shift(const ef_shift_comparison *c)
{
    return c->shifts == c->here->period_count || !c->here->on_calendar;
}

static void add_title(efi_paper *paper, const ef_shift_comparison *c)
{
    efi_text words = {0};
    if (!c->here->on_calendar && c->here->period_count > 1)
        efi_text_addf(
            &words,
            efi_tr("Here %s: %s; there %s: %s; %d runs of %d shifts each on the same random numbers, "
                   "seed %llu"),
            c->here->plant, c->here->scenario_file, c->there->plant, c->there->scenario_file, c->here->runs,
            c->here->period_count, (unsigned long long)c->here->seed);
    else
        efi_text_addf(&words,
                      efi_tr("Here %s: %s; there %s: %s; %d runs each on the same random numbers, seed %llu"),
                      c->here->plant, c->here->scenario_file, c->there->plant, c->there->scenario_file,
                      c->here->runs, (unsigned long long)c->here->seed);
    efi_paper_title(paper, &words);
}

/* "On wheat a shift here makes 2 t of product more than there" */
static const char *more_of(efi_paper *paper, const ef_shift_comparison *c, const efi_display *t)
{
    const double more = c->streams[1].more_t.value;
    const efi_piece amount = efi_piece_quantity(t, fabs(more));
    if (of_a_shift(c))
        return efi_paper_phrase(paper,
                                more < 0.0 ? efi_tr("On %s a shift here makes %s of product less than there")
                                           : efi_tr("On %s a shift here makes %s of product more than there"),
                                c->here->crop, amount.words);
    return efi_paper_phrase(
        paper,
        more < 0.0 ? efi_tr_n("On %s %d day here makes %s of product less than there",
                              "On %s %d days here makes %s of product less than there", c->here->days)
                   : efi_tr_n("On %s %d day here makes %s of product more than there",
                              "On %s %d days here makes %s of product more than there", c->here->days),
        c->here->crop, c->here->days, amount.words);
}

static void add_headline(efi_paper *paper, const ef_shift_comparison *c, const efi_shift_view *v)
{
    const ef_shift_difference *product = &c->streams[1];
    const ef_shift_estimate more = product->more_t;
    const bool known = more.low > 0.0 || more.high < 0.0;
    const efi_display t = efi_display_choose(EFI_KIND_MASS, v->units, fmax(fabs(more.low), fabs(more.high)),
                                             c->here->trade_weight_tpbu, NULL);
    efi_text words = {0};
    efi_text_addf(&words, efi_tr("%s (%s to %s with 95 %% confidence): %s against %s in the mean. "),
                  more_of(paper, c, &t), efi_piece_number(&t, more.value < 0.0 ? -more.high : more.low).words,
                  efi_piece_number(&t, more.value < 0.0 ? -more.low : more.high).words,
                  efi_piece_quantity(&v->t, product->here_t).words,
                  efi_piece_quantity(&v->t, product->there_t).words);
    if (!known)
        efi_text_add(&words, efi_tr("That may be chance: more runs would tell. "));
    const efi_piece better = efi_piece_percent(c->better_share, 0);
    const efi_piece worse = efi_piece_percent(c->worse_share, 0);
    if (!c->here->on_calendar && c->here->period_count > 1)
        efi_text_addf(&words, efi_tr("It is more here in %s of the runs of %d shifts and less in %s."),
                      better.words, c->here->period_count, worse.words);
    else
        efi_text_addf(&words, efi_tr("It is more here in %s of the runs and less in %s."), better.words,
                      worse.words);
    efi_paper_say(paper, EFI_VERDICT, &words);
    efi_paper_gap(paper);
}

static void add_changes(efi_paper *paper, const ef_shift_comparison *c)
{
    static const efi_table_form form = {.name = "changes",
                                        .caption = EFI_TR("What differs between the scenarios")};
    static const efi_column columns[] = {
        {EFI_TR("Key"), 'l', 0, false}, {EFI_TR("Here"), 'l', 0, false}, {EFI_TR("There"), 'l', 0, false}};
    if (c->change_count == 0) {
        efi_paper_words(paper, EFI_DETAIL, efi_tr("The two scenarios say the same."));
        efi_paper_gap(paper);
        return;
    }
    efi_paper_table(paper, &form, columns, EF_COUNT(columns));
    for (int i = 0; i < c->change_count; i++) {
        efi_paper_cell(paper, c->changes[i].path);
        efi_paper_cell(paper, c->changes[i].here ? c->changes[i].here : efi_tr("(not given)"));
        efi_paper_cell(paper, c->changes[i].there ? c->changes[i].there : efi_tr("(not given)"));
    }
    if (c->more_changes > 0)
        efi_paper_linef(paper, efi_tr("... and %d more"), c->more_changes);
    efi_paper_gap(paper);
}

static void add_amount(efi_paper *paper, const efi_display *t, bool is_given, double tonnes)
{
    if (is_given)
        efi_paper_number(paper, t, tonnes);
    else
        efi_paper_cell(paper, NULL);
}

static void add_difference(efi_paper *paper, const efi_display *t, const ef_shift_estimate *more)
{
    efi_paper_cellf(paper, efi_tr("%s (%s to %s)"), efi_piece_quantity(t, more->value).words,
                    efi_piece_number(t, more->low).words, efi_piece_number(t, more->high).words);
    efi_paper_value(paper, efi_display_value(t, more->value), t->decimals, t->name);
    efi_paper_limits(paper, efi_display_value(t, more->low), efi_display_value(t, more->high));
}

static void add_streams(efi_paper *paper, const ef_shift_comparison *c, const efi_shift_view *v)
{
    static const efi_column columns[] = {{EFI_TR("Stream"), 'l', 0, false},
                                         {EFI_TR("Here"), 'r', 0, false},
                                         {EFI_TR("There"), 'r', 0, false},
                                         {EFI_TR("More here"), 'r', 0, false}};
    efi_text caption = {0};
    if (of_a_shift(c))
        efi_text_addf(
            &caption,
            efi_tr("Mean amounts of a shift in %s, and the difference with 95 %% confidence limits"),
            v->t.name);
    else
        efi_text_addf(
            &caption,
            efi_tr_n("Mean amounts of %d day in %s, and the difference with 95 %% confidence limits",
                     "Mean amounts of %d days in %s, and the difference with 95 %% confidence limits",
                     c->here->days),
            c->here->days, v->t.name);
    efi_paper_table_say(paper, &(efi_table_form){.name = "amounts"}, &caption, columns, EF_COUNT(columns));
    for (int s = 0; s < c->stream_count; s++) {
        const ef_shift_difference *one = &c->streams[s];
        const double most_t = fmax(fabs(one->more_t.low), fabs(one->more_t.high));
        const efi_display fine = efi_display_choose(EFI_KIND_MASS, v->units, isfinite(most_t) ? most_t : 0.0,
                                                    c->here->trade_weight_tpbu, NULL);
        efi_paper_cell(paper, s < 2 ? efi_tr(one->name) : one->name); /* then outlets */
        add_amount(paper, &v->t, one->is_here, one->here_t);
        add_amount(paper, &v->t, one->is_there, one->there_t);
        add_difference(paper, &fine, &one->more_t);
    }
    efi_paper_gap(paper);
}

/* "starved -12 min, full rate +12 min"; nothing when nothing moves. */
static void add_moves(efi_text *out, const ef_shift_station *here, const ef_shift_station *there)
{
    bool any = false;
    for (int h = 0; h < EF_SHIFT_HOURS_COUNT; h++) {
        const double more_h = here->hours[h] - there->hours[h];
        if (!(fabs(more_h) >= LEAST_HOURS_SHOWN))
            continue;
        efi_text_addf(out, "%s%s %s%s", any ? ", " : "", efi_tr(ef_shift_hours_word((ef_shift_hours)h)),
                      more_h < 0.0 ? "-" : "+", efi_piece_duration(fabs(more_h)).words);
        any = true;
    }
}

/* What of a station differs; empty for nothing. */
static void add_pair(efi_text *out, const ef_shift_comparison *c, const ef_shift_pair *pair)
{
    if (pair->there < 0)
        efi_text_add(out, efi_tr("only here"));
    else if (pair->here < 0)
        efi_text_add(out, efi_tr("only there"));
    else
        add_moves(out, &c->here->stations[pair->here], &c->there->stations[pair->there]);
}

static void begin_stations(efi_paper *paper, const ef_shift_comparison *c)
{
    static const efi_column columns[] = {{EFI_TR("Station"), 'l', 0, false},
                                         {EFI_TR("Here against there"), 'l', 0, false}};
    efi_text caption = {0};
    if (c->here->on_calendar)
        efi_text_addf(&caption,
                      efi_tr_n("Where the hours of %d day go otherwise, in the mean",
                               "Where the hours of %d days go otherwise, in the mean", c->here->days),
                      c->here->days);
    else
        efi_text_add(&caption, efi_tr("Where the hours of a shift go otherwise, in the mean"));
    efi_paper_table_say(paper, &(efi_table_form){.name = "hours"}, &caption, columns, EF_COUNT(columns));
}

static void add_stations(efi_paper *paper, const ef_shift_comparison *c)
{
    bool any = false;
    for (int s = 0; s < c->station_count; s++) {
        efi_text cell = {0};
        add_pair(&cell, c, &c->stations[s]);
        if (cell.length > 0 && !any)
            begin_stations(paper, c);
        if (cell.length > 0) {
            efi_paper_cell(paper, c->stations[s].name);
            efi_paper_take(paper, &cell);
            any = true;
        }
        paper->failed = paper->failed || cell.failed;
        efi_text_free(&cell);
    }
    if (any)
        efi_paper_gap(paper);
}

static void add_cost(efi_paper *paper, const ef_shift_comparison *c, const efi_shift_view *v)
{
    efi_piece costs[2];
    const ef_shift *sides[] = {c->here, c->there};
    for (int i = 0; i < 2; i++)
        costs[i] = efi_piece_alone(EFI_KIND_MONEY_PER_MASS, v->units, sides[i]->cost.per_t,
                                   sides[i]->trade_weight_tpbu, sides[i]->currency);
    if (*c->here->currency || *c->there->currency)
        efi_paper_wordsf(
            paper, EFI_DETAIL,
            efi_tr(
                "A tonne of product costs %s here and %s there to make, prices as each scenario gives them."),
            costs[0].words, costs[1].words);
}

ef_status ef_report_shift_comparison_text(const ef_shift_comparison *comparison, ef_units units, char **text)
{
    efi_paper paper = {0};
    const efi_shift_view v = efi_shift_view_of(comparison->here, units);
    add_title(&paper, comparison);
    add_headline(&paper, comparison, &v);
    paper.depth = 1;
    add_changes(&paper, comparison);
    add_streams(&paper, comparison, &v);
    add_stations(&paper, comparison);
    paper.depth = 0;
    add_cost(&paper, comparison, &v);
    return efi_paper_give_text(&paper, text);
}
