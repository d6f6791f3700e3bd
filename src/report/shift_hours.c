/* SPDX-License-Identifier: GPL-3.0-or-later
 * Of a shift: where the hours go, what a tonne costs, the levels of the bins. */
#include "base/tongue.h"
#include "report/shift_view.h"

#include <math.h>

enum {
    PICTURE = 60,    /* columns of a picture of levels */
    STEPS = 8,       /* heights of a block */
    OF_THE_TIME = 72 /* columns of what a station did */
};
/* Shares of the time under these are left out: of the line's account, and of single stations. */
#define LEAST_SHARE_SHOWN   0.0005
#define LEAST_STATION_SHARE 0.005

/* ---- hours ----------------------------------------------------------------------------------------------
 */

static void add_account(efi_paper *paper, const ef_shift *shift)
{
    static const efi_column columns[] = {{EFI_TR("Hours"), 'l', 0, false},
                                         {EFI_TR("Time"), 'r', 0, false},
                                         {EFI_TR("Share"), 'r', 0, false},
                                         {EFI_TR("Meaning"), 'l', 0, false}};
    const ef_shift_station *account = &shift->stations[shift->account];
    efi_text caption = {0};
    if (shift->on_calendar)
        efi_text_addf(&caption,
                      efi_tr_n("Where the hours of %d day go, by %s, whose account is the line's",
                               "Where the hours of %d days go, by %s, whose account is the line's",
                               shift->days),
                      shift->days, account->name);
    else
        efi_text_addf(&caption, efi_tr("Where the hours of a shift go, by %s, whose account is the line's"),
                      account->name);
    efi_paper_table_say(paper, &(efi_table_form){.name = "account", .bare = true}, &caption, columns,
                        EF_COUNT(columns));
    for (int h = 0; h < EF_SHIFT_HOURS_COUNT; h++) {
        if (account->hours[h] / shift->counted_h < LEAST_SHARE_SHOWN)
            continue;
        efi_paper_cell(paper, efi_tr(ef_shift_hours_word((ef_shift_hours)h)));
        efi_paper_duration(paper, account->hours[h]);
        efi_paper_percent(paper, account->hours[h] / shift->counted_h, 1);
        efi_paper_cell(paper, efi_tr(ef_shift_hours_meaning((ef_shift_hours)h)));
    }
}

static void add_effectiveness(efi_paper *paper, const ef_shift *shift)
{
    efi_paper_wordsf(
        paper, EFI_DETAIL,
        efi_tr("Availability %s, performance %s, quality %s: effectiveness %s (ISO 22400-2; what goes "
               "back in warm-up counts as not good)."),
        efi_piece_percent(shift->availability, 1).words, efi_piece_percent(shift->performance, 1).words,
        efi_piece_percent(shift->quality, 1).words, efi_piece_percent(shift->effectiveness, 1).words);
    efi_paper_gap(paper);
}

/* What a station did, an item each, most first: "full rate 81 %". */
static void add_most(efi_text *out, const ef_shift *shift, const ef_shift_station *station)
{
    bool done[EF_SHIFT_HOURS_COUNT] = {false};
    for (int said = 0; said < EF_SHIFT_HOURS_COUNT; said++) {
        int best = -1;
        for (int h = 0; h < EF_SHIFT_HOURS_COUNT; h++)
            if (!done[h] && (best < 0 || station->hours[h] > station->hours[best]))
                best = h;
        if (!(station->hours[best] / shift->counted_h >= LEAST_STATION_SHARE))
            return;
        done[best] = true;
        efi_text_addf(out, "%s%s %s", said ? "\n" : "", efi_tr(ef_shift_hours_word((ef_shift_hours)best)),
                      efi_piece_percent(station->hours[best] / shift->counted_h, 1).words);
    }
}

static void add_stations(efi_paper *paper, const efi_shift_view *v)
{
    static const efi_table_form form = {
        .name = "hours", .caption = EFI_TR("What each station took and did"), .quiet = true};
    static const efi_column columns[] = {{EFI_TR("Station"), 'l', 0, false},
                                         {EFI_TR("Taken"), 'r', 0, false},
                                         {EFI_TR("Of the time"), 'l', OF_THE_TIME, false}};
    const ef_shift *shift = v->shift;
    efi_paper_table(paper, &form, columns, EF_COUNT(columns));
    for (int s = 0; s < shift->station_count; s++) {
        const double taken_t = shift->stations[s].taken_t;
        const efi_display mass = efi_display_choose(EFI_KIND_MASS, v->units, taken_t,
                                                    shift->trade_weight_tpbu, NULL);
        efi_text most = {0};
        efi_paper_cell(paper, shift->stations[s].name);
        efi_paper_show(paper, &mass, taken_t);
        add_most(&most, shift, &shift->stations[s]);
        efi_paper_take(paper, &most);
    }
    efi_paper_gap(paper);
}

void efi_shift_add_hours(efi_paper *paper, const efi_shift_view *v)
{
    add_account(paper, v->shift);
    add_effectiveness(paper, v->shift);
    add_stations(paper, v);
}

/* ---- cost -----------------------------------------------------------------------------------------------
 */

static efi_piece money_piece(const efi_shift_view *v, efi_kind kind, double value)
{
    return efi_piece_alone(kind, v->units, value, v->shift->trade_weight_tpbu, v->shift->currency);
}

static efi_piece mass_piece(const efi_shift_view *v, double tonnes)
{
    return efi_piece_alone(EFI_KIND_MASS, v->units, tonnes, v->shift->trade_weight_tpbu, NULL);
}

static void add_money_cell(efi_paper *paper, const efi_shift_view *v, efi_kind kind, double value)
{
    const efi_display money = efi_display_choose(kind, v->units, value, v->shift->trade_weight_tpbu,
                                                 v->shift->currency);
    efi_paper_show(paper, &money, value);
}

/* One term: its name, what it is made of, the amount, and that for each tonne. */
static void add_term(efi_paper *paper, const efi_shift_view *v, const char *name, const char *from,
                     double money)
{
    const double product_t = v->shift->cost.product_t;
    efi_paper_cell(paper, name);
    efi_paper_cell(paper, from);
    add_money_cell(paper, v, EFI_KIND_MONEY, money);
    add_money_cell(paper, v, EFI_KIND_MONEY_PER_MASS, product_t > 0.0 ? money / product_t : NAN);
}

static const char *power_from(efi_paper *paper, const efi_shift_view *v)
{
    const ef_shift_cost *cost = &v->shift->cost;
    return efi_paper_phrase(paper, efi_tr("%s idle and %s by tonnes, at %s"),
                            efi_piece_alone(EFI_KIND_ENERGY, v->units, cost->idle_kwh, 0.0, NULL).words,
                            efi_piece_alone(EFI_KIND_ENERGY, v->units, cost->load_kwh, 0.0, NULL).words,
                            money_piece(v, EFI_KIND_MONEY_PER_ENERGY, cost->energy_price).words);
}

static const char *crew_from(efi_paper *paper, const efi_shift_view *v)
{
    const ef_shift_cost *cost = &v->shift->cost;
    const efi_piece paid = efi_piece_fixed(cost->paid_h, 1);
    const efi_piece price = money_piece(v, EFI_KIND_MONEY_PER_TIME, cost->labour_price);
    if (!(cost->extra > 0.0))
        return efi_paper_phrase(paper, efi_tr("%s paid hours at %s"), paid.words, price.words);
    return efi_paper_phrase(paper, efi_tr("%s paid hours at %s, and %s for overtime"), paid.words,
                            price.words, money_piece(v, EFI_KIND_MONEY, cost->extra).words);
}

static void add_terms(efi_paper *paper, const efi_shift_view *v)
{
    const ef_shift_cost *cost = &v->shift->cost;
    if (cost->has_energy_price)
        add_term(paper, v, efi_tr("power"), power_from(paper, v), cost->power);
    if (cost->has_labour_price || cost->extra > 0.0)
        add_term(paper, v, efi_tr("crew"), crew_from(paper, v), cost->crew);
    if (cost->has_receipt_price)
        add_term(paper, v, efi_tr("shrink"),
                 efi_paper_phrase(paper, efi_tr("%s not in the product, bought at %s"),
                                  mass_piece(v, cost->rejects_t).words,
                                  money_piece(v, EFI_KIND_MONEY_PER_MASS, cost->receipt_price).words),
                 cost->shrink);
    if (cost->has_reject_price)
        add_term(paper, v, efi_tr("less rejects"), efi_tr("what the rejects bring, each at its price"),
                 -cost->rejects);
    add_term(paper, v, efi_tr("together"),
             efi_paper_phrase(paper, efi_tr("for %s of product"), mass_piece(v, cost->product_t).words),
             cost->total);
}

static void add_missing(efi_paper *paper, const ef_shift_cost *cost)
{
    const bool has[] = {cost->has_energy_price, cost->has_labour_price, cost->has_receipt_price,
                        cost->has_reject_price};
    static const char *const words[] = {EFI_TR("\"energy price\" of the plant"),
                                        EFI_TR("\"labour price\" of the plant"),
                                        EFI_TR("\"price\" of the crop"), EFI_TR("\"price\" of the rejects")};
    const char *list = "";
    for (size_t i = 0; i < EF_COUNT(has); i++)
        if (!has[i])
            list = efi_paper_phrase(paper, "%s%s%s", list, *list ? ", " : "", efi_tr(words[i]));
    if (*list)
        efi_paper_wordsf(paper, EFI_NOTE, efi_tr("Not counted, for the scenario does not give it: %s."),
                         list);
}

void efi_shift_add_cost(efi_paper *paper, const efi_shift_view *v)
{
    const ef_shift_cost *cost = &v->shift->cost;
    if (!cost->has_energy_price && !cost->has_labour_price && !cost->has_receipt_price &&
        !cost->has_reject_price)
        return;
    static const efi_column columns[] = {{EFI_TR("Item"), 'l', 0, false},
                                         {EFI_TR("From"), 'l', 0, false},
                                         {EFI_TR("Amount"), 'r', 0, false},
                                         {EFI_TR("For each tonne"), 'r', 0, false}};
    efi_text caption = {0};
    if (v->shift->on_calendar)
        efi_text_addf(&caption,
                      efi_tr_n("What it costs to make the product, in %d day",
                               "What it costs to make the product, in %d days", v->shift->days),
                      v->shift->days);
    else
        efi_text_add(&caption, efi_tr("What it costs to make the product, in a shift"));
    efi_paper_table_say(paper, &(efi_table_form){.name = "cost", .bare = true}, &caption, columns,
                        EF_COUNT(columns));
    add_terms(paper, v);
    add_missing(paper, cost);
    efi_paper_gap(paper);
}

/* ---- levels ---------------------------------------------------------------------------------------------
 */

static void add_block(efi_text *out, double share)
{
    static const char *const blocks[STEPS + 1] = {"_", "▁", "▂", "▃", "▄", "▅", "▆", "▇", "█"};
    const int step = !(share > 0.0) ? 0 : share >= 1.0 ? STEPS : 1 + (int)(share * (STEPS - 1));
    efi_text_add(out, blocks[step]);
}

/* On the straight lines between the hours at which a level is known. */
static void add_picture(efi_paper *paper, const double *at_h, const double *level_t, int count, double hours,
                        double full_t)
{
    efi_text cell = {0};
    int i = 0;
    for (int column = 0; column < PICTURE; column++) {
        const double now_h = hours * (column + 0.5) / PICTURE;
        while (i + 2 < count && at_h[i + 1] <= now_h)
            i++;
        const double span_h = at_h[i + 1] - at_h[i];
        const double into = span_h > 0.0 ? (now_h - at_h[i]) / span_h : 0.0;
        add_block(&cell, (level_t[i] + into * (level_t[i + 1] - level_t[i])) / full_t);
    }
    efi_paper_take(paper, &cell);
}

void efi_shift_add_levels(efi_paper *paper, const efi_shift_view *v)
{
    static const efi_column columns[] = {{EFI_TR("Bin"), 'l', 0, false},
                                         {EFI_TR("Full"), 'r', 0, false},
                                         {EFI_TR("Level"), 'l', 0, false},
                                         {"", 'l', 0, true}};
    const ef_shift *shift = v->shift;
    if (shift->bin_count == 0)
        return;
    efi_text words = {0};
    if (shift->on_calendar)
        efi_text_addf(
            &words,
            efi_tr_n("Levels of the bins over %d day: the first run as a sample, and of %d runs the "
                     "level that one in ten exceeds (high), half (middle), nine in ten (low); _ is "
                     "empty and █ full",
                     "Levels of the bins over %d days: the first run as a sample, and of %d runs the "
                     "level that one in ten exceeds (high), half (middle), nine in ten (low); _ is "
                     "empty and █ full",
                     shift->days),
            shift->days, shift->envelope_runs);
    else
        efi_text_addf(&words,
                      efi_tr("Levels of the bins over a shift: the first run as a sample, and of %d runs the "
                             "level that one in ten exceeds (high), half (middle), nine in ten (low); _ is "
                             "empty and █ full"),
                      shift->envelope_runs);
    efi_paper_table_say(paper, &(efi_table_form){.name = "levels", .bare = true, .drawn = true}, &words,
                        columns, EF_COUNT(columns));
    for (int b = 0; b < shift->bin_count; b++) {
        const ef_shift_bin *bin = &shift->bins[b];
        const double *levels[] = {bin->sample_t, bin->p90_t, bin->p50_t, bin->p10_t};
        static const char *const names[] = {EFI_TR_IN("level", "sample"), EFI_TR_IN("level", "high"),
                                            EFI_TR_IN("level", "middle"), EFI_TR_IN("level", "low")};
        for (int k = 0; k < 4; k++) {
            efi_paper_cell(paper, k == 0 ? bin->name : "");
            efi_paper_cell(paper, k == 0 ? mass_piece(v, bin->full_t).words : "");
            efi_paper_cell(paper, efi_tr(names[k]));
            add_picture(paper, k == 0 ? shift->sample_h : shift->grid_h, levels[k],
                        k == 0 ? shift->sample_count : shift->grid_count, shift->counted_h, bin->full_t);
        }
    }
    efi_paper_gap(paper);
}
