/* SPDX-License-Identifier: GPL-3.0-or-later
 * Two plants on the same random numbers, as text. */
#include "report/shift_view.h"

#include <math.h>

#define LEAST_HOURS_SHOWN 0.01

/* "a shift", or "7 days" where the numbers of shifts differ. */
static void add_of(efi_text *out, const ef_shift_comparison *c)
{
    if (c->shifts == c->here->period_count)
        efi_text_add(out, "a shift");
    else
        efi_shift_add_counted(out, c->here);
}

static void add_title(efi_paper *paper, const ef_shift_comparison *c)
{
    efi_text words = {0};
    efi_text_addf(&words, "Here %s: %s; there %s: %s; %d runs ", c->here->plant, c->here->scenario_file,
                  c->there->plant, c->there->scenario_file, c->here->runs);
    if (!c->here->on_calendar && c->here->period_count > 1)
        efi_text_addf(&words, "of %d shifts ", c->here->period_count);
    efi_text_addf(&words, "each on the same random numbers, seed %llu", (unsigned long long)c->here->seed);
    efi_paper_title(paper, &words);
}

static void add_headline(efi_paper *paper, const ef_shift_comparison *c, const efi_shift_view *v)
{
    const ef_shift_difference *product = &c->streams[1];
    const ef_shift_estimate more = product->more_t;
    const bool known = more.low > 0.0 || more.high < 0.0;
    const efi_display t = efi_display_choose(EFI_KIND_MASS, v->units, fmax(fabs(more.low), fabs(more.high)),
                                             c->here->trade_weight_tpbu, NULL);
    efi_text words = {0};
    efi_text_addf(&words, "On %s ", c->here->crop);
    add_of(&words, c);
    efi_text_add(&words, " here makes ");
    efi_display_add(&words, &t, fabs(more.value));
    efi_text_add(&words,
                 more.value < 0.0 ? " of product less than there (" : " of product more than there (");
    efi_display_add_number(&words, &t, more.value < 0.0 ? -more.high : more.low);
    efi_text_add(&words, " to ");
    efi_display_add_number(&words, &t, more.value < 0.0 ? -more.low : more.high);
    efi_text_add(&words, " with 95 % confidence): ");
    efi_display_add(&words, &v->t, product->here_t);
    efi_text_add(&words, " against ");
    efi_display_add(&words, &v->t, product->there_t);
    efi_text_add(&words, " in the mean. ");
    if (!known)
        efi_text_add(&words, "That may be chance: more runs would tell. ");
    efi_text_add(&words, "It is more here in ");
    efi_shift_add_percent(&words, c->better_share, 0);
    efi_text_add(&words, " of the runs");
    if (!c->here->on_calendar && c->here->period_count > 1)
        efi_text_addf(&words, " of %d shifts", c->here->period_count);
    efi_text_add(&words, " and less in ");
    efi_shift_add_percent(&words, c->worse_share, 0);
    efi_text_add(&words, ".");
    efi_paper_say(paper, EFI_VERDICT, &words);
    efi_paper_gap(paper);
}

static void add_changes(efi_paper *paper, const ef_shift_comparison *c)
{
    static const efi_table_form form = {.name = "changes", .caption = "What differs between the scenarios"};
    static const efi_column columns[] = {
        {"Key", 'l', 0, false}, {"Here", 'l', 0, false}, {"There", 'l', 0, false}};
    if (c->change_count == 0) {
        efi_paper_words(paper, EFI_DETAIL, "The two scenarios say the same.");
        efi_paper_gap(paper);
        return;
    }
    efi_paper_table(paper, &form, columns, EF_COUNT(columns));
    for (int i = 0; i < c->change_count; i++) {
        efi_paper_cell(paper, c->changes[i].path);
        efi_paper_cell(paper, c->changes[i].here ? c->changes[i].here : "(not given)");
        efi_paper_cell(paper, c->changes[i].there ? c->changes[i].there : "(not given)");
    }
    if (c->more_changes > 0)
        efi_paper_linef(paper, "... and %d more", c->more_changes);
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
    efi_text cell = {0};
    efi_display_add(&cell, t, more->value);
    efi_text_add(&cell, " (");
    efi_display_add_number(&cell, t, more->low);
    efi_text_add(&cell, " to ");
    efi_display_add_number(&cell, t, more->high);
    efi_text_add(&cell, ")");
    efi_paper_take(paper, &cell);
    efi_paper_value(paper, efi_display_value(t, more->value), t->decimals, t->name);
    efi_paper_limits(paper, efi_display_value(t, more->low), efi_display_value(t, more->high));
}

static void add_streams(efi_paper *paper, const ef_shift_comparison *c, const efi_shift_view *v)
{
    static const efi_column columns[] = {{"Stream", 'l', 0, false},
                                         {"Here", 'r', 0, false},
                                         {"There", 'r', 0, false},
                                         {"More here", 'r', 0, false}};
    efi_text caption = {0};
    efi_text_add(&caption, "Mean amounts of ");
    add_of(&caption, c);
    efi_text_addf(&caption, " in %s, and the difference with 95 %% confidence limits", v->t.name);
    efi_paper_table_say(paper, &(efi_table_form){.name = "amounts"}, &caption, columns, EF_COUNT(columns));
    for (int s = 0; s < c->stream_count; s++) {
        const ef_shift_difference *one = &c->streams[s];
        const double most_t = fmax(fabs(one->more_t.low), fabs(one->more_t.high));
        const efi_display fine = efi_display_choose(EFI_KIND_MASS, v->units, isfinite(most_t) ? most_t : 0.0,
                                                    c->here->trade_weight_tpbu, NULL);
        efi_paper_cell(paper, one->name);
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
        efi_text_addf(out, "%s%s %s", any ? ", " : "", ef_shift_hours_word((ef_shift_hours)h),
                      more_h < 0.0 ? "-" : "+");
        efi_display_add_duration(out, fabs(more_h));
        any = true;
    }
}

/* What of a station differs; empty for nothing. */
static void add_pair(efi_text *out, const ef_shift_comparison *c, const ef_shift_pair *pair)
{
    if (pair->there < 0)
        efi_text_add(out, "only here");
    else if (pair->here < 0)
        efi_text_add(out, "only there");
    else
        add_moves(out, &c->here->stations[pair->here], &c->there->stations[pair->there]);
}

static void begin_stations(efi_paper *paper, const ef_shift_comparison *c)
{
    static const efi_column columns[] = {{"Station", 'l', 0, false}, {"Here against there", 'l', 0, false}};
    efi_text caption = {0};
    efi_text_add(&caption, "Where the hours of ");
    efi_shift_add_counted(&caption, c->here);
    efi_text_add(&caption, " go otherwise, in the mean");
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
    const ef_shift *sides[] = {c->here, c->there};
    efi_text words = {0};
    efi_text_add(&words, "A tonne of product costs ");
    for (int i = 0; i < 2; i++) {
        efi_text_add(&words, i ? " here and " : "");
        efi_display_add_alone(&words, EFI_KIND_MONEY_PER_MASS, v->units, sides[i]->cost.per_t,
                              sides[i]->trade_weight_tpbu, sides[i]->currency);
    }
    efi_text_add(&words, " there to make, prices as each scenario gives them.");
    if (*c->here->currency || *c->there->currency)
        efi_paper_words(paper, EFI_DETAIL, efi_text_get(&words));
    paper->failed = paper->failed || words.failed;
    efi_text_free(&words);
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
