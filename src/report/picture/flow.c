/* SPDX-License-Identifier: GPL-3.0-or-later
 * The line as a picture: boxes for stations, strokes as wide as the t/h they carry. */
#include "report/picture/flow.h"
#include "base/pieces.h"
#include "base/tongue.h"
#include "base/base.h"
#include "report/picture/frame.h"
#include "report/report.h"

#include <math.h>

#define LEAST_WIDTH 480.0 /* px */
#define SIDE        40.0  /* px beside the layout, for rates outside lanes */

static const char *const class_of[] = {"product", "reject", "returns"};
static const char *const stream_words[] = {EFI_TR("on to the product"), EFI_TR("rejects and by-products"),
                                           EFI_TR("goes back")};

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

static efi_piece rate_piece(const efi_picture *p, double rate_tph)
{
    efi_piece piece = {""};
    efi_text text = efi_text_fixed(piece.words, sizeof piece.words);
    efi_picture_add_rate(p, &text, rate_tph, true);
    return piece;
}

/* ---- the whole ------------------------------------------------------------------------------------------
 */

/* Heading, and in words what is drawn. */
static void write_heading(const efi_picture *p, efi_sheet *sheet)
{
    const efi_piece intake = rate_piece(p, p->crop->intake.total_tph);
    const efi_piece product = rate_piece(p, p->crop->product.total_tph);
    efi_text_addf(&sheet->title, "%s: %s", p->balance->plant, p->crop->name);
    efi_text_addf(&sheet->below, efi_tr("%s at the intake gives %s of product"), intake.words, product.words);
    efi_text_addf(&sheet->description,
                  efi_tr("The line as a flow diagram: %s at the intake gives %s of product."), intake.words,
                  product.words);
    for (int s = 0; s < p->crop->station_count; s++)
        if (p->crop->stations[s].limits)
            efi_text_addf(&sheet->description, efi_tr(" %s limits."), p->crop->stations[s].name);
}

/* Samples of the strokes, and what the widths mean; returns where they end. */
static double write_legend(const efi_picture *p, double width, double top)
{
    efi_legend legend = {EFI_FRAME_MARGIN, width - EFI_FRAME_MARGIN, EFI_FRAME_MARGIN, top};
    for (int kind = EFI_TO_PRODUCT; kind <= EFI_RETURNS; kind++) {
        const efi_spot spot = efi_legend_add(p->out, &legend, 30.0, efi_tr(stream_words[kind]));
        efi_text_addf(p->out, "<path class=\"stream %s\" stroke-width=\"5\" d=\"",
                      efi_stream_class((efi_stream_kind)kind));
        efi_svg_step(p->out, 'M', (double[]){spot.left, spot.top + 6.0}, 2);
        efi_svg_step(p->out, 'H', (double[]){spot.right}, 1);
        efi_text_add(p->out, "\"/>\n");
    }
    efi_text words = {0};
    efi_text_addf(
        &words, efi_tr("Numbers beside strokes: %s. The widest stroke is %s; a bar in a box shows its load."),
        p->mass.name, efi_piece_quantity(&p->mass, p->largest_tph).words);
    const double bottom = efi_frame_wrap(p->out, &efi_letters_note, legend.left,
                                         legend.y + 1.2 * EFI_FRAME_LINE, legend.right - legend.left,
                                         efi_text_get(&words));
    p->out->failed = p->out->failed || words.failed;
    efi_text_free(&words);
    return bottom - EFI_FRAME_LINE;
}

/* Moves the layout to its place on the sheet. */
static void move(efi_picture *p, double x, double y)
{
    for (int b = 0; b < p->layers.boxes; b++) {
        p->layers.box[b].x += x;
        p->layers.box[b].y += y;
    }
    for (int a = 0; a < p->layers.arrows; a++) {
        for (int i = 0; i < p->layers.arrow[a].points; i++) {
            p->layers.arrow[a].point[i].x += x;
            p->layers.arrow[a].point[i].y += y;
        }
    }
}

/* Draws everything but the ends of the sheet; `*bottom` is where it ends. */
static ef_status draw(efi_picture *p, efi_sheet *sheet, double *bottom)
{
    EF_TRY(efi_picture_make_boxes(p));
    EF_TRY(efi_picture_make_arrows(p));
    p->layers.gap_x = 22.0;
    p->layers.gap_y = 40.0;
    EF_TRY(efi_layers_place(&p->layers));
    write_heading(p, sheet);
    sheet->width = fmax(LEAST_WIDTH, p->layers.width + 2.0 * SIDE);
    efi_sheet_begin(sheet);
    move(p, 0.5 * (sheet->width - p->layers.width), sheet->top);
    p->room = (efi_spot){EFI_FRAME_MARGIN, sheet->top, sheet->width - EFI_FRAME_MARGIN,
                         sheet->top + p->layers.height};
    for (int a = 0; a < p->layers.arrows; a++)
        efi_picture_draw_stroke(p, a);
    for (int s = 0; s < p->layers.boxes; s++)
        efi_picture_draw_box(p, s);
    EF_TRY(efi_picture_write_rates(p));
    *bottom = write_legend(p, sheet->width, p->room.bottom + 30.0);
    return sheet->out.failed ? EF_MEMORY : EF_OK;
}

ef_status ef_report_flow_svg(const ef_balance *balance, int crop, ef_units units, char **text)
{
    if (crop < 0 || crop >= balance->crop_count)
        return EF_USAGE;
    efi_sheet sheet = {0};
    efi_picture p = {
        .balance = balance, .crop = &balance->crops[crop], .arena = efi_arena_new(), .out = &sheet.out};
    for (int s = 0; s < p.crop->station_count; s++)
        p.largest_tph = fmax(p.largest_tph, p.crop->stations[s].feed.total_tph);
    p.mass = efi_display_choose(EFI_KIND_MASS_RATE, units, p.largest_tph,
                                p.crop->has_trade_weight ? p.crop->trade_weight_tpbu : 0.0, NULL);
    double bottom = 0.0;
    ef_status status = !p.arena ? EF_MEMORY : p.largest_tph > 0.0 ? draw(&p, &sheet, &bottom) : EF_NO_ANSWER;
    efi_picture_free_boxes(&p);
    efi_layers_free(&p.layers);
    efi_arena_free(p.arena);
    if (status != EF_OK) {
        efi_sheet_free(&sheet);
        return status;
    }
    return efi_sheet_give(&sheet, bottom, text);
}
