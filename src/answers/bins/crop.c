/* SPDX-License-Identifier: GPL-3.0-or-later
 * One crop before its bins are sized: balance, network, set rates, paths, traces. */
#include "answers/bins/crop.h"

#include "base/memory.h"
#include "shared/steady/steady.h"

#include <math.h>
#include <string.h>

/* Volumes stand in for bins of which none is said, m3; only shares of it count where paths are followed. */
#define STAND_IN_M3 1.0
/* What the rest of the line passes in the mean is more than what the steady-feed station takes by this share,
 * so that bins fill again between stops. Our choice; see docs/bins.md. */
#define RESERVE_SHARE 0.05
/* Traces to find out what the line holds, of so many shifts at the least: planned stops come round. */
#define TRIAL_TRACES 40
#define TRIAL_SHIFTS 5

void efi_bins_note(efi_bins_crop *crop, ef_bins_note note)
{
    for (size_t i = 0; i < crop->note_count; i++)
        if (crop->note[i].kind == note.kind && crop->note[i].feed == note.feed &&
            crop->note[i].station == note.station && crop->note[i].stop == note.stop)
            return;
    if (crop->note_count < EFI_BINS_NOTES_MOST)
        crop->note[crop->note_count++] = note;
    crop->out->note_count = (int)crop->note_count;
}

static const efi_station *station_of(const efi_bins_crop *crop, int line_station)
{
    return crop->line.stations[line_station].of;
}

/* ---- balance and network --------------------------------------------------------------------------------
 */

static ef_status balance(efi_bins_crop *crop)
{
    efi_steady_model model;
    efi_steady_search counts;
    efi_lp_outcome outcome = EFI_LP_FAILED;
    double value = 0.0;
    ef_status status = efi_steady_build(&model, crop->arena, &crop->line, EF_BALANCE_RATE);
    if (status == EF_OK)
        status = efi_steady_choose(&model, crop->arena, &outcome, &value, &counts);
    crop->out->feasible = status == EF_OK && outcome == EFI_LP_OPTIMAL && value > 0.0;
    crop->feeds_tph = model.feeds;
    crop->out->intake_tph = model.rates;
    crop->out->intake_count = crop->line.intake_count;
    crop->out->chosen_shares = crop->line.split_count > 0;
    efi_lp_free(model.lp);
    return status;
}

static ef_status take_memory(efi_bins_crop *crop)
{
    const size_t stations = (size_t)crop->line.station_count;
    crop->set_share = efi_arena_get(crop->arena, stations, sizeof *crop->set_share);
    crop->start_m3 = efi_arena_get(crop->arena, stations, sizeof *crop->start_m3);
    crop->now_m3 = efi_arena_get(crop->arena, stations, sizeof *crop->now_m3);
    crop->rule_m3 = efi_arena_get(crop->arena, stations, sizeof *crop->rule_m3);
    crop->needed_m3 = efi_arena_get(crop->arena, stations, sizeof *crop->needed_m3);
    crop->flow_tph = efi_arena_get(crop->arena, stations, sizeof *crop->flow_tph);
    crop->is_product = efi_arena_get(crop->arena, stations, sizeof *crop->is_product);
    crop->feed = efi_arena_get(crop->arena, stations, sizeof *crop->feed);
    crop->bin = efi_arena_get(crop->arena, stations, sizeof *crop->bin);
    crop->bin_line = efi_arena_get(crop->arena, stations, sizeof *crop->bin_line);
    crop->note = efi_arena_get(crop->arena, EFI_BINS_NOTES_MOST, sizeof *crop->note);
    const bool all = crop->set_share && crop->start_m3 && crop->now_m3 && crop->rule_m3 && crop->needed_m3 &&
                     crop->flow_tph && crop->is_product && crop->feed && crop->bin && crop->bin_line &&
                     crop->note;
    crop->out->notes = crop->note;
    crop->out->bins = crop->bin;
    return all ? EF_OK : EF_MEMORY;
}

/* The bins that the crop passes, and their volumes as they are. */
static void find_bins(efi_bins_crop *crop)
{
    const efi_line *line = &crop->line;
    for (int s = 0; s < line->station_count; s++) {
        crop->set_share[s] = 1.0;
        const double *feed = crop->feeds_tph + (size_t)s * (size_t)line->materials;
        if (line->stations[s].class != EFI_CLASS_BIN || !(efi_line_total(line, feed) > 0.0))
            continue;
        const efi_station *of = line->stations[s].of;
        const double volume = line->has_density ? efi_line_volume(line, feed) : 0.0;
        if (!(volume > 0.0)) {
            efi_bins_note(crop, (ef_bins_note){.kind = EF_BINS_WITHOUT_DENSITY, .station = of->name});
            continue;
        }
        const efi_value said = efi_station_live_m3(of, crop->number);
        const double now_m3 = said.given ? said.value : 0.0;
        crop->now_m3[s] = crop->needed_m3[s] = crop->rule_m3[s] = now_m3;
        crop->start_m3[s] = now_m3 > 0.0 ? now_m3 : STAND_IN_M3;
        crop->bin_line[crop->bin_count] = s;
        crop->bin[crop->bin_count++] = (ef_bins_bin){.name = of->name,
                                                     .choice = EF_BINS_OFF_PATH,
                                                     .has_now = said.given,
                                                     .now_m3 = now_m3,
                                                     .needed_m3 = now_m3,
                                                     .t_per_m3 = efi_line_total(line, feed) / volume};
    }
    crop->out->bin_count = crop->bin_count;
}

static ef_status build_plant(efi_bins_crop *crop)
{
    const efi_plant_options options = {.without_receipts = !crop->settings->with_receipts,
                                       .start_empty = crop->settings->with_receipts,
                                       .live_m3 = crop->start_m3,
                                       .set_share = crop->set_share};
    EF_TRY(efi_plant_build(&crop->plant, crop->arena, &crop->line, crop->feeds_tph, &options));
    for (int n = 0; n < crop->plant.network.stations; n++) {
        const int s = crop->plant.line_station[n];
        crop->flow_tph[n] = efi_line_total(&crop->line,
                                           crop->feeds_tph + (size_t)s * (size_t)crop->line.materials);
        crop->is_product[n] = station_of(crop, s)->product;
    }
    return EF_OK;
}

ef_status efi_bins_tell_trouble(efi_bins_crop *crop, const efi_network *network, const efi_trouble *trouble)
{
    ef_bins_crop *out = crop->out;
    efi_text text = {0};
    efi_trouble_where(trouble, network, &text);
    const char *where = text.failed ? NULL : efi_arena_text(crop->arena, efi_text_get(&text), text.length);
    efi_text_free(&text);
    efi_trouble_write(trouble, network, &text);
    const char *words = text.failed ? NULL : efi_arena_text(crop->arena, efi_text_get(&text), text.length);
    efi_text_free(&text);
    if (!where || !words)
        return EF_MEMORY;
    out->trouble = words;
    out->trouble_words = efi_trouble_text(trouble->kind);
    out->trouble_where = where;
    return EF_OK;
}

/* Can the network run at all? */
static ef_status check_network(efi_bins_crop *crop)
{
    efi_trouble trouble = {0};
    const ef_status status = efi_network_check(&crop->plant.network, &trouble);
    return status == EF_SCENARIO ? efi_bins_tell_trouble(crop, &crop->plant.network, &trouble) : status;
}

static bool anything_stops(const efi_bins_crop *crop)
{
    for (int n = 0; n < crop->plant.network.stations; n++)
        if (crop->plant.stations[n].modes > 0 || crop->plant.stations[n].loads.is_used)
            return true;
    return false;
}

static ef_status find_feeds(efi_bins_crop *crop)
{
    ef_bins_feed *out = efi_arena_get(crop->arena, (size_t)crop->plant.network.stations, sizeof *out);
    if (!out)
        return EF_MEMORY;
    for (int n = 0; n < crop->plant.network.stations; n++) {
        if (!crop->plant.stations[n].steady.is_steady)
            continue;
        efi_bins_feed *feed = &crop->feed[crop->feed_count];
        *feed = (efi_bins_feed){.station = n, .line_station = crop->plant.line_station[n]};
        feed->out = &out[crop->feed_count++];
        *feed->out = (ef_bins_feed){
            .name = crop->plant.stations[n].name, .balance_tph = crop->flow_tph[n], .knee = -1};
    }
    crop->out->feeds = out;
    crop->out->feed_count = crop->feed_count;
    return EF_OK;
}

/* ---- the set rate ---------------------------------------------------------------------------------------
 */

/* Mean capacities over all traces, of the measure: of each segment, and of the steady-feed station itself. */
static void mean_capacities(const efi_path_lines *lines, double *segment_tph, double *set_tph)
{
    *set_tph = 0.0;
    const double all_h = lines->traces * lines->line[0].to_h;
    for (int i = 0; i < lines->line[0].segments; i++)
        segment_tph[i] = 0.0;
    for (int t = 0; t < lines->traces; t++) {
        const efi_fluid_line *line = &lines->line[t];
        int next[EFI_FLUID_UNITS_MOST] = {0};
        for (double now_h = 0.0; now_h < line->to_h;) {
            double capacity[EFI_FLUID_SEGMENTS_MOST] = {0.0};
            double set = 0.0;
            const double end_h = fmin(efi_fluid_capacity(line, next, now_h, capacity, &set), line->to_h);
            for (int i = 0; i < line->segments; i++)
                segment_tph[i] += capacity[i] * (end_h - now_h) / all_h;
            *set_tph += set * (end_h - now_h) / all_h;
            now_h = end_h;
        }
    }
}

/* The station that makes a segment slow: the one that passes least in the mean, its own stops included. */
static const char *slow_station(const efi_bins_crop *crop, const efi_path *path, const efi_path_lines *lines,
                                int segment)
{
    const char *name = NULL;
    double least = INFINITY;
    for (int u = 0; u < path->units; u++) {
        const efi_path_unit *unit = &path->unit[u];
        double sum = 0.0;
        if (unit->segment != segment || unit->echo || unit->arrivals)
            continue;
        for (int t = 0; t < lines->traces; t++) {
            const efi_fluid_line *line = &lines->line[t];
            for (int m = 0; m < line->units; m++)
                if (line->unit[m].station == u)
                    sum += unit->capacity_tph *
                           (1.0 - efi_trace_stopped_h(line->unit[m].stops, line->to_h) / line->to_h);
        }
        if (sum < least) {
            least = sum;
            name = crop->plant.stations[unit->station].name;
        }
    }
    return name;
}

/* Sets the set rate: the balance's, or what the rest of the line holds with some reserve, stops included. */
static ef_status set_rate(efi_bins_crop *crop, efi_bins_feed *feed)
{
    const efi_path *path = &feed->path;
    efi_path_lines lines = {0};
    double segment_tph[EFI_FLUID_SEGMENTS_MOST] = {0.0};
    double set_tph = 0.0;
    const int shifts = crop->settings->shifts > TRIAL_SHIFTS ? crop->settings->shifts : TRIAL_SHIFTS;
    EF_TRY(efi_path_lay(path, crop->settings->seed, TRIAL_TRACES, shifts * crop->bins->shift_h, crop->threads,
                        &lines));
    mean_capacities(&lines, segment_tph, &set_tph);
    double least_tph = INFINITY;
    int slow = -1;
    for (int i = 0; i < path->segments; i++) {
        if (i != path->feed_segment && segment_tph[i] < least_tph) {
            least_tph = segment_tph[i];
            slow = i;
        }
    }
    ef_bins_feed *out = feed->out;
    const double own_tph = fmin(set_tph, segment_tph[path->feed_segment]);
    out->line_share = slow >= 0 && own_tph > 0.0 ? least_tph / own_tph : INFINITY;
    const double held = out->line_share / (1.0 + RESERVE_SHARE);
    const double share = crop->settings->rate_share > 0.0 ? crop->settings->rate_share : fmin(1.0, held);
    crop->set_share[feed->line_station] = share;
    out->set_tph = share * out->balance_tph;
    out->lowered = share < 1.0;
    out->slow = slow >= 0 && held < 1.0 ? slow_station(crop, path, &lines, slow) : NULL;
    efi_path_lines_free(&lines);
    if (out->slow && held < share)
        efi_bins_note(crop, (ef_bins_note){.kind = EF_BINS_SLOW_REFILL,
                                           .feed = out->name,
                                           .station = out->slow,
                                           .value = out->line_share / share});
    const efi_value least = crop->line.stations[feed->line_station].least_feed;
    if (least.given && out->set_tph < least.value)
        efi_bins_note(crop, (ef_bins_note){.kind = EF_BINS_BELOW_LEAST,
                                           .feed = out->name,
                                           .value = out->set_tph,
                                           .other = least.value});
    return EF_OK;
}

static ef_status follow(efi_bins_crop *crop, efi_bins_feed *feed)
{
    const ef_status status = efi_path_follow(&feed->path, crop->arena, &crop->plant, crop->flow_tph,
                                             crop->is_product, feed->station,
                                             crop->set_share[feed->line_station]);
    if (status != EF_USAGE)
        return status;
    efi_bins_note(crop, (ef_bins_note){.kind = EF_BINS_TOO_LONG, .feed = feed->out->name});
    feed->path.segments = 0;
    return EF_OK;
}

/* ---- what people should know ----------------------------------------------------------------------------
 */

static void note_stops(efi_bins_crop *crop, const efi_bins_feed *feed)
{
    const efi_path *path = &feed->path;
    for (int u = 0; u < path->units; u++) {
        const efi_path_unit *unit = &path->unit[u];
        const efi_network_station *of = &crop->plant.stations[unit->station];
        const efi_station *station = station_of(crop, crop->plant.line_station[unit->station]);
        if (unit->segment == path->feed_segment && unit->station != path->feed && of->modes > 0 &&
            !unit->echo)
            efi_bins_note(
                crop,
                (ef_bins_note){.kind = EF_BINS_NO_BIN_BETWEEN, .feed = feed->out->name, .station = of->name});
        for (int i = 0; i < station->stops.count && !unit->arrivals; i++)
            if (station->stops.items[i].lasts_h.value > crop->bins->shift_h)
                efi_bins_note(crop, (ef_bins_note){.kind = EF_BINS_LONG_STOP,
                                                   .station = of->name,
                                                   .stop = station->stops.items[i].name,
                                                   .value = station->stops.items[i].lasts_h.value});
    }
}

ef_bins_bin *efi_bins_bin_of(const efi_bins_crop *crop, int network_station)
{
    for (int b = 0; b < crop->bin_count; b++)
        if (crop->bin_line[b] == crop->plant.line_station[network_station])
            return &crop->bin[b];
    return NULL;
}

/* Holding bins by the rule, in m3: so many hours of all that the steady-feed station takes, returns included.
 */
static void apply_rule(efi_bins_crop *crop, const efi_bins_feed *feed)
{
    const efi_path *path = &feed->path;
    if (path->segments == 0 || path->feed_segment == 0)
        return;
    const efi_path_bin *holding = &path->bin[path->feed_segment - 1];
    ef_bins_bin *bin = holding->station >= 0 ? efi_bins_bin_of(crop, holding->station) : NULL;
    if (!bin)
        return;
    const double rule_m3 = feed->out->balance_tph * crop->bins->rule_h / bin->t_per_m3;
    bin->rule_m3 = bin->has_rule ? fmax(bin->rule_m3, rule_m3) : rule_m3;
    bin->has_rule = true;
    bin->holding = true;
    crop->rule_m3[crop->plant.line_station[holding->station]] = bin->rule_m3;
}

static ef_status describe_units(const efi_bins_crop *crop, const efi_path *path, ef_bins_feed *out)
{
    ef_bins_unit *units = efi_arena_get(crop->arena, (size_t)path->units, sizeof *units);
    if (!units)
        return EF_MEMORY;
    for (int u = 0; u < path->units; u++) {
        const efi_path_unit *unit = &path->unit[u];
        const efi_network_station *of = &crop->plant.stations[unit->station];
        units[u] = (ef_bins_unit){.station = of->name,
                                  .segment = unit->segment,
                                  .machines = unit->arrivals ? 1 : of->machines,
                                  .arrivals = unit->arrivals,
                                  .echo = unit->echo,
                                  .load_t = unit->arrivals ? path->load_t : 0.0,
                                  .capacity_tph = unit->capacity_tph,
                                  .flow_tph = unit->flow_tph,
                                  .back_tph = unit->back_tph,
                                  .running_share = unit->basis.running_share,
                                  .rate_tph = unit->basis.rate_tph};
        out->stations += !unit->echo && !unit->arrivals;
    }
    out->units = units;
    out->unit_count = path->units;
    return EF_OK;
}

static ef_status describe(const efi_bins_crop *crop, const efi_bins_feed *feed)
{
    ef_bins_feed *out = feed->out;
    const unsigned notes = feed->path.notes;
    out->split_before = notes & EFI_PATH_SPLIT_BEFORE;
    out->batches = notes & EFI_PATH_BATCHES;
    out->timed = notes & EFI_PATH_TIMED;
    out->parallel_before = notes & EFI_PATH_PARALLEL_BEFORE;
    out->parallel_behind = notes & EFI_PATH_PARALLEL_BEHIND;
    out->long_loop = notes & EFI_PATH_LONG_LOOP;
    out->many_intakes = notes & EFI_PATH_MANY_INTAKES;
    out->feed_between = notes & EFI_PATH_FEED_BETWEEN;
    out->segments = feed->path.segments;
    out->feed_segment = feed->path.feed_segment;
    out->net_tph = efi_bins_full_feed_tph(feed);
    return feed->path.segments > 0 ? describe_units(crop, &feed->path, out) : EF_OK;
}

/* ---- all of it ------------------------------------------------------------------------------------------
 */

static ef_status prepare_feeds(efi_bins_crop *crop)
{
    for (int f = 0; f < crop->feed_count; f++) {
        EF_TRY(follow(crop, &crop->feed[f]));
        if (crop->feed[f].path.segments > 0)
            EF_TRY(set_rate(crop, &crop->feed[f]));
    }
    EF_TRY(build_plant(crop));
    for (int f = 0; f < crop->feed_count; f++) {
        efi_bins_feed *feed = &crop->feed[f];
        EF_TRY(follow(crop, feed));
        EF_TRY(describe(crop, feed));
        apply_rule(crop, feed);
        if (feed->path.segments == 0)
            continue;
        note_stops(crop, feed);
        EF_TRY(efi_path_lay(&feed->path, crop->settings->seed, crop->settings->traces,
                            crop->settings->shifts * crop->bins->shift_h, crop->threads, &feed->lines));
    }
    return efi_bins_prepare_net(crop);
}

ef_status efi_bins_prepare(efi_bins_crop *crop, const ef_scenario *scenario)
{
    ef_bins_crop *out = crop->out;
    *out = (ef_bins_crop){.name = scenario->crops[crop->number].name,
                          .trade_weight_tpbu = scenario->crops[crop->number].trade_weight_tpbu.value};
    EF_TRY(efi_line_build(&crop->line, crop->arena, scenario, crop->number));
    EF_TRY(take_memory(crop));
    EF_TRY(balance(crop));
    if (!out->feasible)
        return EF_OK;
    find_bins(crop);
    EF_TRY(build_plant(crop));
    EF_TRY(check_network(crop));
    out->anything_stops = anything_stops(crop);
    if (out->trouble)
        return EF_OK;
    EF_TRY(find_feeds(crop));
    return prepare_feeds(crop);
}

void efi_bins_crop_free(efi_bins_crop *crop)
{
    efi_sizing_close(crop->net.search);
    efi_net_free(crop->net.traces);
    for (int f = 0; f < crop->feed_count; f++) {
        efi_sizing_close(crop->feed[f].search);
        efi_path_lines_free(&crop->feed[f].lines);
    }
}
