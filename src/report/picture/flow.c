/* SPDX-License-Identifier: GPL-3.0-or-later
 * The line as a picture: boxes for stations, strokes as wide as the t/h they carry. */
#include "report/picture/flow.h"
#include "base/base.h"
#include "report/report.h"

#include <math.h>

#define MARGIN      14.0
#define HEAD_HEIGHT 46.0
#define FOOT_HEIGHT 44.0

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

/* Colours that stay apart for colour-blind readers (blue, brown, purple, after the Okabe-Ito set darkened for
 * contrast on white; lightened on black); strokes differ too. */
static const char style[] =
    "<style>\n"
    ".ef{font-family:system-ui,sans-serif;--ink:#1c2733;--soft:#4a5866;--paper:#fff;--box:#f4f6f8;"
    "--line:#7b8896;--product:#0a6aa6;--reject:#9a5b00;--returns:#7d3f86;--limit:#b3261e}\n"
    "@media(prefers-color-scheme:dark){.ef{--ink:#e8edf2;--soft:#b4c0cc;--paper:#14191f;--box:#202830;"
    "--line:#748292;--product:#62b5ea;--reject:#e0a04a;--returns:#cf9ad8;--limit:#ff8a80}}\n"
    "@media print{.ef{--ink:#000;--soft:#333;--paper:#fff;--box:#fff;--line:#555;--product:#0a6aa6;"
    "--reject:#9a5b00;--returns:#7d3f86;--limit:#b3261e}}\n"
    ".ef .ground{fill:var(--paper)}\n"
    ".ef .box{fill:var(--box);stroke:var(--line);stroke-width:1.2}\n"
    ".ef .box.steady{stroke:var(--ink);stroke-width:2}\n"
    ".ef .box.limits{stroke:var(--limit);stroke-width:3}\n"
    ".ef .load{fill:var(--line)}.ef .load.limits{fill:var(--limit)}\n"
    ".ef .stream{fill:none}\n"
    ".ef .stream.product{stroke:var(--product)}.ef .head.product{fill:var(--product)}\n"
    ".ef .stream.reject{stroke:var(--reject);stroke-dasharray:3 2.5}.ef .head.reject{fill:var(--reject)}\n"
    ".ef .stream.returns{stroke:var(--returns);stroke-dasharray:10 4}.ef .head.returns{fill:var(--returns)}\n"
    ".ef text{fill:var(--ink)}\n"
    ".ef .title{font-size:16px;font-weight:600}\n"
    ".ef .name{font-size:13px;font-weight:600}\n"
    ".ef .note,.ef .rate,.ef .legend{font-size:11px;fill:var(--soft)}\n"
    ".ef .note.strong{fill:var(--limit);font-weight:600}\n"
    ".ef .rate{paint-order:stroke;stroke:var(--paper);stroke-width:3px;stroke-linejoin:round}\n"
    "</style>\n";

static void write_rates_words(const efi_picture *p, efi_text *out)
{
    efi_picture_add_rate(p, out, p->crop->intake.total_tph, true);
    efi_text_add(out, " at the intake gives ");
    efi_picture_add_rate(p, out, p->crop->product.total_tph, true);
    efi_text_add(out, " of product");
}

static void write_head(const efi_picture *p, double width, double height)
{
    efi_text *out = p->out;
    efi_text_add(out, "<svg xmlns=\"http://www.w3.org/2000/svg\" class=\"ef\" role=\"img\"");
    efi_svg_attribute(out, "width", width);
    efi_svg_attribute(out, "height", height);
    efi_text_add(out, " viewBox=\"0 0 ");
    efi_svg_number(out, width);
    efi_text_add(out, " ");
    efi_svg_number(out, height);
    efi_text_add(out, "\">\n<title>");
    efi_svg_words(out, p->balance->plant);
    efi_text_add(out, ": ");
    efi_svg_words(out, p->crop->name);
    efi_text_add(out, "</title>\n<desc>The line as a flow diagram: ");
    write_rates_words(p, out);
    efi_text_add(out, ".");
    for (int s = 0; s < p->crop->station_count; s++) {
        if (!p->crop->stations[s].limits)
            continue;
        efi_text_add(out, " ");
        efi_svg_words(out, p->crop->stations[s].name);
        efi_text_add(out, " limits.");
    }
    efi_text_addf(out, "</desc>\n%s<rect class=\"ground\" width=\"100%%\" height=\"100%%\"/>\n", style);
}

static void write_heading(const efi_picture *p)
{
    efi_text words = {0};
    efi_text_addf(&words, "%s: %s", p->balance->plant, p->crop->name);
    efi_svg_text(p->out, MARGIN, 22.0, "start", "title", efi_text_get(&words));
    p->out->failed = p->out->failed || words.failed;
    efi_text_free(&words);
    write_rates_words(p, &words);
    efi_svg_text(p->out, MARGIN, 39.0, "start", "note", efi_text_get(&words));
    p->out->failed = p->out->failed || words.failed;
    efi_text_free(&words);
}

/* Samples of the strokes, and what the widths mean. */
static void write_legend(const efi_picture *p, double y)
{
    double x = MARGIN;
    for (int kind = EFI_TO_PRODUCT; kind <= EFI_RETURNS; kind++) {
        efi_text_addf(p->out, "<path class=\"stream %s\" stroke-width=\"5\" d=\"",
                      efi_stream_class((efi_stream_kind)kind));
        efi_svg_step(p->out, 'M', (double[]){x, y - 4.0}, 2);
        efi_svg_step(p->out, 'H', (double[]){x + 30.0}, 1);
        efi_text_add(p->out, "\"/>\n");
        efi_svg_text(p->out, x + 36.0, y, "start", "legend", stream_words[kind]);
        x += 36.0 + efi_svg_width(stream_words[kind], EFI_PICTURE_NOTE) + 18.0;
    }
    efi_text words = {0};
    efi_text_addf(&words, "Numbers beside strokes: %s. The widest stroke is ", p->mass.name);
    efi_display_add(&words, &p->mass, p->largest_tph);
    efi_text_add(&words, "; a bar in a box shows its load.");
    efi_svg_text(p->out, MARGIN, y + 16.0, "start", "legend", efi_text_get(&words));
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
    const double width = fmax(480.0, p->layers.width + 2.0 * MARGIN);
    const double height = HEAD_HEIGHT + MARGIN + p->layers.height + MARGIN + FOOT_HEIGHT;
    write_head(p, width, height);
    write_heading(p);
    efi_text_add(p->out, "<g transform=\"translate(");
    efi_svg_number(p->out, 0.5 * (width - p->layers.width));
    efi_text_add(p->out, " ");
    efi_svg_number(p->out, HEAD_HEIGHT + MARGIN);
    efi_text_add(p->out, ")\">\n");
    for (int a = 0; a < p->layers.arrows; a++)
        efi_picture_draw_stroke(p, a);
    for (int s = 0; s < p->layers.boxes; s++)
        efi_picture_draw_box(p, s);
    EF_TRY(efi_picture_write_rates(p));
    efi_text_add(p->out, "</g>\n");
    write_legend(p, height - FOOT_HEIGHT + 18.0);
    efi_text_add(p->out, "</svg>\n");
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
