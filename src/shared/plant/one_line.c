/* SPDX-License-Identifier: GPL-3.0-or-later
 * One line of a plant of several: its stations, and its parts of those that it shares. */
#include "shared/plant/running.h"

#include <math.h>
#include <string.h>

/* A part that misses the whole by no more than this is the whole; so is a rate. */
#define WHOLE 1e-12

typedef struct keeper {
    efi_running *running;
    efi_arena *arena;
    int line;
    unsigned *reach;      /* shape [line stations]: lines that what leaves it comes to next, as bits */
    bool *drops;          /* shape [spouts]: leads to other lines alone */
    const double **share; /* shape [spouts]: as they are with all lines */
    double *rate_tph;     /* shape [intakes]: of the line */
    double *own_tph;      /* shape [stations][materials]: its feeds */
    double *sum_tph;      /* shape [stations]: feeds of all lines, each alone, together */
} keeper;

static int line_of(const keeper *k, int station)
{
    return k->running->line.stations[station].of->line;
}

/* ---- who leads where ------------------------------------------------------------------------------------
 */

static unsigned lines_at(const keeper *k, int station)
{
    const int line = line_of(k, station);
    return line >= 0 ? 1u << line : k->reach[station];
}

/* Through shared stations alone: what has come to a line is that line's. */
static void find_reach(keeper *k)
{
    const efi_line *line = &k->running->line;
    bool has_changed = true;
    while (has_changed) {
        has_changed = false;
        for (int e = 0; e < line->spout_count; e++) {
            unsigned *from = &k->reach[line->spouts[e].from];
            const unsigned lines = *from | lines_at(k, line->spouts[e].to);
            has_changed = has_changed || lines != *from;
            *from = lines;
        }
    }
}

static bool leads_elsewhere(const keeper *k, int spout)
{
    const unsigned lines = lines_at(k, k->running->line.spouts[spout].to);
    return lines != 0 && !(lines & 1u << k->line);
}

/* Is the station the line's own, or a shared one on the way to it? */
static bool is_before(const keeper *k, int station)
{
    const int line = line_of(k, station);
    return line == k->line || (line < 0 && k->reach[station] & 1u << k->line);
}

/* Finds the spouts that lead away; only a split may send a lot into one of several lines. */
static ef_status find_drops(keeper *k, efi_running_tangle *tangle)
{
    const efi_line *line = &k->running->line;
    for (int e = 0; e < line->spout_count; e++) {
        const efi_line_spout *spout = &line->spouts[e];
        k->drops[e] = is_before(k, spout->from) && leads_elsewhere(k, e);
        if (!k->drops[e] || line->stations[spout->from].of->kind == EFI_STATION_SPLIT)
            continue;
        *tangle = (efi_running_tangle){.from = spout->from, .to = spout->to};
        return EF_NO_ANSWER;
    }
    return EF_OK;
}

/* ---- shares and rates -----------------------------------------------------------------------------------
 */

/* Sends what a split gave to other lines to the branches that stay. */
static ef_status share_out(keeper *k, int station)
{
    efi_line *line = &k->running->line;
    double stays = 0.0;
    bool has_drop = false;
    for (int e = line->first_out[station]; e < line->first_out[station + 1]; e++) {
        has_drop = has_drop || k->drops[e];
        stays += k->drops[e] ? 0.0 : efi_line_branch(line, e);
    }
    for (int e = line->first_out[station]; has_drop && e < line->first_out[station + 1]; e++) {
        double *share = efi_arena_get(k->arena, (size_t)line->materials, sizeof *share);
        if (!share)
            return EF_MEMORY;
        for (int m = 0; m < line->materials && !k->drops[e] && stays > 0.0; m++)
            share[m] = efi_line_branch(line, e) / stays;
        line->spouts[e].share = share;
    }
    return EF_OK;
}

/* So many times the intake of all lines, at these shares, is the line's own: where it stands at one of the
 * line's stations the feed that this has with all lines. */
static double own_share(const keeper *k, const double *all_tph, const double *own_tph)
{
    const efi_line *line = &k->running->line;
    double most = 0.0;
    for (int s = 0; s < line->station_count; s++) {
        const size_t at = (size_t)s * (size_t)line->materials;
        const double all = efi_line_total(line, all_tph + at);
        if (line_of(k, s) == k->line && all > 0.0)
            most = fmax(most, efi_line_total(line, own_tph + at) / all);
    }
    return most > 0.0 ? (fabs(most - 1.0) <= WHOLE ? 1.0 : 1.0 / most) : 0.0;
}

/* What a line takes alone, and the feeds that makes; nothing where the balance sends nothing to it. */
static ef_status find_feeds(keeper *k, int of, efi_running_tangle *tangle)
{
    efi_line *line = &k->running->line;
    k->line = of;
    for (int e = 0; e < line->spout_count; e++)
        line->spouts[e].share = k->share[e];
    EF_TRY(find_drops(k, tangle));
    for (int s = 0; s < line->station_count; s++)
        if (line->stations[s].of->kind == EFI_STATION_SPLIT)
            EF_TRY(share_out(k, s));
    for (int i = 0; i < line->intake_count; i++)
        k->rate_tph[i] = is_before(k, line->intakes[i]) ? k->running->model.rates[i] : 0.0;
    EF_TRY(efi_line_flows(line, k->rate_tph, k->own_tph));
    const double share = own_share(k, k->running->model.feeds, k->own_tph);
    for (int i = 0; i < line->intake_count; i++)
        k->rate_tph[i] *= share;
    for (int i = 0; i < line->station_count * line->materials; i++)
        k->own_tph[i] *= share;
    for (int s = 0; s < line->station_count; s++)
        k->sum_tph[s] += efi_line_total(line, k->own_tph + (size_t)s * (size_t)line->materials);
    return EF_OK;
}

/* The feeds of the other lines, and then of the one that is kept. */
static ef_status find_all(keeper *k, int kept, efi_running_tangle *tangle)
{
    const int lines = k->running->line.scenario->line_count;
    for (int of = 0; of < lines; of++) {
        efi_running_tangle ignored;
        const ef_status status = of == kept ? EF_OK : find_feeds(k, of, &ignored);
        if (status != EF_OK && status != EF_NO_ANSWER)
            return status;
    }
    return find_feeds(k, kept, tangle);
}

static ef_status take_memory(keeper *k)
{
    const efi_line *line = &k->running->line;
    const size_t stations = (size_t)line->station_count;
    const size_t spouts = (size_t)line->spout_count;
    k->reach = efi_arena_get(k->arena, stations, sizeof *k->reach);
    k->drops = efi_arena_get(k->arena, spouts, sizeof *k->drops);
    k->share = efi_arena_get(k->arena, spouts, sizeof *k->share);
    k->rate_tph = efi_arena_get(k->arena, (size_t)line->intake_count, sizeof *k->rate_tph);
    k->own_tph = efi_arena_get(k->arena, stations * (size_t)line->materials, sizeof *k->own_tph);
    k->sum_tph = efi_arena_get(k->arena, stations, sizeof *k->sum_tph);
    k->running->part = efi_arena_get(k->arena, stations, sizeof *k->running->part);
    if (!k->reach || !k->drops || !k->share || !k->rate_tph || !k->own_tph || !k->sum_tph ||
        !k->running->part)
        return EF_MEMORY;
    for (int e = 0; e < line->spout_count; e++)
        k->share[e] = line->spouts[e].share;
    return EF_OK;
}

ef_status efi_running_keep_line(efi_running *running, efi_arena *arena, int line, efi_running_tangle *tangle)
{
    const efi_line *of = &running->line;
    keeper k = {.running = running, .arena = arena};
    *tangle = (efi_running_tangle){-1, -1};
    EF_TRY(take_memory(&k));
    find_reach(&k);
    EF_TRY(find_all(&k, line, tangle));
    running->rate_tph = 0.0;
    for (int i = 0; i < of->intake_count; i++)
        running->rate_tph += k.rate_tph[i];
    for (int s = 0; s < of->station_count; s++) {
        const double own = efi_line_total(of, k.own_tph + (size_t)s * (size_t)of->materials);
        const double part = k.sum_tph[s] > 0.0 ? own / k.sum_tph[s] : 1.0;
        running->part[s] = line_of(&k, s) == line || part >= 1.0 - WHOLE ? 1.0 : part;
    }
    running->model.rates = k.rate_tph;
    running->model.feeds = k.own_tph;
    return running->rate_tph > 0.0 ? EF_OK : EF_NO_ANSWER;
}
