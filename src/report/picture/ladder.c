/* SPDX-License-Identifier: GPL-3.0-or-later
 * The ladder as bars: the rate with each set of purchases, what limits then, what to buy. */
#include "base/pieces.h"
#include "base/tongue.h"
#include "report/picture/frame.h"
#include "report/report.h"

#include <evenfeed/balance.h>
#include <math.h>

#define WIDTH 640.0
#define GAP   12.0 /* px between rungs */
#define BAR   14.0
#define LEFT  72.0

typedef struct ladder {
    const ef_balance *balance;
    const ef_balance_crop *crop;
    ef_units units;
    double tpbu;
    efi_display display; /* of the bars */
    efi_axis x;
    efi_text rungs; /* drawn before the axis, which needs to know where they end */
    efi_text *out;
} ladder;

static bool by_value(const ladder *l)
{
    return l->balance->aim == EF_BALANCE_VALUE;
}

/* Names of what limits: "Deck, power limit". */
static void add_limits(efi_text *words, const ladder *l, const ef_balance_rung *rung)
{
    int said = 0;
    efi_text names = {0};
    for (int s = 0; !rung && s < l->crop->station_count; s++)
        if (l->crop->stations[s].limits)
            efi_text_addf(&names, "%s%s", said++ ? ", " : "", l->crop->stations[s].name);
    if (!rung && l->crop->power_limits)
        efi_text_addf(&names, "%s%s", said++ ? ", " : "", efi_tr("power"));
    for (int i = 0; rung && i < rung->limit_count; i++)
        efi_text_addf(&names, "%s%s", said++ ? ", " : "",
                      rung->limits[i] ? rung->limits[i] : efi_tr("power"));
    if (said == 0)
        efi_text_add(words, efi_tr("nothing limits"));
    else
        efi_text_addf(words, efi_tr_n("%s limits", "%s limit", said), efi_text_get(&names));
    words->failed = words->failed || names.failed;
    efi_text_free(&names);
}

/* "Deck +1.5 t/h" */
static void add_purchase(efi_text *words, const ladder *l, const ef_balance_purchase *purchase)
{
    const efi_kind kind = !purchase->station    ? EFI_KIND_POWER
                          : purchase->by_volume ? EFI_KIND_VOLUME_RATE
                                                : EFI_KIND_MASS_RATE;
    efi_text_addf(words, "%s +%s", purchase->station ? purchase->station : efi_tr("power"),
                  efi_piece_alone(kind, l->units, purchase->more, l->tpbu, NULL).words);
}

static double value_of(const ladder *l, const ef_balance_rung *rung)
{
    if (by_value(l))
        return rung ? rung->value_per_h : l->crop->value_per_h;
    return rung ? rung->intake_tph : l->crop->intake.total_tph;
}

/* What to buy. */
static void add_purchases(efi_text *words, const ladder *l, const ef_balance_rung *rung)
{
    efi_text list = {0};
    for (int i = 0; rung && i < rung->purchase_count; i++) {
        efi_text_add(&list, i > 0 ? ", " : "");
        add_purchase(&list, l, &rung->purchases[i]);
    }
    if (rung)
        efi_text_addf(words, efi_tr("buy in all: %s"), efi_text_get(&list));
    else
        efi_text_add(words, efi_tr("the plant as it is"));
    words->failed = words->failed || list.failed;
    efi_text_free(&list);
}

/* One rung, words above its bar, purchases below; `rung` NULL: the plant as it is. Returns where it ends. */
static double draw_rung(const ladder *l, const ef_balance_rung *rung, int number, double top)
{
    const double value = value_of(l, rung);
    const double width = l->x.at_to - LEFT;
    efi_text words = {0};
    if (rung)
        efi_text_addf(&words, efi_tr("rung %d"), number);
    else
        efi_text_add(&words, efi_tr_in("ladder", "now"));
    efi_svg_text(l->out, LEFT - 8.0, top + 10.0, "end", "label", efi_text_get(&words));
    words.length = 0;
    efi_display_add(&words, &l->display, value);
    efi_text_add(&words, ": ");
    add_limits(&words, l, rung);
    const double bar = efi_frame_wrap(l->out, &efi_letters_label, LEFT, top + 10.0, width,
                                      efi_text_get(&words)) -
                       10.0;
    efi_frame_bar(l->out, rung ? "bar" : "bar now", LEFT, bar,
                  efi_axis_at(&l->x, efi_display_value(&l->display, value)), bar + BAR, efi_text_get(&words));
    words.length = 0;
    add_purchases(&words, l, rung);
    const double end = efi_frame_wrap(l->out, &efi_letters_note, LEFT, bar + BAR + 13.0, width,
                                      efi_text_get(&words));
    l->out->failed = l->out->failed || words.failed;
    efi_text_free(&words);
    return end - EFI_FRAME_LINE + GAP;
}

static void describe(const ladder *l, efi_text *words)
{
    efi_text limits = {0};
    add_limits(&limits, l, NULL);
    efi_text_addf(
        words,
        efi_tr("A bar for each rung of the ladder: what the line reaches with the purchases below it. "
               "Now %s, %s"),
        efi_piece_quantity(&l->display, value_of(l, NULL)).words, efi_text_get(&limits));
    for (int r = 0; r < l->crop->rung_count; r++) {
        limits.length = 0;
        add_limits(&limits, l, &l->crop->rungs[r]);
        efi_text_addf(words, efi_tr("; rung %d %s, %s"), r + 1,
                      efi_piece_quantity(&l->display, value_of(l, &l->crop->rungs[r])).words,
                      efi_text_get(&limits));
    }
    efi_text_add(words, ".");
    words->failed = words->failed || limits.failed;
    efi_text_free(&limits);
}

/* Draws all rungs, the first from `top` on; returns where they end. */
static double draw_rungs(const ladder *l, double top)
{
    double y = draw_rung(l, NULL, 0, top);
    for (int r = 0; r < l->crop->rung_count; r++)
        y = draw_rung(l, &l->crop->rungs[r], r + 1, y);
    return y;
}

static ef_status draw(ladder *l, char **text)
{
    const ef_balance_crop *crop = l->crop;
    efi_sheet sheet = {.width = WIDTH};
    double most = value_of(l, NULL);
    for (int r = 0; r < crop->rung_count; r++)
        most = fmax(most, value_of(l, &crop->rungs[r]));
    l->display = efi_display_choose(by_value(l) ? EFI_KIND_MONEY_PER_TIME : EFI_KIND_MASS_RATE, l->units,
                                    most, l->tpbu, l->balance->currency);
    l->x = efi_axis_make(0.0, efi_display_value(&l->display, most), LEFT, WIDTH - 24.0, 8, true);
    efi_text_addf(&sheet.title, efi_tr("What to enlarge next: %s"), crop->name);
    efi_text_add(&sheet.below, l->balance->plant);
    describe(l, &sheet.description);
    efi_sheet_begin(&sheet);
    efi_text words = {0};
    l->out = &l->rungs;
    const double bottom = draw_rungs(l, sheet.top);
    efi_text_addf(&words, by_value(l) ? efi_tr("value of the line, %s") : efi_tr("intake of the line, %s"),
                  l->display.name);
    efi_axis_draw_below(&sheet.out, &l->x, bottom, sheet.top - 4.0, efi_text_get(&words));
    efi_frame_take(&sheet.out, &l->rungs);
    sheet.out.failed = sheet.out.failed || words.failed;
    efi_text_free(&words);
    return efi_sheet_give(&sheet, bottom + EFI_AXIS_HEIGHT - 6.0, text);
}

ef_status ef_report_ladder_svg(const ef_balance *balance, int crop, ef_units units, char **text)
{
    if (crop < 0 || crop >= balance->crop_count)
        return EF_USAGE;
    if (balance->crops[crop].rung_count == 0)
        return EF_NO_ANSWER;
    ladder l = {.balance = balance, .crop = &balance->crops[crop], .units = units};
    l.tpbu = l.crop->has_trade_weight ? l.crop->trade_weight_tpbu : 0.0;
    return draw(&l, text);
}
