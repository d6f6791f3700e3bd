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

static void add_title(efi_text *out, const ef_shift_comparison *c)
{
    efi_text words = {0};
    efi_text_addf(&words, "Here %s: %s; there %s: %s; %d runs ", c->here->plant, c->here->scenario_file,
                  c->there->plant, c->there->scenario_file, c->here->runs);
    if (!c->here->on_calendar && c->here->period_count > 1)
        efi_text_addf(&words, "of %d shifts ", c->here->period_count);
    efi_text_addf(&words, "each on the same random numbers, seed %llu", (unsigned long long)c->here->seed);
    efi_report_wrap(out, efi_text_get(&words), 0, EFI_SHIFT_WIDTH);
    efi_text_free(&words);
    efi_text_add(out, "\n");
}

static void add_headline(efi_text *out, const ef_shift_comparison *c, const efi_shift_view *v)
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
    efi_report_wrap(out, efi_text_get(&words), 0, EFI_SHIFT_WIDTH);
    efi_text_free(&words);
    efi_text_add(out, "\n");
}

static void add_changes(efi_text *out, const ef_shift_comparison *c)
{
    if (c->change_count == 0) {
        efi_text_add(out, "  The two scenarios say the same.\n\n");
        return;
    }
    efi_text_add(out, "  What differs between the scenarios\n");
    efi_table table = {.columns = 3, .align = "lll"};
    efi_table_add(&table, "Key");
    efi_table_add(&table, "Here");
    efi_table_add(&table, "There");
    for (int i = 0; i < c->change_count; i++) {
        efi_table_add(&table, c->changes[i].path);
        efi_table_add(&table, c->changes[i].here ? c->changes[i].here : "(not given)");
        efi_table_add(&table, c->changes[i].there ? c->changes[i].there : "(not given)");
    }
    efi_table_print(&table, out, 2, true);
    if (c->more_changes > 0)
        efi_text_addf(out, "  ... and %d more\n", c->more_changes);
    efi_text_add(out, "\n");
}

static void add_amount(efi_table *table, const efi_display *t, bool is_given, double tonnes)
{
    efi_text cell = {0};
    if (is_given)
        efi_display_add_number(&cell, t, tonnes);
    efi_table_add(table, efi_text_get(&cell));
    efi_text_free(&cell);
}

static void add_streams(efi_text *out, const ef_shift_comparison *c, const efi_shift_view *v)
{
    efi_text words = {0};
    add_of(&words, c);
    efi_text_addf(out, "  Mean amounts of %s in %s, and the difference with 95 %% confidence limits\n",
                  efi_text_get(&words), v->t.name);
    efi_text_free(&words);
    efi_table table = {.columns = 4, .align = "lrrr"};
    efi_table_add(&table, "Stream");
    efi_table_add(&table, "Here");
    efi_table_add(&table, "There");
    efi_table_add(&table, "More here");
    for (int s = 0; s < c->stream_count; s++) {
        const ef_shift_difference *one = &c->streams[s];
        const double most_t = fmax(fabs(one->more_t.low), fabs(one->more_t.high));
        const efi_display fine = efi_display_choose(EFI_KIND_MASS, v->units, isfinite(most_t) ? most_t : 0.0,
                                                    c->here->trade_weight_tpbu, NULL);
        efi_table_add(&table, one->name);
        add_amount(&table, &v->t, one->is_here, one->here_t);
        add_amount(&table, &v->t, one->is_there, one->there_t);
        efi_text cell = {0};
        efi_display_add(&cell, &fine, one->more_t.value);
        efi_text_add(&cell, " (");
        efi_display_add_number(&cell, &fine, one->more_t.low);
        efi_text_add(&cell, " to ");
        efi_display_add_number(&cell, &fine, one->more_t.high);
        efi_text_add(&cell, ")");
        efi_table_add(&table, efi_text_get(&cell));
        efi_text_free(&cell);
    }
    efi_table_print(&table, out, 2, true);
    efi_text_add(out, "\n");
}

/* "starved -12 min, full rate +12 min"; false when nothing moves. */
static bool add_moves(efi_text *out, const ef_shift_station *here, const ef_shift_station *there)
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
    return any;
}

static void add_stations(efi_text *out, const ef_shift_comparison *c)
{
    efi_table table = {.columns = 2, .align = "ll"};
    efi_table_add(&table, "Station");
    efi_table_add(&table, "Here against there");
    bool any = false;
    for (int s = 0; s < c->station_count; s++) {
        const ef_shift_pair *pair = &c->stations[s];
        efi_text cell = {0};
        if (pair->there < 0)
            efi_text_add(&cell, "only here");
        else if (pair->here < 0)
            efi_text_add(&cell, "only there");
        else
            add_moves(&cell, &c->here->stations[pair->here], &c->there->stations[pair->there]);
        if (cell.length) {
            efi_table_add(&table, pair->name);
            efi_table_add(&table, efi_text_get(&cell));
            any = true;
        }
        efi_text_free(&cell);
    }
    if (any) {
        efi_text_add(out, "  Where the hours of ");
        efi_shift_add_counted(out, c->here);
        efi_text_add(out, " go otherwise, in the mean\n");
        efi_table_print(&table, out, 2, true);
        efi_text_add(out, "\n");
    }
    efi_text_free(&table.cells);
}

static void add_cost(efi_text *out, const ef_shift_comparison *c, const efi_shift_view *v)
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
        efi_report_wrap(out, efi_text_get(&words), 0, EFI_SHIFT_WIDTH);
    efi_text_free(&words);
}

ef_status ef_report_shift_comparison_text(const ef_shift_comparison *comparison, ef_units units, char **text)
{
    efi_text out = {0};
    const efi_shift_view v = efi_shift_view_of(comparison->here, units);
    add_title(&out, comparison);
    add_headline(&out, comparison, &v);
    add_changes(&out, comparison);
    add_streams(&out, comparison, &v);
    add_stations(&out, comparison);
    add_cost(&out, comparison, &v);
    return efi_report_give(&out, text);
}
