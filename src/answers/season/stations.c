/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "answers/season/stations.h"

#include "base/text.h"
#include "base/tongue.h"
#include "shared/line/line.h"

/* ---- which stations -------------------------------------------------------------------------------------
 */

static bool holds_for(const efi_changeover *rule, int line)
{
    for (int i = 0; i < rule->lines.count; i++)
        if (rule->lines.items[i] == line)
            return true;
    return rule->lines.count == 0;
}

static bool is_cleaned_there(const efi_station_cleaning *one)
{
    const bool takes = one->takes_h.given && one->takes_h.value > 0.0;
    const bool entered = one->bin_entry_h.given && one->bin_entry_h.value > 0.0;
    return one->station >= 0 && (takes || entered);
}

/* Marks the stations (shape [station]) that rules for a line name and that are not another line's. */
static void mark_named(const ef_scenario *scenario, int line, bool *named)
{
    const efi_season *season = scenario->season;
    for (int r = 0; r < season->changeover_count; r++) {
        const efi_changeover *rule = &season->changeovers[r];
        for (int s = 0; s < rule->station_count && holds_for(rule, line); s++) {
            const int station = rule->stations[s].station;
            if (!is_cleaned_there(&rule->stations[s]))
                continue;
            const int of = scenario->stations[station].line;
            named[station] = named[station] || scenario->line_count == 0 || of < 0 || of == line;
        }
    }
}

/* ---- the way of a crop ----------------------------------------------------------------------------------
 */

typedef struct walker {
    const efi_line *line;
    int number;  /* of the line to be cleaned */
    bool *seen;  /* shape [line station] */
    int *stack;  /* the same */
    double *far; /* the same: hours of travel to it; < 0: not on the way */
} walker;

static bool may_pass(const walker *w, int station)
{
    const int of = w->line->stations[station].of->line;
    return w->line->scenario->line_count == 0 || of < 0 || of == w->number;
}

/* Does seed come from an intake to a product without a station (-1: with all)? */
static bool comes_through(const walker *w, int without)
{
    int count = 0;
    for (int s = 0; s < w->line->station_count; s++)
        w->seen[s] = s == without || !may_pass(w, s);
    for (int i = 0; i < w->line->intake_count; i++) {
        const int s = w->line->intakes[i];
        if (!w->seen[s])
            w->stack[count++] = s;
        w->seen[s] = true;
    }
    while (count > 0) {
        const int s = w->stack[--count];
        if (w->line->stations[s].of->product)
            return true;
        for (int k = w->line->first_out[s]; k < w->line->first_out[s + 1]; k++) {
            const int to = w->line->spouts[k].to;
            if (!w->seen[to])
                w->stack[count++] = to;
            w->seen[to] = true;
        }
    }
    return false;
}

/* Hours of travel from one station to the feed of a later one, on the longest way. */
static double travel(const walker *w, int from, int to)
{
    for (int s = from; s <= to; s++)
        w->far[s] = s == from ? 0.0 : -1.0;
    for (int s = from; s < to; s++) {
        const efi_value own = w->line->stations[s].of->travel_h;
        const double far_h = w->far[s] + (own.given ? own.value : 0.0);
        for (int k = w->line->first_out[s]; k < w->line->first_out[s + 1] && w->far[s] >= 0.0; k++) {
            const int next = w->line->spouts[k].to;
            if (next > s && next <= to && may_pass(w, next) && far_h > w->far[next])
                w->far[next] = far_h;
        }
    }
    return w->far[to] > 0.0 ? w->far[to] : 0.0;
}

/* Tonnes of intake of the line for which the bins between two stations have room. */
static double room_between(const walker *w, const efi_crop_rate *rate, int from, int to)
{
    double room_t = 0.0;
    const double intake_tph = rate->balance_tph * rate->line_share[w->number];
    for (int s = from + 1; s < to; s++) {
        const efi_line_station *one = &w->line->stations[s];
        if (one->of->kind != EFI_STATION_BIN || !may_pass(w, s) || comes_through(w, s))
            continue;
        const efi_value live_m3 = efi_station_live_m3(one->of, w->line->crop);
        const double m3ph = rate->m3ph[one->station];
        if (live_m3.given && m3ph > 0.0)
            room_t += live_m3.value * intake_tph / m3ph;
    }
    return room_t;
}

/* ---- from crops to the line -----------------------------------------------------------------------------
 */

typedef struct finder {
    const efi_season_rates *rates;
    efi_arena *arena;
    efi_line_way *way;
    int line;
    const bool *named; /* shape [station] */
    bool has_crop;     /* one has been looked at */
} finder;

/* The line is cleared: what is the matter, with %s for a name. */
static ef_status clear_it(finder *f, const char *name, const char *why)
{
    efi_text words = {0};
    efi_text_add_with(&words, why, name);
    f->way->cleared_by = name;
    f->way->cleared_why = why;
    f->way->cleared = words.failed ? NULL : efi_arena_text(f->arena, words.bytes, words.length);
    f->way->count = 0;
    efi_text_free(&words);
    return f->way->cleared ? EF_OK : EF_MEMORY;
}

/* The named stations of a crop along its way, into `at` (numbers of its line). */
static ef_status put_in_order(finder *f, const walker *w, int crop, int *at)
{
    const ef_scenario *scenario = f->rates->scenario;
    int named = 0;
    int count = 0;
    for (int s = 0; s < scenario->station_count; s++)
        named += f->named[s];
    if (!comes_through(w, -1))
        return clear_it(f, scenario->crops[crop].name,
                        EFI_TR("%s has no way from an intake to a product on this line alone"));
    for (int s = 0; s < w->line->station_count; s++) {
        const int station = w->line->stations[s].station;
        if (!f->named[station])
            continue;
        if (scenario->line_count > 1 && scenario->stations[station].line < 0)
            return clear_it(f, scenario->stations[station].name, EFI_TR("%s is shared with other lines"));
        if (comes_through(w, s))
            return clear_it(f, scenario->stations[station].name,
                            EFI_TR("%s is passed by some seed on another way"));
        if (f->has_crop && (count >= f->way->count || f->way->station[count] != station))
            return clear_it(f, scenario->crops[crop].name,
                            EFI_TR("%s passes the stations in an order of its own"));
        f->way->station[count] = station;
        at[count++] = s;
    }
    if (count < named)
        return clear_it(f, scenario->crops[crop].name,
                        EFI_TR("%s does not pass all the stations that the rules name"));
    f->way->count = count;
    return EF_OK;
}

static ef_status measure(finder *f, const walker *w, int crop, const int *at)
{
    const efi_crop_rate *rate = &f->rates->crop[crop];
    efi_crop_way *way = &f->way->crop[crop];
    double most = 0.0;
    way->is_known = true;
    for (int m = 0; m < f->way->count; m++) {
        const double load = rate->load[f->way->station[m]];
        if (load > most) {
            most = load;
            way->slowest = m;
        }
    }
    if (!(most > 0.0))
        return clear_it(f, f->rates->scenario->crops[crop].name,
                        EFI_TR("%s has no load at these stations in the balance"));
    for (int m = 0; m < f->way->count; m++) {
        way->share[m] = rate->load[f->way->station[m]] / most;
        if (m == 0)
            continue;
        const double delay_h = travel(w, at[m - 1], at[m]);
        way->room_t[m - 1] = room_between(w, rate, at[m - 1], at[m]);
        f->way->delay_h[m] = delay_h > f->way->delay_h[m] ? delay_h : f->way->delay_h[m];
    }
    return EF_OK;
}

static ef_status look_at_crop(finder *f, int crop)
{
    int at[EFI_SEASON_MOST_STATIONS];
    efi_line line;
    efi_arena *arena = efi_arena_new();
    ef_status status = arena ? efi_line_build(&line, arena, f->rates->scenario, crop) : EF_MEMORY;
    if (status == EF_OK) {
        const size_t count = (size_t)line.station_count;
        walker w = {.line = &line,
                    .number = f->line,
                    .seen = efi_arena_get(arena, count, sizeof *w.seen),
                    .stack = efi_arena_get(arena, count, sizeof *w.stack),
                    .far = efi_arena_get(arena, count, sizeof *w.far)};
        status = w.seen && w.stack && w.far ? put_in_order(f, &w, crop, at) : EF_MEMORY;
        if (status == EF_OK && f->way->count > 0)
            status = measure(f, &w, crop, at);
    }
    f->has_crop = true;
    efi_arena_free(arena);
    return status;
}

ef_status efi_season_find_way(const efi_season_rates *rates, efi_arena *arena, int line, efi_line_way *way)
{
    const ef_scenario *scenario = rates->scenario;
    bool *named = efi_arena_get(arena, (size_t)scenario->station_count, sizeof *named);
    finder f = {.rates = rates, .arena = arena, .way = way, .line = line, .named = named};
    int count = 0;
    *way = (efi_line_way){.cleared = "",
                          .cleared_by = "",
                          .cleared_why = "",
                          .crop = efi_arena_get(arena, (size_t)scenario->crop_count, sizeof *way->crop)};
    if (!named || !way->crop)
        return EF_MEMORY;
    mark_named(scenario, line, named);
    for (int s = 0; s < scenario->station_count; s++)
        count += named[s];
    if (count == 0)
        return clear_it(&f, "", EFI_TR("no rule says how long one of its stations takes"));
    if (count > EFI_SEASON_MOST_STATIONS)
        return clear_it(&f, "", EFI_TR("the rules name more than eight of its stations"));
    for (int crop = 0; crop < scenario->crop_count && !*way->cleared; crop++)
        if (rates->crop[crop].is_wanted && rates->crop[crop].passes[line])
            EF_TRY(look_at_crop(&f, crop));
    if (!f.has_crop)
        return clear_it(&f, "", EFI_TR("no lot passes it"));
    return EF_OK;
}

/* ---- what is cleaned ------------------------------------------------------------------------------------
 */

double efi_season_station_hours(const ef_scenario *scenario, const efi_line_way *way,
                                const efi_changeover *rule, int crop, int place)
{
    double hours = 0.0;
    efi_value bin_entry_h = {0};
    bool names_any = false;
    for (int s = 0; rule && s < rule->station_count; s++) {
        for (int m = 0; m < way->count; m++) {
            if (rule->stations[s].station != way->station[m])
                continue;
            names_any = true;
            if (m != place)
                continue;
            hours = rule->stations[s].takes_h.given ? rule->stations[s].takes_h.value : 0.0;
            bin_entry_h = rule->stations[s].bin_entry_h;
        }
    }
    if (rule && !names_any && way->crop[crop].slowest == place) {
        hours = rule->takes_h.given ? rule->takes_h.value : 0.0;
        bin_entry_h = rule->bin_entry_h;
    }
    return efi_clean_hours(scenario->season, hours, bin_entry_h);
}
