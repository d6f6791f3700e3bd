/* SPDX-License-Identifier: GPL-3.0-or-later
 * The ladder as bars: the rate with each set of purchases, what limits then, what to buy. */
#include "base/display.h"
#include "report/picture/frame.h"
#include "report/report.h"

#include <evenfeed/balance.h>
#include <math.h>

#define WIDTH 640.0
#define ROW   33.0 /* of a rung, without the lines of its purchases */
#define LINE  13.0
#define BAR   16.0
#define LEFT  64.0

typedef struct ladder {
    const ef_balance *balance;
    const ef_balance_crop *crop;
    ef_units units;
    double tpbu;
    efi_display display; /* of the bars */
    efi_axis x;
    efi_text *out;
} ladder;

static bool by_value(const ladder *l)
{
    return l->balance->aim == EF_BALANCE_VALUE;
}

/* Names of what limits, with commas. */
static void add_limits(efi_text *words, const ladder *l, const ef_balance_rung *rung)
{
    int said = 0;
    for (int s = 0; !rung && s < l->crop->station_count; s++)
        if (l->crop->stations[s].limits)
            efi_text_addf(words, "%s%s", said++ ? ", " : "", l->crop->stations[s].name);
    if (!rung && l->crop->power_limits)
        efi_text_addf(words, "%spower", said++ ? ", " : "");
    for (int i = 0; rung && i < rung->limit_count; i++)
        efi_text_addf(words, "%s%s", said++ ? ", " : "", rung->limits[i] ? rung->limits[i] : "power");
    if (said == 0)
        efi_text_add(words, "nothing");
    efi_text_add(words, said > 1 ? " limit" : " limits");
}

/* "Deck +1.5 t/h" */
static void add_purchase(efi_text *words, const ladder *l, const ef_balance_purchase *purchase)
{
    const efi_kind kind = !purchase->station    ? EFI_KIND_POWER
                          : purchase->by_volume ? EFI_KIND_VOLUME_RATE
                                                : EFI_KIND_MASS_RATE;
    efi_text_addf(words, "%s +", purchase->station ? purchase->station : "power");
    efi_display_add_alone(words, kind, l->units, purchase->more, l->tpbu, NULL);
}

/* Writes what to buy below a bar, in as many lines as it takes; returns the height of those after the first.
 * `measure`: writes nothing. */
static double write_purchases(const ladder *l, const ef_balance_rung *rung, double y, bool measure)
{
    efi_text line = {0};
    double more = 0.0;
    efi_text_add(&line, rung ? "buy in all: " : "the plant as it is");
    for (int i = 0; rung && i < rung->purchase_count; i++) {
        efi_text part = {0};
        add_purchase(&part, l, &rung->purchases[i]);
        efi_text_add(&part, i + 1 < rung->purchase_count ? ", " : "");
        const double width = efi_svg_width(efi_text_get(&line), EFI_FRAME_NOTE) +
                             efi_svg_width(efi_text_get(&part), EFI_FRAME_NOTE);
        if (i > 0 && LEFT + width > WIDTH - EFI_FRAME_MARGIN) {
            if (!measure)
                efi_svg_text(l->out, LEFT, y + more, "start", "note", efi_text_get(&line));
            line.length = 0;
            more += LINE;
        }
        efi_text_add(&line, efi_text_get(&part));
        line.failed = line.failed || part.failed;
        efi_text_free(&part);
    }
    if (!measure)
        efi_svg_text(l->out, LEFT, y + more, "start", "note", efi_text_get(&line));
    l->out->failed = l->out->failed || line.failed;
    efi_text_free(&line);
    return more;
}

/* One rung; `rung` NULL: the plant as it is. */
static void draw_rung(const ladder *l, const ef_balance_rung *rung, int number, double top)
{
    const double value = by_value(l) ? (rung ? rung->value_per_h : l->crop->value_per_h)
                                     : (rung ? rung->intake_tph : l->crop->intake.total_tph);
    const double right = efi_axis_at(&l->x, efi_display_value(&l->display, value));
    efi_text words = {0};
    if (rung)
        efi_text_addf(&words, "rung %d", number);
    else
        efi_text_add(&words, "now");
    efi_svg_text(l->out, LEFT - 8.0, top + 13.0, "end", "label", efi_text_get(&words));
    words.length = 0;
    efi_display_add(&words, &l->display, value);
    efi_text_add(&words, ": ");
    add_limits(&words, l, rung);
    efi_frame_bar(l->out, rung ? "bar" : "bar now", LEFT, top, right, top + BAR, efi_text_get(&words));
    const bool inside = right > LEFT + 0.55 * (l->x.at_to - LEFT);
    efi_svg_text(l->out, inside ? right - 6.0 : right + 6.0, top + 12.5, inside ? "end" : "start",
                 inside ? "inside" : "label", efi_text_get(&words));
    (void)write_purchases(l, rung, top + BAR + LINE, false);
    l->out->failed = l->out->failed || words.failed;
    efi_text_free(&words);
}

static void draw(ladder *l)
{
    const ef_balance_crop *crop = l->crop;
    double bottom = EFI_FRAME_HEAD + ROW + LINE;
    for (int r = 0; r < crop->rung_count; r++)
        bottom += ROW + LINE + write_purchases(l, &crop->rungs[r], 0.0, true);
    double most = by_value(l) ? crop->value_per_h : crop->intake.total_tph;
    for (int r = 0; r < crop->rung_count; r++)
        most = fmax(most, by_value(l) ? crop->rungs[r].value_per_h : crop->rungs[r].intake_tph);
    l->display = efi_display_choose(by_value(l) ? EFI_KIND_MONEY_PER_TIME : EFI_KIND_MASS_RATE, l->units,
                                    most, l->tpbu, l->balance->currency);
    l->x = efi_axis_make(0.0, efi_display_value(&l->display, most), LEFT, WIDTH - 24.0, 8, true);
    efi_text title = {0};
    efi_text words = {0};
    efi_text_addf(&title, "What to enlarge next: %s", crop->name);
    efi_text_addf(&words, "%s of the line, %s", by_value(l) ? "value" : "intake", l->display.name);
    efi_frame_begin(l->out, WIDTH, bottom + 36.0, efi_text_get(&title), l->balance->plant,
                    "A bar for each rung of the ladder: what the line reaches with the purchases below it.");
    efi_axis_draw_below(l->out, &l->x, bottom, EFI_FRAME_HEAD - 4.0, efi_text_get(&words));
    draw_rung(l, NULL, 0, EFI_FRAME_HEAD);
    double top = EFI_FRAME_HEAD + ROW + LINE;
    for (int r = 0; r < crop->rung_count; r++) {
        draw_rung(l, &crop->rungs[r], r + 1, top);
        top += ROW + LINE + write_purchases(l, &crop->rungs[r], 0.0, true);
    }
    efi_frame_end(l->out);
    l->out->failed = l->out->failed || title.failed || words.failed;
    efi_text_free(&title);
    efi_text_free(&words);
}

ef_status ef_report_ladder_svg(const ef_balance *balance, int crop, ef_units units, char **text)
{
    if (crop < 0 || crop >= balance->crop_count)
        return EF_USAGE;
    if (balance->crops[crop].rung_count == 0)
        return EF_NO_ANSWER;
    efi_text out = {0};
    ladder l = {.balance = balance, .crop = &balance->crops[crop], .units = units, .out = &out};
    l.tpbu = l.crop->has_trade_weight ? l.crop->trade_weight_tpbu : 0.0;
    draw(&l);
    return efi_report_give(&out, text);
}
