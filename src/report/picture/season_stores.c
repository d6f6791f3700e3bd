/* SPDX-License-Identifier: GPL-3.0-or-later
 * Storage by stores and days: who lies where and how full it is, and what found no room. */
#include "base/base.h"
#include "base/memory.h"
#include "base/pieces.h"
#include "base/tongue.h"
#include "report/picture/bands.h"
#include "report/report.h"

#include <evenfeed/season.h>
#include <math.h>
#include <string.h>

#define LANE      14.0 /* px: height of a name */
#define FILL      15.0 /* px: height of a full store */
#define ROW_GAP   6.0
#define BAND_GAP  16.0
#define STAY_ROOM 60.0 /* px that a stay should have in the mean */
#define LEAST     18.0 /* px: in narrower stays nothing is written */
#define SAMPLE    26.0
/* A row: a store, or with store -1 what found no room before (or after) the run. */
typedef struct row {
    int store;
    bool finished;
    int lanes;
    double most_t; /* scale of its fill; 0: none */
} row;

typedef struct storage {
    const ef_season *season;
    ef_units units;
    efi_bands bands;
    row *row; /* shape [rows] */
    int rows;
    int used;           /* rows that are stores */
    int *lane;          /* shape [stay_count] */
    int64_t *free_from; /* shape [stay_count]: of each lane, while a row is laid out */
    efi_text *out;
} storage;

static bool lies_in(const ef_season_stay *stay, const row *r)
{
    return stay->store == r->store && (r->store >= 0 || stay->finished == r->finished) &&
           stay->from < stay->to;
}

/* Gives every stay of a row the first lane that is free, in order of their beginnings. */
static void find_lanes(storage *s, row *r)
{
    const ef_season *season = s->season;
    int used = 0;
    int64_t after = INT64_MIN;
    int last = -1;
    for (;;) { /* the next stay by beginning, then by number */
        int next = -1;
        for (int i = 0; i < season->stay_count; i++) {
            const ef_season_stay *stay = &season->stays[i];
            const bool is_new = stay->from > after || (stay->from == after && i > last);
            if (lies_in(stay, r) && is_new && (next < 0 || stay->from < season->stays[next].from))
                next = i;
        }
        if (next < 0)
            break;
        after = season->stays[next].from;
        last = next;
        int lane = 0;
        while (lane < used && s->free_from[lane] > after)
            lane++;
        used = lane >= used ? lane + 1 : used;
        s->free_from[lane] = season->stays[next].to;
        s->lane[next] = lane;
    }
    r->lanes = used;
}

static void add_row(storage *s, int store, bool finished)
{
    row r = {.store = store, .finished = finished};
    find_lanes(s, &r);
    if (r.lanes == 0)
        return;
    if (store >= 0)
        r.most_t = fmax(s->season->stores[store].holds_t, s->season->stores[store].most_t);
    s->row[s->rows++] = r;
}

/* ---- one row --------------------------------------------------------------------------------------------
 */

/* Lanes that a row needs in one band. */
static int lanes_of(const storage *s, int band, const row *r)
{
    int lanes = 1;
    for (int i = 0; i < s->season->stay_count; i++) {
        const ef_season_stay *stay = &s->season->stays[i];
        double left;
        double right;
        if (lies_in(stay, r) && efi_bands_clip(&s->bands, band, stay->from, stay->to, &left, &right))
            lanes = s->lane[i] >= lanes ? s->lane[i] + 1 : lanes;
    }
    return lanes;
}

static double height_of(const storage *s, int band, const row *r)
{
    const double height = lanes_of(s, band, r) * LANE + (r->most_t > 0.0 ? FILL + 2.0 : 0.0);
    return fmax(height, 2.0 * LANE) + ROW_GAP;
}

static efi_piece mass_of(const storage *s, double value_t)
{
    return efi_piece_alone(EFI_KIND_MASS, s->units, value_t, 0.0, NULL);
}

static void write_names(const storage *s, const row *r, double top)
{
    const double right = s->bands.left - 6.0;
    const double room = right - EFI_FRAME_MARGIN;
    efi_text words = {0};
    if (r->store < 0) {
        efi_frame_fit(s->out, &efi_letters_label, right, top + 11.0, "end", room,
                      r->finished ? efi_tr("no finished room") : efi_tr("no raw room"));
        return;
    }
    const ef_season_store *store = &s->season->stores[r->store];
    efi_frame_fit(s->out, &efi_letters_label, right, top + 11.0, "end", room, store->name);
    if (store->holds_t > 0.0)
        efi_text_addf(&words, efi_tr("holds %s"), mass_of(s, store->holds_t).words);
    else
        efi_text_addf(&words, efi_tr("most %s"), mass_of(s, store->most_t).words);
    efi_frame_fit(s->out, &efi_letters_note, right, top + 24.0, "end", room, efi_text_get(&words));
    s->out->failed = s->out->failed || words.failed;
    efi_text_free(&words);
}

/* Name and tonnes where there is room for both, else the name. */
static void write_stay(const storage *s, const efi_spot *spot, const char *both, const char *name)
{
    const efi_letters letters = {"rate on", EFI_FRAME_NOTE, false};
    const double room = spot->right - spot->left - 6.0;
    if (room > LEAST)
        efi_frame_fit(s->out, &letters, spot->left + 3.0, spot->bottom - 2.0, "start", room,
                      efi_letters_width(&letters, both) <= room ? both : name);
}

static void draw_stay(const storage *s, int band, const row *r, int i, double top)
{
    const ef_season_stay *stay = &s->season->stays[i];
    efi_spot spot = {0.0, top + s->lane[i] * LANE + 1.0, 0.0, top + (s->lane[i] + 1) * LANE - 1.0};
    if (!efi_bands_clip(&s->bands, band, stay->from, stay->to, &spot.left, &spot.right))
        return;
    const ef_season_lot *lot = &s->season->lots[stay->lot];
    const efi_piece mass = mass_of(s, stay->amount_t);
    const efi_piece from = efi_piece_when(stay->from);
    const efi_piece to = efi_piece_when(stay->to);
    efi_text words = {0};
    efi_text brief = {0};
    efi_text_addf(&brief, "%s, %s", lot->name, mass.words);
    if (r->store < 0)
        efi_text_addf(&words, efi_tr("%s, %s, %s, found no room, from %s to %s"), lot->name, mass.words,
                      lot->crop, from.words, to.words);
    else
        efi_text_addf(&words, efi_tr("%s, %s, %s, from %s to %s"), lot->name, mass.words, lot->crop,
                      from.words, to.words);
    efi_frame_bar(s->out,
                  r->store < 0     ? "stay bad"
                  : stay->finished ? "stay finished"
                                   : "stay",
                  spot.left, spot.top, spot.right, spot.bottom, efi_text_get(&words));
    if (r->store < 0)
        efi_frame_hatch(s->out, EFI_HATCH_FALLING, true, &spot);
    write_stay(s, &spot, efi_text_get(&brief), lot->name);
    s->out->failed = s->out->failed || words.failed || brief.failed;
    efi_text_free(&words);
    efi_text_free(&brief);
}

/* Tonnes in a store at a moment, what comes then counted, what goes then not. */
static double tonnes_at(const ef_season *season, const row *r, int64_t moment)
{
    double sum = 0.0;
    for (int i = 0; i < season->stay_count; i++) {
        const ef_season_stay *stay = &season->stays[i];
        if (lies_in(stay, r) && stay->from <= moment && moment < stay->to)
            sum += stay->amount_t;
    }
    return sum;
}

/* The first moment after this one at which something comes or goes. */
static int64_t next_change(const ef_season *season, const row *r, int64_t moment)
{
    int64_t next = INT64_MAX;
    for (int i = 0; i < season->stay_count; i++) {
        const ef_season_stay *stay = &season->stays[i];
        if (!lies_in(stay, r))
            continue;
        next = stay->from > moment && stay->from < next ? stay->from : next;
        next = stay->to > moment && stay->to < next ? stay->to : next;
    }
    return next;
}

/* How full a store is, as steps. */
static void draw_fill(const storage *s, int band, const row *r, double top)
{
    const double bottom = top + FILL;
    const int64_t begin = s->bands.from + (int64_t)band * s->bands.days * 86400;
    const int64_t end = begin + (int64_t)s->bands.days * 86400;
    for (int64_t at = begin; at < end;) {
        const int64_t next = next_change(s->season, r, at);
        const double tonnes = tonnes_at(s->season, r, at);
        double left;
        double right;
        if (tonnes > 0.0 && efi_bands_clip(&s->bands, band, at, next, &left, &right)) {
            efi_text words = {0};
            efi_text_addf(&words, efi_tr("%s of %s"), mass_of(s, tonnes).words, mass_of(s, r->most_t).words);
            efi_frame_bar(s->out, "band", left, bottom - FILL * fmin(1.0, tonnes / r->most_t), right, bottom,
                          efi_text_get(&words));
            s->out->failed = s->out->failed || words.failed;
            efi_text_free(&words);
        }
        at = next;
    }
    efi_frame_line(s->out, "grid", s->bands.left, top, s->bands.right, top);
    efi_frame_line(s->out, "edge", s->bands.left, bottom, s->bands.right, bottom);
}

static void draw_row(const storage *s, int band, const row *r, double top)
{
    write_names(s, r, top);
    for (int i = 0; i < s->season->stay_count; i++)
        if (lies_in(&s->season->stays[i], r))
            draw_stay(s, band, r, i, top);
    if (r->most_t > 0.0)
        draw_fill(s, band, r, top + lanes_of(s, band, r) * LANE + 2.0);
}

/* ---- the whole ------------------------------------------------------------------------------------------
 */

static double explain(const storage *s, double top)
{
    efi_legend legend = {EFI_FRAME_MARGIN, EFI_BANDS_WIDTH - EFI_FRAME_MARGIN, EFI_FRAME_MARGIN, top};
    efi_spot spot = efi_legend_add(s->out, &legend, SAMPLE, efi_tr("lies here before its run"));
    efi_frame_bar(s->out, "stay", spot.left, spot.top, spot.right, spot.bottom, efi_tr("before its run"));
    spot = efi_legend_add(s->out, &legend, SAMPLE, efi_tr("after its run"));
    efi_frame_bar(s->out, "stay finished", spot.left, spot.top, spot.right, spot.bottom,
                  efi_tr("after its run"));
    spot = efi_legend_add(s->out, &legend, SAMPLE, efi_tr("found no room"));
    efi_frame_bar(s->out, "stay bad", spot.left, spot.top, spot.right, spot.bottom, efi_tr("found no room"));
    efi_frame_hatch(s->out, EFI_HATCH_FALLING, true, &spot);
    spot = efi_legend_add(s->out, &legend, SAMPLE, efi_tr("how full, of what it holds"));
    efi_frame_bar(s->out, "band", spot.left, spot.top, spot.right, spot.bottom, efi_tr("how full"));
    return legend.y;
}

static void describe(const storage *s, efi_sheet *sheet)
{
    const ef_season *season = s->season;
    int without = 0;
    for (int i = 0; i < season->stay_count; i++)
        without += season->stays[i].store < 0;
    efi_text_addf(&sheet->title, efi_tr("Who lies where: %s"), season->plant);
    efi_text_addf(&sheet->below, efi_tr_n("%d store in use of %d", "%d stores in use of %d", s->used),
                  s->used, season->store_count);
    efi_text_add(&sheet->below, "; ");
    if (without > 0)
        efi_text_addf(&sheet->below,
                      efi_tr_n("%d time a lot found no room", "%d times a lot found no room", without),
                      without);
    else
        efi_text_add(&sheet->below, efi_tr("all lots found room"));
    efi_text_addf(&sheet->description, efi_tr("A row for each store, %d days in a row of days: %s."),
                  s->bands.days, efi_text_get(&sheet->below));
}

static void find_span(const ef_season *season, int64_t *from, int64_t *to)
{
    *from = season->from;
    *to = season->from;
    for (int i = 0; i < season->stay_count; i++) {
        const ef_season_stay *stay = &season->stays[i];
        *from = stay->from < *from ? stay->from : *from;
        *to = stay->to > *to && stay->to != EF_SEASON_NONE ? stay->to : *to;
    }
}

/* Height of a band without its days. */
static double rows_height(const storage *s, int band)
{
    double height = 3.0;
    for (int i = 0; i < s->rows; i++)
        height += height_of(s, band, &s->row[i]);
    return height;
}

static double band_height(const void *context, int band)
{
    return EFI_BANDS_HEAD + rows_height(context, band) + BAND_GAP;
}

/* Draws some bands; returns where they end. */
static double draw_bands(const storage *s, int first, int end, double y)
{
    for (int band = first; band < end; band++) {
        const double top = y + EFI_BANDS_HEAD;
        const double bottom = top + rows_height(s, band);
        efi_bands_draw_days(s->out, &s->bands, band, top, bottom);
        double row_top = top + 3.0;
        for (int i = 0; i < s->rows; i++) {
            draw_row(s, band, &s->row[i], row_top);
            row_top += height_of(s, band, &s->row[i]);
        }
        y = bottom + BAND_GAP;
    }
    return y - BAND_GAP;
}

/* The rows and bands of all stores in use, and of what found no room; memory comes from the arena. */
static ef_status lay_out(storage *s, efi_arena *arena)
{
    const ef_season *season = s->season;
    s->row = efi_arena_get(arena, (size_t)season->store_count + 2, sizeof *s->row);
    s->lane = efi_arena_get(arena, (size_t)season->stay_count, sizeof *s->lane);
    s->free_from = efi_arena_get(arena, (size_t)season->stay_count, sizeof *s->free_from);
    if (!s->row || !s->lane || !s->free_from)
        return EF_MEMORY;
    double names = fmax(efi_letters_width(&efi_letters_label, efi_tr("no finished room")),
                        efi_letters_width(&efi_letters_label, efi_tr("no raw room")));
    for (int i = 0; i < season->store_count; i++) {
        names = fmax(names, efi_letters_width(&efi_letters_label, season->stores[i].name));
        add_row(s, i, season->stores[i].finished);
    }
    s->used = s->rows;
    add_row(s, -1, false);
    add_row(s, -1, true);
    int64_t from;
    int64_t to;
    find_span(season, &from, &to);
    s->bands = efi_bands_make(from, to, (double)season->stay_count / (s->used > 0 ? s->used : 1), STAY_ROOM,
                              names);
    return EF_OK;
}

ef_status ef_report_stores_svg(const ef_season *season, int page, ef_units units, char **text)
{
    if (season->stay_count == 0)
        return EF_NO_ANSWER;
    efi_arena *arena = efi_arena_new();
    efi_sheet sheet = {.width = EFI_BANDS_WIDTH};
    storage s = {.season = season, .units = units, .out = &sheet.out};
    int first;
    int end;
    ef_status status = arena ? lay_out(&s, arena) : EF_MEMORY;
    if (status == EF_OK && !efi_bands_page(&s.bands, band_height, &s, page, &first, &end))
        status = EF_USAGE;
    if (status == EF_OK) {
        describe(&s, &sheet);
        efi_sheet_begin(&sheet);
        const double bottom = draw_bands(&s, first, end, explain(&s, sheet.top + 2.0) + 14.0);
        status = efi_sheet_give(&sheet, bottom, text);
    }
    efi_arena_free(arena);
    return status;
}
