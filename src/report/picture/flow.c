/* SPDX-License-Identifier: GPL-3.0-or-later
 * The line as a picture: boxes for stations, strokes as wide as the t/h they carry. */
#include "report/picture/flow.h"
#include "base/base.h"
#include "report/picture/frame.h"
#include "report/report.h"

#include <math.h>

#define FOOT_HEIGHT 44.0 /* px */

static const char *const class_of[] = {"product", "reject", "returns"};
static const char *const stream_words[] = {"on to the product", "rejects and by-products", "goes back"};

const char *efi_stream_class(efi_stream_kind kind)
{
    return class_of[kind];
}

/* A rate in the unit of the picture, with digits that suit its own size. */
void efi_picture_add_rate(const efi_picture *p, efi_text *out, double rate_tph, bool with_unit)
{
    const double tpbu = p->crop->has_trade_weight ? p->crop->trade_weight_tpbu : 0.0;
    efi_display display;
    if (!efi_display_in(EFI_KIND_MASS_RATE, p->mass.name, rate_tph, tpbu, &display))
        display = p->mass;
    if (with_unit)
        efi_display_add(out, &display, rate_tph);
    else
        efi_display_add_number(out, &display, rate_tph);
}

/* ---- the whole ------------------------------------------------------------------------------------------
 */

static void write_rates_words(const efi_picture *p, efi_text *out)
{
    efi_picture_add_rate(p, out, p->crop->intake.total_tph, true);
    efi_text_add(out, " at the intake gives ");
    efi_picture_add_rate(p, out, p->crop->product.total_tph, true);
    efi_text_add(out, " of product");
}

/* Begins the sheet: heading, and in words what is drawn. */
static void begin(const efi_picture *p, double width, double height)
{
    efi_text title = {0};
    efi_text below = {0};
    efi_text words = {0};
    efi_text_addf(&title, "%s: %s", p->balance->plant, p->crop->name);
    write_rates_words(p, &below);
    efi_text_addf(&words, "The line as a flow diagram: %s.", efi_text_get(&below));
    for (int s = 0; s < p->crop->station_count; s++)
        if (p->crop->stations[s].limits)
            efi_text_addf(&words, " %s limits.", p->crop->stations[s].name);
    efi_frame_begin(p->out, width, height, efi_text_get(&title), efi_text_get(&below), efi_text_get(&words));
    p->out->failed = p->out->failed || title.failed || below.failed || words.failed;
    efi_text_free(&title);
    efi_text_free(&below);
    efi_text_free(&words);
}

/* Samples of the strokes, and what the widths mean. */
static void write_legend(const efi_picture *p, double y)
{
    double x = EFI_FRAME_MARGIN;
    for (int kind = EFI_TO_PRODUCT; kind <= EFI_RETURNS; kind++) {
        efi_text_addf(p->out, "<path class=\"stream %s\" stroke-width=\"5\" d=\"",
                      efi_stream_class((efi_stream_kind)kind));
        efi_svg_step(p->out, 'M', (double[]){x, y - 4.0}, 2);
        efi_svg_step(p->out, 'H', (double[]){x + 30.0}, 1);
        efi_text_add(p->out, "\"/>\n");
        efi_svg_text(p->out, x + 36.0, y, "start", "legend", stream_words[kind]);
        x += 36.0 + efi_svg_width(stream_words[kind], EFI_FRAME_NOTE) + 18.0;
    }
    efi_text words = {0};
    efi_text_addf(&words, "Numbers beside strokes: %s. The widest stroke is ", p->mass.name);
    efi_display_add(&words, &p->mass, p->largest_tph);
    efi_text_add(&words, "; a bar in a box shows its load.");
    efi_svg_text(p->out, EFI_FRAME_MARGIN, y + 16.0, "start", "legend", efi_text_get(&words));
    p->out->failed = p->out->failed || words.failed;
    efi_text_free(&words);
}

static ef_status draw(efi_picture *p)
{
    EF_TRY(efi_picture_make_boxes(p));
    EF_TRY(efi_picture_make_arrows(p));
    p->layers.gap_x = 22.0;
    p->layers.gap_y = 38.0;
    EF_TRY(efi_layers_place(&p->layers));
    const double width = fmax(480.0, p->layers.width + 2.0 * EFI_FRAME_MARGIN);
    const double height = EFI_FRAME_HEAD + p->layers.height + EFI_FRAME_MARGIN + FOOT_HEIGHT;
    begin(p, width, height);
    efi_text_add(p->out, "<g transform=\"translate(");
    efi_svg_number(p->out, 0.5 * (width - p->layers.width));
    efi_text_add(p->out, " ");
    efi_svg_number(p->out, EFI_FRAME_HEAD);
    efi_text_add(p->out, ")\">\n");
    for (int a = 0; a < p->layers.arrows; a++)
        efi_picture_draw_stroke(p, a);
    for (int s = 0; s < p->layers.boxes; s++)
        efi_picture_draw_box(p, s);
    EF_TRY(efi_picture_write_rates(p));
    efi_text_add(p->out, "</g>\n");
    write_legend(p, height - FOOT_HEIGHT + 18.0);
    efi_frame_end(p->out);
    return p->out->failed ? EF_MEMORY : EF_OK;
}

ef_status ef_report_flow_svg(const ef_balance *balance, int crop, ef_units units, char **text)
{
    if (crop < 0 || crop >= balance->crop_count)
        return EF_USAGE;
    efi_text out = {0};
    efi_picture p = {
        .balance = balance, .crop = &balance->crops[crop], .arena = efi_arena_new(), .out = &out};
    for (int s = 0; s < p.crop->station_count; s++)
        p.largest_tph = fmax(p.largest_tph, p.crop->stations[s].feed.total_tph);
    p.mass = efi_display_choose(EFI_KIND_MASS_RATE, units, p.largest_tph,
                                p.crop->has_trade_weight ? p.crop->trade_weight_tpbu : 0.0, NULL);
    ef_status status = !p.arena ? EF_MEMORY : p.largest_tph > 0.0 ? draw(&p) : EF_NO_ANSWER;
    efi_picture_free_boxes(&p);
    efi_layers_free(&p.layers);
    efi_arena_free(p.arena);
    if (status != EF_OK) {
        efi_text_free(&out);
        return status;
    }
    return efi_report_give(&out, text);
}
