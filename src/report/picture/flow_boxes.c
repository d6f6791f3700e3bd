/* SPDX-License-Identifier: GPL-3.0-or-later
 * The boxes of the flow diagram. */
#include "base/base.h"
#include "base/tongue.h"
#include "base/pieces.h"
#include "report/picture/flow.h"

#include <math.h>
#include <string.h>

#define NAME_SIZE   13.0
#define LINE_HEIGHT 15.0
#define BOX_PAD     9.0
#define LEAST_WIDTH 104.0
#define HOPPER      9.0 /* what the sides of a bin lean in */
enum {
    NAME_COLUMNS = 20
};

static bool is_kind(const ef_balance_station *station, const char *kind)
{
    return strcmp(station->kind, kind) == 0;
}

/* ---- words in the boxes ---------------------------------------------------------------------------------
 */

/* As much as there is room for, without cutting a character. */
static void copy_line(char line[EFI_PICTURE_NAME_ROOM], const char *words, size_t length)
{
    size_t kept = length < EFI_PICTURE_NAME_ROOM ? length : EFI_PICTURE_NAME_ROOM - 1;
    while (kept < length && kept > 0 && ((unsigned char)words[kept] & 0xc0) == 0x80)
        kept--;
    memcpy(line, words, kept);
    line[kept] = '\0';
}

/* Cuts a long name at the blank nearest to its middle. */
static void cut_name(efi_picture_label *of, const char *name)
{
    const size_t length = strlen(name);
    size_t cut = 0;
    for (size_t i = 1; efi_text_width(name) > NAME_COLUMNS && i + 1 < length; i++) {
        const size_t off = i * 2 > length ? i * 2 - length : length - i * 2;
        const size_t best = cut * 2 > length ? cut * 2 - length : length - cut * 2;
        if (name[i] == ' ' && (cut == 0 || off < best))
            cut = i;
    }
    const size_t first = cut > 0 ? cut : length;
    copy_line(of->name[0], name, first);
    of->names = 1;
    if (cut > 0) {
        copy_line(of->name[1], name + cut + 1, length - cut - 1);
        of->names = 2;
    }
}

static void write_note(const efi_picture *p, const ef_balance_station *station, efi_text *note)
{
    efi_picture_add_rate(p, note, station->feed.total_tph, true);
    if (station->count > 1)
        efi_text_addf(note, efi_tr(", %d machines"), station->count);
    if (station->limits)
        efi_text_addf(note, ", %s", efi_tr_in("station", "limits"));
    else if (station->has_capacity)
        efi_text_addf(note, ", %s", efi_piece_percent(station->load, 0).words);
}

ef_status efi_picture_make_boxes(efi_picture *p)
{
    const ef_balance_crop *crop = p->crop;
    p->layers.box = efi_arena_get(p->arena, (size_t)crop->station_count, sizeof *p->layers.box);
    p->label = efi_arena_get(p->arena, (size_t)crop->station_count, sizeof *p->label);
    if (!p->layers.box || !p->label)
        return EF_MEMORY;
    p->layers.boxes = crop->station_count;
    for (int s = 0; s < crop->station_count; s++) {
        efi_picture_label *of = &p->label[s];
        cut_name(of, crop->stations[s].name);
        write_note(p, &crop->stations[s], &of->note);
        p->out->failed = p->out->failed || of->note.failed;
        double width = efi_svg_width_bold(efi_text_get(&of->note), EFI_FRAME_NOTE);
        for (int i = 0; i < of->names; i++)
            width = fmax(width, efi_svg_width_bold(of->name[i], NAME_SIZE));
        p->layers.box[s].width = fmax(LEAST_WIDTH, ceil(width + 2.0 * BOX_PAD + 2.0 * HOPPER));
        p->layers.box[s].height = LINE_HEIGHT * (of->names + 1) + 2.0 * BOX_PAD;
    }
    return EF_OK;
}

void efi_picture_free_boxes(efi_picture *p)
{
    for (int s = 0; p->label && s < p->layers.boxes; s++)
        efi_text_free(&p->label[s].note);
}

/* ---- boxes ----------------------------------------------------------------------------------------------
 */

/* Bins stand on a hopper, intakes are pits, outlets have round ends, splits pointed ones. */
static void draw_outline(efi_text *out, const ef_balance_station *station, const efi_layers_box *box)
{
    const double left = box->x - 0.5 * box->width;
    const double right = box->x + 0.5 * box->width;
    const double top = box->y - 0.5 * box->height;
    const double bottom = box->y + 0.5 * box->height;
    const double knee = is_kind(station, "bin") ? bottom - 1.2 * HOPPER : top;
    if (is_kind(station, "bin") || is_kind(station, "intake")) {
        efi_svg_step(out, 'M', (double[]){left, top}, 2);
        efi_svg_step(out, 'L', (double[]){right, top, right, knee, right - HOPPER, bottom}, 6);
        efi_svg_step(out, 'L', (double[]){left + HOPPER, bottom, left, knee}, 4);
    } else if (is_kind(station, "split")) {
        efi_svg_step(out, 'M', (double[]){left, box->y}, 2);
        efi_svg_step(out, 'L', (double[]){left + HOPPER, top, right - HOPPER, top, right, box->y}, 6);
        efi_svg_step(out, 'L', (double[]){right - HOPPER, bottom, left + HOPPER, bottom}, 4);
    } else {
        const double round = is_kind(station, "outlet") ? 0.5 * box->height : 3.0;
        efi_svg_step(out, 'M', (double[]){left + round, top}, 2);
        efi_svg_step(out, 'H', (double[]){right - round}, 1);
        efi_svg_step(out, 'A', (double[]){round, round, 0, 0, 1, right, top + round}, 7);
        efi_svg_step(out, 'V', (double[]){bottom - round}, 1);
        efi_svg_step(out, 'A', (double[]){round, round, 0, 0, 1, right - round, bottom}, 7);
        efi_svg_step(out, 'H', (double[]){left + round}, 1);
        efi_svg_step(out, 'A', (double[]){round, round, 0, 0, 1, left, bottom - round}, 7);
        efi_svg_step(out, 'V', (double[]){top + round}, 1);
        efi_svg_step(out, 'A', (double[]){round, round, 0, 0, 1, left + round, top}, 7);
    }
    efi_text_add(out, "Z");
}

/* The title of a box: all that is known of it in one line. */
static void write_title(const efi_picture *p, const ef_balance_station *station, const efi_text *note)
{
    efi_text_add(p->out, "<g><title>");
    efi_svg_words(p->out, station->name);
    efi_text_add(p->out, " (");
    efi_svg_words(p->out, efi_tr(station->kind));
    efi_text_add(p->out, "): ");
    efi_svg_words(p->out, efi_text_get(note));
    if (station->steady_feed)
        efi_text_addf(p->out, ", %s", efi_tr("steady feed"));
    if (station->under_least_feed)
        efi_text_addf(p->out, ", %s", efi_tr("under its least feed"));
    efi_text_addf(p->out, efi_tr(", line %d of the scenario"), station->place.line);
    efi_text_add(p->out, "</title>\n");
}

void efi_picture_draw_box(const efi_picture *p, int s)
{
    const ef_balance_station *station = &p->crop->stations[s];
    const efi_layers_box *box = &p->layers.box[s];
    const efi_picture_label *of = &p->label[s];
    const double bottom = box->y + 0.5 * box->height;
    write_title(p, station, &of->note);
    efi_text_addf(p->out, "<path class=\"box%s%s\" d=\"", station->limits ? " limits" : "",
                  station->steady_feed ? " steady" : "");
    draw_outline(p->out, station, box);
    efi_text_add(p->out, "\"/>\n");
    if (station->has_capacity && !is_kind(station, "bin")) {
        efi_text_addf(p->out, "<rect class=\"load%s\"", station->limits ? " limits" : "");
        efi_svg_attribute(p->out, "x", box->x - 0.5 * box->width + 2.0 + HOPPER);
        efi_svg_attribute(p->out, "y", bottom - 6.0);
        efi_svg_attribute(p->out, "width", fmax(0.0, box->width - 4.0 - 2.0 * HOPPER) * station->load);
        efi_svg_attribute(p->out, "height", 3.0);
        efi_text_add(p->out, "/>\n");
    }
    double y = box->y - 0.5 * box->height + BOX_PAD + NAME_SIZE - 2.0;
    for (int i = 0; i < of->names; i++) {
        efi_svg_text(p->out, box->x, y, "middle", "name", of->name[i]);
        y += LINE_HEIGHT;
    }
    efi_svg_text(p->out, box->x, y, "middle", station->limits ? "note strong" : "note",
                 efi_text_get(&of->note));
    efi_text_add(p->out, "</g>\n");
}
