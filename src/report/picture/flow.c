/* SPDX-License-Identifier: GPL-3.0-or-later
 * The line as a picture: boxes for stations, strokes as wide as the t/h they carry. */
#include "base/display.h"
#include "base/memory.h"
#include "base/number.h"
#include "report/picture/layers.h"
#include "report/picture/svg.h"
#include "report/report.h"

#include <math.h>
#include <string.h>

#define NAME_SIZE    13.0
#define NOTE_SIZE    11.0
#define LINE_HEIGHT  15.0
#define BOX_PAD      9.0
#define LEAST_WIDTH  104.0
#define MOST_STROKE  18.0
#define LEAST_STROKE 1.8
#define MARGIN       14.0
#define HEAD_HEIGHT  46.0
#define FOOT_HEIGHT  44.0
#define CORNER       9.0
#define HOPPER       9.0 /* what the sides of a bin lean in */
enum {
    NAME_LINES = 2,
    NAME_COLUMNS = 20,
    NAME_ROOM = 128
};

/* Where material on a spout goes; each has a stroke of its own (solid, dotted, dashed) besides its colour. */
typedef enum stream_kind {
    TO_PRODUCT,
    TO_REJECT,
    RETURNS
} stream_kind;

static const char *const stream_class[] = {"product", "reject", "returns"};
static const char *const stream_words[] = {"on to the product", "rejects and by-products", "goes back"};

/* What is written in one box. */
typedef struct label {
    char name[NAME_LINES][NAME_ROOM];
    int names;
    efi_text note;
} label;

typedef struct taken {
    double left, top, right, bottom;
} taken;

typedef struct picture {
    const ef_balance *balance;
    const ef_balance_crop *crop;
    efi_display mass;
    efi_layers layers;
    stream_kind *kind; /* shape [arrows] */
    label *label;      /* shape [boxes] */
    taken *taken;      /* where words already stand */
    int taken_count;
    efi_arena *arena;
    efi_text *out;
    double largest_tph;
} picture;

static int station_of(const ef_balance_crop *crop, const char *name)
{
    for (int s = 0; s < crop->station_count; s++)
        if (strcmp(crop->stations[s].name, name) == 0)
            return s;
    return -1;
}

/* A rate in the unit of the picture, with digits that suit its own size. */
static void add_rate(const picture *p, efi_text *out, double rate_tph, bool with_unit)
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

static bool is_kind(const ef_balance_station *station, const char *kind)
{
    return strcmp(station->kind, kind) == 0;
}

/* ---- words in the boxes ---------------------------------------------------------------------------------
 */

/* Cuts a long name at the blank nearest to its middle. */
static void cut_name(label *of, const char *name)
{
    const size_t length = strlen(name);
    size_t cut = 0;
    for (size_t i = 1; efi_text_width(name) > NAME_COLUMNS && i + 1 < length; i++) {
        const size_t off = i * 2 > length ? i * 2 - length : length - i * 2;
        const size_t best = cut * 2 > length ? cut * 2 - length : length - cut * 2;
        if (name[i] == ' ' && (cut == 0 || off < best))
            cut = i;
    }
    const char *part[NAME_LINES] = {name, name + cut + 1};
    const size_t bytes[NAME_LINES] = {cut > 0 ? cut : length, cut > 0 ? length - cut - 1 : 0};
    of->names = cut > 0 ? 2 : 1;
    for (int i = 0; i < of->names; i++) {
        const size_t room = NAME_ROOM - 1;
        memcpy(of->name[i], part[i], bytes[i] < room ? bytes[i] : room);
    }
}

static void write_note(const picture *p, const ef_balance_station *station, efi_text *note)
{
    add_rate(p, note, station->feed.total_tph, true);
    if (station->count > 1)
        efi_text_addf(note, ", %d machines", station->count);
    if (station->limits) {
        efi_text_add(note, ", limits");
    } else if (station->has_capacity) {
        efi_text_add(note, ", ");
        efi_number_add_fixed(note, 100.0 * station->load, 0);
        efi_text_add(note, " %");
    }
}

static ef_status make_boxes(picture *p)
{
    const ef_balance_crop *crop = p->crop;
    p->layers.box = efi_arena_get(p->arena, (size_t)crop->station_count, sizeof *p->layers.box);
    p->label = efi_arena_get(p->arena, (size_t)crop->station_count, sizeof *p->label);
    if (!p->layers.box || !p->label)
        return EF_MEMORY;
    p->layers.boxes = crop->station_count;
    for (int s = 0; s < crop->station_count; s++) {
        label *of = &p->label[s];
        cut_name(of, crop->stations[s].name);
        write_note(p, &crop->stations[s], &of->note);
        double width = efi_svg_width(efi_text_get(&of->note), NOTE_SIZE);
        for (int i = 0; i < of->names; i++)
            width = fmax(width, efi_svg_width(of->name[i], NAME_SIZE));
        p->layers.box[s].width = fmax(LEAST_WIDTH, ceil(width + 2.0 * BOX_PAD + 2.0 * HOPPER));
        p->layers.box[s].height = LINE_HEIGHT * (of->names + 1) + 2.0 * BOX_PAD;
    }
    return EF_OK;
}

/* ---- strokes --------------------------------------------------------------------------------------------
 */

/* Marks the stations from which a product can be reached without going back. */
static void find_products(const picture *p, bool *reaches)
{
    const ef_balance_crop *crop = p->crop;
    for (int o = 0; o < crop->outlet_count; o++) {
        const int s = station_of(crop, crop->outlets[o].name);
        if (crop->outlets[o].product && s >= 0)
            reaches[s] = true;
    }
    for (int round = 0; round < crop->station_count; round++) {
        for (int a = 0; a < p->layers.arrows; a++) {
            const efi_layers_arrow *arrow = &p->layers.arrow[a];
            if (!arrow->closes_loop && reaches[arrow->to])
                reaches[arrow->from] = true;
        }
    }
}

static ef_status make_arrows(picture *p, const int **spout_of)
{
    const ef_balance_crop *crop = p->crop;
    const size_t most = (size_t)crop->spout_count;
    bool *reaches = efi_arena_get(p->arena, (size_t)crop->station_count, sizeof *reaches);
    int *spouts = efi_arena_get(p->arena, most, sizeof *spouts);
    p->layers.arrow = efi_arena_get(p->arena, most, sizeof *p->layers.arrow);
    p->kind = efi_arena_get(p->arena, most, sizeof *p->kind);
    if (!reaches || !spouts || !p->layers.arrow || !p->kind)
        return EF_MEMORY;
    for (int k = 0; k < crop->spout_count; k++) {
        const ef_balance_spout *spout = &crop->spouts[k];
        const int from = station_of(crop, spout->from);
        const int to = station_of(crop, spout->to);
        if (from < 0 || to < 0 || from == to)
            continue;
        const double share = spout->flow.total_tph / p->largest_tph;
        spouts[p->layers.arrows] = k;
        p->layers.arrow[p->layers.arrows++] = (efi_layers_arrow){
            .from = from,
            .to = to,
            .width = fmax(LEAST_STROKE, MOST_STROKE * share),
            .closes_loop = spout->closes_loop};
    }
    find_products(p, reaches);
    for (int a = 0; a < p->layers.arrows; a++) {
        const efi_layers_arrow *arrow = &p->layers.arrow[a];
        p->kind[a] = arrow->closes_loop ? RETURNS : reaches[arrow->to] ? TO_PRODUCT : TO_REJECT;
    }
    *spout_of = spouts;
    return EF_OK;
}

static double head_of(double width)
{
    return 4.0 + 0.5 * width;
}

/* Curves that are vertical in each point, the last ended short of the arrow's head. */
static void draw_curves(efi_text *out, const efi_layers_arrow *arrow)
{
    const efi_layers_point *point = arrow->point;
    efi_svg_step(out, 'M', (double[]){point[0].x, point[0].y}, 2);
    for (int i = 1; i < arrow->points; i++) {
        const double y = point[i].y - (i + 1 == arrow->points ? head_of(arrow->width) : 0.0);
        const double half = 0.5 * (point[i - 1].y + y);
        if (point[i].x == point[i - 1].x)
            efi_svg_step(out, 'L', (double[]){point[i].x, y}, 2);
        else
            efi_svg_step(out, 'C', (double[]){point[i - 1].x, half, point[i].x, half, point[i].x, y}, 6);
    }
}

/* A point `by` from `from` towards `to`. */
static efi_layers_point towards(efi_layers_point from, efi_layers_point to, double by)
{
    const double length = hypot(to.x - from.x, to.y - from.y);
    const double part = length > 0.0 ? fmin(by / length, 0.5) : 0.0;
    return (efi_layers_point){from.x + part * (to.x - from.x), from.y + part * (to.y - from.y)};
}

/* Straight lines with rounded corners. */
static void draw_lane(efi_text *out, const efi_layers_arrow *arrow)
{
    const efi_layers_point *point = arrow->point;
    const int last = arrow->points - 1;
    efi_svg_step(out, 'M', (double[]){point[0].x, point[0].y}, 2);
    for (int i = 1; i < last; i++) {
        const efi_layers_point in = towards(point[i], point[i - 1], CORNER);
        const efi_layers_point on = towards(point[i], point[i + 1], CORNER);
        efi_svg_step(out, 'L', (double[]){in.x, in.y}, 2);
        efi_svg_step(out, 'Q', (double[]){point[i].x, point[i].y, on.x, on.y}, 4);
    }
    const efi_layers_point end = towards(point[last], point[last - 1], head_of(arrow->width));
    efi_svg_step(out, 'L', (double[]){end.x, end.y}, 2);
}

static void draw_head(efi_text *out, const efi_layers_arrow *arrow, const char *classes)
{
    const efi_layers_point tip = arrow->point[arrow->points - 1];
    const efi_layers_point before = arrow->point[arrow->points - 2];
    const double long_px = head_of(arrow->width) + 1.0;
    const double half = 2.5 + 0.5 * arrow->width;
    double x = 0.0;
    double y = 1.0;
    if (arrow->closes_loop) {
        const double length = hypot(tip.x - before.x, tip.y - before.y);
        x = (tip.x - before.x) / length;
        y = (tip.y - before.y) / length;
    }
    efi_text_addf(out, "<path class=\"head %s\" d=\"", classes);
    efi_svg_step(out, 'M', (double[]){tip.x, tip.y}, 2);
    efi_svg_step(out, 'L', (double[]){tip.x - long_px * x - half * y, tip.y - long_px * y + half * x}, 2);
    efi_svg_step(out, 'L', (double[]){tip.x - long_px * x + half * y, tip.y - long_px * y - half * x}, 2);
    efi_text_add(out, "Z\"/>\n");
}

static void draw_arrow(const picture *p, int a, const ef_balance_spout *spout)
{
    const efi_layers_arrow *arrow = &p->layers.arrow[a];
    const char *classes = stream_class[p->kind[a]];
    efi_text_add(p->out, "<g><title>");
    efi_svg_words(p->out, spout->from);
    if (spout->discharge[0]) {
        efi_text_add(p->out, ", ");
        efi_svg_words(p->out, spout->discharge);
    }
    efi_text_add(p->out, ", to ");
    efi_svg_words(p->out, spout->to);
    efi_text_add(p->out, ": ");
    add_rate(p, p->out, spout->flow.total_tph, true);
    efi_text_addf(p->out, "</title>\n<path class=\"stream %s\"", classes);
    efi_svg_attribute(p->out, "stroke-width", arrow->width);
    efi_text_add(p->out, " d=\"");
    if (arrow->closes_loop)
        draw_lane(p->out, arrow);
    else
        draw_curves(p->out, arrow);
    efi_text_add(p->out, "\"/>\n");
    draw_head(p->out, arrow, classes);
    efi_text_add(p->out, "</g>\n");
}

/* ---- words beside the strokes ---------------------------------------------------------------------------
 */

static bool is_clear(const picture *p, const taken *spot)
{
    if (spot->left < 0.0 || spot->right > p->layers.width)
        return false;
    for (int i = 0; i < p->taken_count; i++) {
        const taken *other = &p->taken[i];
        if (spot->left < other->right && other->left < spot->right && spot->top < other->bottom &&
            other->top < spot->bottom)
            return false;
    }
    return true;
}

static bool leaves_alone(const picture *p, int arrow)
{
    int count = 0;
    for (int a = 0; a < p->layers.arrows; a++)
        count += p->layers.arrow[a].from == p->layers.arrow[arrow].from;
    return count == 1;
}

/* Point of the first piece of an arrow that crosses the space between layers, at a part of its height. */
static efi_layers_point point_at(const picture *p, const efi_layers_arrow *arrow, double part)
{
    const efi_layers_point *point = arrow->point;
    for (int i = 1; !arrow->closes_loop && i + 1 < arrow->points; i++, point++)
        if (point[1].y - point[0].y >= p->layers.gap_y)
            break;
    if (arrow->closes_loop) {
        const int lane = arrow->points > 4 ? arrow->points / 2 : 2;
        return (efi_layers_point){point[lane].x,
                                  point[lane - 1].y + part * (point[lane].y - point[lane - 1].y)};
    }
    /* the cubic with vertical ends: x by the smooth step, y near enough by the same parameter */
    const double t = part;
    const double smooth = t * t * (3.0 - 2.0 * t);
    const double half = 0.5 * (point[0].y + point[1].y);
    const double y = (1 - t) * (1 - t) * (1 - t) * point[0].y + 3 * (1 - t) * t * half +
                     t * t * t * point[1].y;
    return (efi_layers_point){point[0].x + smooth * (point[1].x - point[0].x), y};
}

/* Writes the t/h beside a stroke where there is room; every stroke tells it when pointed at, too. */
static void write_rate(picture *p, int a, const ef_balance_spout *spout)
{
    static const double parts[] = {0.5, 0.3, 0.7, 0.15, 0.85};
    const efi_layers_arrow *arrow = &p->layers.arrow[a];
    if (leaves_alone(p, a))
        return;
    efi_text words = {0};
    add_rate(p, &words, spout->flow.total_tph, false);
    const double width = efi_svg_width(efi_text_get(&words), NOTE_SIZE);
    for (int i = 0; i < 10; i++) {
        const efi_layers_point at = point_at(p, arrow, parts[i / 2]);
        const bool to_right = i % 2 == 0;
        const double x = at.x + (to_right ? 1.0 : -1.0) * (0.5 * arrow->width + 4.0);
        const taken spot = {to_right ? x : x - width, at.y - 6.0, to_right ? x + width : x, at.y + 6.0};
        if (!is_clear(p, &spot))
            continue;
        efi_svg_text(p->out, x, at.y + 4.0, to_right ? "start" : "end", "rate", efi_text_get(&words));
        p->taken[p->taken_count++] = spot;
        break;
    }
    p->out->failed = p->out->failed || words.failed;
    efi_text_free(&words);
}

static ef_status write_rates(picture *p, const int *spout_of)
{
    const size_t most = (size_t)p->layers.boxes + (size_t)p->layers.arrows;
    p->taken = efi_arena_get(p->arena, most, sizeof *p->taken);
    if (!p->taken)
        return EF_MEMORY;
    for (int b = 0; b < p->layers.boxes; b++) {
        const efi_layers_box *box = &p->layers.box[b];
        p->taken[p->taken_count++] = (taken){box->x - 0.5 * box->width, box->y - 0.5 * box->height,
                                             box->x + 0.5 * box->width, box->y + 0.5 * box->height};
    }
    for (int a = 0; a < p->layers.arrows; a++)
        write_rate(p, a, &p->crop->spouts[spout_of[a]]);
    return EF_OK;
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
static void write_title(const picture *p, const ef_balance_station *station, const efi_text *note)
{
    efi_text_add(p->out, "<g><title>");
    efi_svg_words(p->out, station->name);
    efi_text_add(p->out, " (");
    efi_svg_words(p->out, station->kind);
    efi_text_add(p->out, "): ");
    efi_svg_words(p->out, efi_text_get(note));
    if (station->steady_feed)
        efi_text_add(p->out, ", steady feed");
    if (station->under_least_feed)
        efi_text_add(p->out, ", under its least feed");
    efi_text_addf(p->out, ", line %d of the scenario</title>\n", station->place.line);
}

static void draw_box(const picture *p, int s)
{
    const ef_balance_station *station = &p->crop->stations[s];
    const efi_layers_box *box = &p->layers.box[s];
    const label *of = &p->label[s];
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

static void write_rates_words(const picture *p, efi_text *out)
{
    add_rate(p, out, p->crop->intake.total_tph, true);
    efi_text_add(out, " at the intake gives ");
    add_rate(p, out, p->crop->product.total_tph, true);
    efi_text_add(out, " of product");
}

static void write_head(const picture *p, double width, double height)
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

static void write_heading(const picture *p)
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
static void write_legend(const picture *p, double y)
{
    double x = MARGIN;
    for (int kind = TO_PRODUCT; kind <= RETURNS; kind++) {
        efi_text_addf(p->out, "<path class=\"stream %s\" stroke-width=\"5\" d=\"", stream_class[kind]);
        efi_svg_step(p->out, 'M', (double[]){x, y - 4.0}, 2);
        efi_svg_step(p->out, 'H', (double[]){x + 30.0}, 1);
        efi_text_add(p->out, "\"/>\n");
        efi_svg_text(p->out, x + 36.0, y, "start", "legend", stream_words[kind]);
        x += 36.0 + efi_svg_width(stream_words[kind], NOTE_SIZE) + 18.0;
    }
    efi_text words = {0};
    efi_text_addf(&words, "Numbers beside strokes: %s. The widest stroke is ", p->mass.name);
    efi_display_add(&words, &p->mass, p->largest_tph);
    efi_text_add(&words, "; a bar in a box shows its load.");
    efi_svg_text(p->out, MARGIN, y + 16.0, "start", "legend", efi_text_get(&words));
    p->out->failed = p->out->failed || words.failed;
    efi_text_free(&words);
}

static ef_status draw(picture *p)
{
    const int *spout_of;
    EF_TRY(make_boxes(p));
    EF_TRY(make_arrows(p, &spout_of));
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
        draw_arrow(p, a, &p->crop->spouts[spout_of[a]]);
    for (int s = 0; s < p->layers.boxes; s++)
        draw_box(p, s);
    EF_TRY(write_rates(p, spout_of));
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
    picture p = {.balance = balance, .crop = &balance->crops[crop], .arena = efi_arena_new(), .out = &out};
    for (int s = 0; s < p.crop->station_count; s++)
        p.largest_tph = fmax(p.largest_tph, p.crop->stations[s].feed.total_tph);
    p.mass = efi_display_choose(EFI_KIND_MASS_RATE, units, p.largest_tph,
                                p.crop->has_trade_weight ? p.crop->trade_weight_tpbu : 0.0, NULL);
    ef_status status = !p.arena ? EF_MEMORY : p.largest_tph > 0.0 ? draw(&p) : EF_NO_ANSWER;
    for (int s = 0; p.label && s < p.layers.boxes; s++)
        efi_text_free(&p.label[s].note);
    efi_layers_free(&p.layers);
    efi_arena_free(p.arena);
    if (status != EF_OK) {
        efi_text_free(&out);
        return status;
    }
    return efi_report_give(&out, text);
}
