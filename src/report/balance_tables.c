/* SPDX-License-Identifier: GPL-3.0-or-later
 * The tables of a balance: stations, outlets, bins. */
#include "base/tongue.h"
#include "report/balance_view.h"

#include <math.h>
#include <string.h>

enum {
    MADE_OF_LEAST = 30,
    BESIDE_MADE_OF = 28, /* of an outlet's row, without name, rate, line and what it is made of */
    WIDEST_LINE = 7      /* "[1] 123" */
};
#define LEAST_SHARE_SHOWN 5e-5

static double larger(double a, double b)
{
    return a > b ? a : b;
}

/* The line of the scenario, "33"; of a table beside it after the number of the table, "[1] 4". */
static void add_place_cell(efi_paper *paper, const efi_balance_view *v, const ef_place *place)
{
    for (int i = 0; i < v->table_count; i++) {
        if (strcmp(place->file, v->tables[i]) == 0) {
            efi_paper_cellf(paper, "[%d] %d", i + 1, place->line);
            return;
        }
    }
    if (strcmp(place->file, "--set") == 0)
        efi_paper_cell(paper, "--set");
    else
        efi_paper_count(paper, place->line);
}

/* Which file a number in brackets stands for. */
static void add_tables(efi_paper *paper, const efi_balance_view *v)
{
    for (int i = 0; i < v->table_count; i++)
        efi_paper_linef(paper, "[%d] %s", i + 1, efi_balance_file_name(v->tables[i]));
}

/* Adds a remark to those before it. */
static void remark(efi_text *note, const char *words)
{
    efi_text_addf(note, "%s%s", note->length ? ", " : "", words);
}

static void add_station_note(efi_paper *paper, const efi_balance_view *v, const ef_balance_station *station)
{
    efi_text note = {0};
    if (station->limits)
        remark(&note, efi_tr_in("station", "limits"));
    if (station->count > 1)
        remark(&note, efi_paper_phrase(paper, efi_tr("%d machines"), station->count));
    if (station->steady_feed)
        remark(&note, efi_tr("steady feed"));
    if (station->has_least_feed)
        remark(&note,
               efi_paper_phrase(paper,
                                station->under_least_feed ? efi_tr("UNDER its least %s") : efi_tr("least %s"),
                                efi_piece_quantity(&v->mass, station->least_feed_tph).words));
    efi_paper_take(paper, &note);
    if (station->limits || station->under_least_feed)
        efi_paper_strong(paper);
}

static void add_returns(efi_paper *paper, const efi_balance_view *v)
{
    for (int i = 0; i < v->crop->spout_count; i++) {
        const ef_balance_spout *spout = &v->crop->spouts[i];
        if (!spout->closes_loop || !(spout->flow.total_tph > 0.0))
            continue;
        const efi_piece rate = efi_piece_alone(EFI_KIND_MASS_RATE, v->units, spout->flow.total_tph, v->tpbu,
                                               NULL);
        if (spout->discharge[0])
            efi_paper_linef(paper, efi_tr("Counted in above: %s that %s returns to %s (%s)"), rate.words,
                            spout->from, spout->to, spout->discharge);
        else
            efi_paper_linef(paper, efi_tr("Counted in above: %s that %s returns to %s"), rate.words,
                            spout->from, spout->to);
    }
}

static void add_station(efi_paper *paper, const efi_balance_view *v, const ef_balance_station *station)
{
    const efi_display *unit = station->capacity_by_volume ? &v->volume : &v->mass;
    efi_paper_cell(paper, station->name);
    efi_paper_show(paper, unit, station->has_capacity ? station->feed_in_unit : station->feed.total_tph);
    if (station->has_capacity) {
        efi_paper_show(paper, unit, station->capacity);
        efi_paper_percent(paper, station->load, 0);
    } else {
        efi_paper_cell(paper, NULL);
        efi_paper_cell(paper, NULL);
    }
    add_place_cell(paper, v, station->has_capacity ? &station->capacity_place : &station->place);
    add_station_note(paper, v, station);
}

void efi_balance_add_stations(efi_paper *paper, const efi_balance_view *v)
{
    static const efi_table_form form = {
        .name = "stations", .caption = EFI_TR("Stations: feed and load"), .quiet = true};
    static const efi_column columns[] = {{EFI_TR("Station"), 'l', 0, false},
                                         {EFI_TR("Feed"), 'r', 0, false},
                                         {EFI_TR_IN("of a station", "Capacity"), 'r', 0, false},
                                         {EFI_TR_IN("of a station", "Load"), 'r', 0, false},
                                         {EFI_TR_IN("of a file", "Line"), 'r', 0, false},
                                         {EFI_TR("Remarks"), 'l', 0, false}};
    efi_paper_table(paper, &form, columns, EF_COUNT(columns));
    for (int i = 0; i < v->crop->station_count; i++)
        if (strcmp(v->crop->stations[i].kind, "outlet") != 0)
            add_station(paper, v, &v->crop->stations[i]);
    add_tables(paper, v);
    add_returns(paper, v);
}

/* The material with the greatest share after `last` of a stream (-1: of all), -1 when none is left. */
static int next_material(const ef_balance *balance, const ef_stream *stream, int last)
{
    int best = -1;
    for (int m = 0; m < balance->material_count; m++) {
        const double rate = stream->material_tph[m];
        const double before = last < 0 ? INFINITY : stream->material_tph[last];
        const bool left = rate < before || (rate == before && m > last);
        if (left && (best < 0 || rate > stream->material_tph[best]))
            best = m;
    }
    return best;
}

/* What a stream is made of, an item a material, most first, those under 0.005 % left out. */
static void add_composition(efi_paper *paper, const efi_balance_view *v, const ef_stream *stream)
{
    efi_text cell = {0};
    int m = stream->total_tph > 0.0 ? next_material(v->balance, stream, -1) : -1;
    if (m < 0)
        efi_text_add(&cell, efi_tr("(nothing arrives)"));
    while (m >= 0) {
        const double share = stream->material_tph[m] / stream->total_tph;
        if (!(share >= LEAST_SHARE_SHOWN))
            break;
        efi_text_addf(&cell, "%s%s %s", cell.length > 0 ? "\n" : "", v->balance->materials[m],
                      efi_piece_percent(share, share < 0.1 || share > 0.9 ? 2 : 1).words);
        m = next_material(v->balance, stream, m);
    }
    efi_paper_take(paper, &cell);
}

/* What is left of a line for what an outlet is made of. */
static int made_of_width(const efi_balance_view *v, const efi_display *small)
{
    int name = 0;
    int rate = 0;
    for (int i = 0; i < v->crop->outlet_count; i++) {
        const ef_balance_outlet *outlet = &v->crop->outlets[i];
        efi_text cell = {0};
        efi_display_add(&cell, outlet->product ? &v->intake : small, outlet->flow.total_tph);
        const int rate_width = efi_text_width(efi_text_get(&cell));
        const int name_width = efi_text_width(outlet->name);
        efi_text_free(&cell);
        rate = rate_width > rate ? rate_width : rate;
        name = name_width > name ? name_width : name;
    }
    const int left = EFI_PAPER_WIDTH - BESIDE_MADE_OF - WIDEST_LINE - name - rate;
    return left > MADE_OF_LEAST ? left : MADE_OF_LEAST;
}

void efi_balance_add_outlets(efi_paper *paper, const efi_balance_view *v)
{
    double others = 0.0;
    for (int i = 0; i < v->crop->outlet_count; i++)
        if (!v->crop->outlets[i].product)
            others = larger(others, v->crop->outlets[i].flow.total_tph);
    const efi_display small = efi_display_choose(EFI_KIND_MASS_RATE, v->units, others, v->tpbu, NULL);
    static const efi_table_form form = {
        .name = "outlets", .caption = EFI_TR("Outlets: what leaves, and what it is made of"), .quiet = true};
    const efi_column columns[] = {{EFI_TR("Outlet"), 'l', 0, false},
                                  {EFI_TR_IN("of an outlet", "Use"), 'l', 0, false},
                                  {EFI_TR("Rate"), 'r', 0, false},
                                  {EFI_TR("Of intake"), 'r', 0, false},
                                  {EFI_TR_IN("of a file", "Line"), 'r', 0, false},
                                  {EFI_TR("Made of"), 'l', made_of_width(v, &small), false}};
    efi_paper_table(paper, &form, columns, EF_COUNT(columns));
    for (int i = 0; i < v->crop->outlet_count; i++) {
        const ef_balance_outlet *outlet = &v->crop->outlets[i];
        efi_paper_cell(paper, outlet->name);
        efi_paper_cell(paper, outlet->product ? efi_tr_in("use", "product") : efi_tr_in("use", "other"));
        efi_paper_show(paper, outlet->product ? &v->intake : &small, outlet->flow.total_tph);
        efi_paper_percent(paper, outlet->share_of_intake, 2);
        add_place_cell(paper, v, &outlet->place);
        add_composition(paper, v, &outlet->flow);
    }
}

/* "3.25 m3", or "115 ft3 (92 bu of room)". */
static const char *room(efi_paper *paper, const efi_balance_view *v, double volume_m3)
{
    efi_display bushels;
    const efi_piece volume = efi_piece_quantity(&v->bin_m3, volume_m3);
    if (v->units != EF_UNITS_US || !efi_display_in(EFI_KIND_VOLUME, "bu", volume_m3, 0.0, &bushels))
        return efi_paper_phrase(paper, "%s", volume.words);
    bushels.decimals = 0;
    return efi_paper_phrase(paper, efi_tr("%s (%s of room)"), volume.words,
                            efi_piece_quantity(&bushels, volume_m3).words);
}

static void add_bin(efi_paper *paper, const efi_balance_view *v, const ef_balance_bin *bin)
{
    const char *place = efi_balance_place(paper, v, &bin->place);
    if (!(bin->feed_tph > 0.0)) {
        efi_paper_wordsf(paper, EFI_DETAIL, efi_tr("%s (%s), above %s: nothing comes here."), bin->name,
                         place, bin->feeds);
        return;
    }
    const bool known = bin->has_live && bin->has_density && bin->feed_m3ph > 0.0;
    const bool smaller = known && bin->live_m3 < bin->rule_m3;
    const efi_piece feed = efi_piece_quantity(&v->mass, bin->feed_tph);
    efi_text words = {0};
    if (known)
        efi_text_addf(&words,
                      efi_tr("%s (%s), above %s: its live %s last %s at a feed of %s, returns included."),
                      bin->name, place, bin->feeds, room(paper, v, bin->live_m3),
                      efi_piece_duration(bin->live_minutes / 60.0).words, feed.words);
    else
        efi_text_addf(&words, efi_tr("%s (%s), above %s: the feed is %s, returns included."), bin->name,
                      place, bin->feeds, feed.words);
    const efi_piece rule = efi_piece_duration(bin->rule_h);
    const efi_piece asked = efi_piece_quantity(&v->bin_mass, bin->rule_t);
    const char *ask = bin->has_density ? efi_paper_phrase(paper, efi_tr("%s, that is %s"), asked.words,
                                                          room(paper, v, bin->rule_m3))
                                       : efi_paper_phrase(paper, "%s", asked.words);
    efi_text_addf(
        &words,
        smaller ? efi_tr(" The rule of %s asks for %s: this bin is SMALLER than the rule.")
        : known ? efi_tr(" The rule of %s asks for %s: this bin meets the rule.")
        : !bin->has_live
            ? efi_tr(" The rule of %s asks for %s; the scenario does not give the bin's live volume.")
            : efi_tr(" The rule of %s asks for %s; without a density of the crop its volume cannot be "
                     "compared."),
        rule.words, ask);
    efi_paper_say(paper, smaller ? EFI_WARNING : EFI_DETAIL, &words);
}

void efi_balance_add_bins(efi_paper *paper, const efi_balance_view *v)
{
    if (v->crop->bin_count > 0)
        efi_paper_gap(paper);
    for (int i = 0; i < v->crop->bin_count; i++)
        add_bin(paper, v, &v->crop->bins[i]);
}
