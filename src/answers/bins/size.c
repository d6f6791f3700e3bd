/* SPDX-License-Identifier: GPL-3.0-or-later
 * Volumes of one crop: what may be chosen about each bin, the search, the curve. */
#include "answers/bins/crop.h"
#include "answers/bins/steel.h"
#include "base/memory.h"

#include <math.h>
#include <string.h>

/* Points of the curve less apart than this, full-feed h a shift, are one. */
#define SAME_H 1e-6
/* Against late loads, of volumes alike the one nearer to the intake is taken: each bin on the way from there
 * counts dearer by this share. */
#define NEARER_SHARE 1e-3
/* Full-feed hours a shift that lack of room has to cost before it is told. */
#define NOTED_H (1.0 / 60.0)
/* Shortfalls of the curve beyond what is unavoidable, minutes of full feed a shift. */
static const double curve_minutes[] = {0.0, 0.25, 0.5, 1.0, 2.0, 3.0, 5.0, 8.0, 12.0, 20.0, 30.0, 45.0};

/* m3 of a bin for each tonne of the measure. */
static double m3_per_t(const efi_bins_crop *crop, const efi_path_bin *bin)
{
    return bin->t_per_t / crop->plant.t_per_m3[bin->station];
}

/* ---- what may be chosen ---------------------------------------------------------------------------------
 */

static ef_status choose_sizes(const efi_bins_crop *crop, const efi_bin_choice *choice, double m3_per,
                              efi_sizing_bin *out)
{
    const size_t count = (size_t)choice->sizes.count;
    double *size = efi_arena_get(crop->arena, count, sizeof *size);
    double *cost = efi_arena_get(crop->arena, count, sizeof *cost);
    if (!size || !cost)
        return EF_MEMORY;
    for (int k = 0; k < choice->sizes.count; k++) {
        const efi_bin_size *one = &choice->sizes.items[k];
        size[k] = one->volume_m3.value / m3_per;
        cost[k] = one->cost.given ? one->cost.value : out->cost * size[k] + out->fixed_cost;
        out->most_t = k == 0 ? size[k] : fmax(out->most_t, size[k]);
    }
    out->size = size;
    out->size_cost = cost;
    out->sizes = choice->sizes.count;
    return EF_OK;
}

/* Where the scenario lists standard bins and this one says no sizes of its own, one of those that go there,
 * by what they hold of the crop, of all looked at, that they hold least of. */
static ef_status choose_standards(const efi_bins_crop *crop, int line_station, double m3_per,
                                  efi_sizing_bin *out)
{
    const ef_scenario *scenario = crop->line.scenario;
    const size_t most = (size_t)scenario->standard_bin_count;
    if (most == 0)
        return EF_OK;
    double *size = efi_arena_get(crop->arena, most, sizeof *size);
    double *cost = efi_arena_get(crop->arena, most, sizeof *cost);
    int *standard = efi_arena_get(crop->arena, most, sizeof *standard);
    efi_steel_need *need = efi_arena_get(crop->arena, (size_t)scenario->crop_count, sizeof *need);
    if (!size || !cost || !standard || !need)
        return EF_MEMORY;
    const bool all = crop->settings->crop < 0;
    for (int c = 0; c < crop->bins->crop_count; c++)
        need[c].crop = all ? c : crop->number;
    const int count = efi_steel_standards(scenario, crop->line.stations[line_station].station, need,
                                          crop->bins->crop_count, size, standard);
    for (int k = 0; k < count; k++) {
        const efi_value own = scenario->standard_bins[standard[k]].cost;
        size[k] /= m3_per;
        cost[k] = own.given ? own.value : out->cost * size[k] + out->fixed_cost;
        out->most_t = size[k];
    }
    out->size = count > 0 ? size : NULL;
    out->size_cost = count > 0 ? cost : NULL;
    out->sizes = count;
    return EF_OK;
}

/* A bin whose volume is not chosen costs nothing and stays as it is. */
static efi_sizing_bin fixed_at(double volume_t)
{
    return (efi_sizing_bin){.least_t = volume_t, .most_t = volume_t};
}

ef_status efi_bins_choose(efi_bins_crop *crop, const efi_bins_place *place, efi_sizing_bin *out)
{
    static const efi_bin_choice anything = {0};
    const int s = crop->plant.line_station[place->station];
    ef_bins_bin *bin = efi_bins_bin_of(crop, place->station);
    const efi_bin_choice *said = crop->line.stations[s].of->choice;
    const efi_bin_choice *choice = said ? said : &anything;
    const double m3_per = place->m3_per_t;
    if (choice->keep || !place->matters) {
        if (bin->choice == EF_BINS_OFF_PATH)
            bin->choice = choice->keep ? EF_BINS_KEPT : EF_BINS_NOTHING_STOPS;
        *out = fixed_at(crop->now_m3[s] / m3_per);
        return EF_OK;
    }
    bin->choice = EF_BINS_SIZED;
    *out = (efi_sizing_bin){.cost = (choice->cost.given ? choice->cost.value : crop->bins->usual_cost) *
                                    m3_per,
                            .fixed_cost = choice->fixed_cost.given ? choice->fixed_cost.value : 0.0,
                            .least_t = choice->least_m3.given ? choice->least_m3.value / m3_per : 0.0,
                            .most_t = fmax(EFI_BINS_MOST_HOURS * place->flow_tph, crop->now_m3[s] / m3_per)};
    if (place->parts_lines) /* smaller than it is, it would let one line hold up another, which the path does
                              not show */
        out->least_t = fmax(out->least_t, crop->now_m3[s] / m3_per);
    if (choice->sizes.count > 0)
        EF_TRY(choose_sizes(crop, choice, m3_per, out));
    else
        EF_TRY(choose_standards(crop, s, m3_per, out));
    if (choice->most_m3.given)
        out->most_t = choice->most_m3.value / m3_per;
    out->most_t = fmax(out->most_t, out->least_t);
    return EF_OK;
}

static ef_status choose_bin(efi_bins_crop *crop, efi_bins_feed *feed, int j)
{
    const efi_path_bin *from = &feed->path.bin[j];
    if (from->station < 0) {
        feed->choice[j] = fixed_at(from->volume_t);
        return EF_OK;
    }
    const efi_bins_place place = {.station = from->station,
                                  .m3_per_t = m3_per_t(crop, from),
                                  .flow_tph = feed->path.net_tph,
                                  .matters = from->matters,
                                  .parts_lines = from->parts_lines};
    EF_TRY(efi_bins_choose(crop, &place, &feed->choice[j]));
    if (crop->settings->with_receipts && !crop->bins->has_costs)
        feed->choice[j].cost *= 1.0 + NEARER_SHARE * j;
    return EF_OK;
}

/* ---- the search -----------------------------------------------------------------------------------------
 */

/* Where there is room for so little that much more is short than with bins of any volume. */
static ef_status note_room(efi_bins_crop *crop, const efi_bins_feed *feed, const double *most_t,
                           double full_t)
{
    double any_t[EFI_FLUID_SEGMENTS_MOST];
    double shortfall_t = 0.0;
    int tight = -1;
    for (int j = 0; j < feed->path.segments - 1; j++) {
        const efi_sizing_bin *choice = &feed->choice[j];
        any_t[j] = choice->most_t > choice->least_t
                       ? fmax(most_t[j], EFI_BINS_MOST_HOURS * feed->path.net_tph)
                       : most_t[j];
        if (any_t[j] > most_t[j] && (tight < 0 || feed->path.bin[j].before))
            tight = j;
    }
    if (tight < 0)
        return EF_OK;
    EF_TRY(efi_sizing_shortfall(&feed->sizing, any_t, &shortfall_t, NULL));
    if (feed->unavoidable_t - shortfall_t > NOTED_H * full_t)
        efi_bins_note(crop,
                      (ef_bins_note){.kind = EF_BINS_NO_ROOM,
                                     .feed = feed->out->name,
                                     .station = crop->plant.stations[feed->path.bin[tight].station].name,
                                     .value = feed->unavoidable_t / full_t,
                                     .other = shortfall_t / full_t});
    return EF_OK;
}

static ef_status open_search(efi_bins_crop *crop, efi_bins_feed *feed)
{
    const ef_bins_settings *settings = crop->settings;
    const size_t bins = (size_t)feed->path.segments;
    feed->choice = efi_arena_get(crop->arena, bins, sizeof *feed->choice);
    feed->volume_t = efi_arena_get(crop->arena, bins, sizeof *feed->volume_t);
    if (!feed->choice || !feed->volume_t)
        return EF_MEMORY;
    for (int j = 0; j < feed->path.segments - 1; j++)
        EF_TRY(choose_bin(crop, feed, j));
    feed->sizing = (efi_sizing){.traces = settings->traces,
                                .line = feed->lines.line,
                                .bin = feed->choice,
                                .tail_share = settings->aim == EF_BINS_TAIL ? settings->tail_share : 1.0,
                                .threads = crop->threads,
                                .go_on = crop->go_on,
                                .context = crop->context};
    feed->search = efi_sizing_open(&feed->sizing);
    if (!feed->search)
        return EF_MEMORY;
    double most_t[EFI_FLUID_SEGMENTS_MOST];
    for (int j = 0; j < feed->path.segments - 1; j++)
        most_t[j] = feed->choice[j].most_t;
    EF_TRY(efi_sizing_shortfall(&feed->sizing, most_t, &feed->unavoidable_t, NULL));
    const double full_t = efi_bins_full_feed_tph(feed) * settings->shifts;
    EF_TRY(note_room(crop, feed, most_t, full_t));
    feed->out->unavoidable_h = feed->unavoidable_t / full_t;
    feed->excess_t = settings->aim == EF_BINS_NONE_SHORT ? 0.0 : settings->aim_h * full_t;
    return EF_OK;
}

efi_sizing_aim efi_bins_aim(const efi_bins_crop *crop, const efi_bins_feed *feed)
{
    if (crop->settings->aim == EF_BINS_PRICE)
        /* a tonne short a shift, of all that the station takes, is `shifts` a trace of the measure */
        return (efi_sizing_aim){.target_t = 0.0,
                                .priced = true,
                                .price = crop->settings->price * feed->out->balance_tph / feed->path.net_tph /
                                         crop->settings->shifts};
    return (efi_sizing_aim){.target_t = feed->unavoidable_t + feed->excess_t};
}

/* A volume as it can be built: up to the next of two digits, within what there is room for. */
static double rounded_up(double volume_m3, double most_m3)
{
    if (!(volume_m3 > EFI_FLUID_LEAST_T * 10.0))
        return 0.0;
    const double step = pow(10.0, floor(log10(volume_m3)) - 1.0);
    const double up = ceil(volume_m3 / step * (1.0 - 1e-6)) * step;
    return fmin(up, fmax(most_m3, volume_m3));
}

/* What is drawn from a bin at the most, t/h: what the first machine that limits takes, or what passes. */
static double drawn_from(const efi_bins_crop *crop, int bin)
{
    const efi_network *network = &crop->plant.network;
    for (int k = 0; k < network->spouts; k++) {
        if (network->spout[k].from != bin)
            continue;
        const efi_network_station *to = &network->station[network->spout[k].to];
        const double most_tph = to->capacity_tph * to->machines;
        return isfinite(most_tph) && most_tph > 0.0 ? most_tph : crop->flow_tph[bin];
    }
    return 0.0;
}

static void keep_volume(efi_bins_crop *crop, const efi_bins_feed *feed, int j)
{
    const efi_path_bin *from = &feed->path.bin[j];
    const efi_sizing_bin *choice = &feed->choice[j];
    if (from->station < 0)
        return;
    ef_bins_bin *bin = efi_bins_bin_of(crop, from->station);
    const double m3_per = m3_per_t(crop, from);
    if (!(choice->most_t > choice->least_t)) {
        if (!bin->feed) {
            bin->feed = feed->out->name;
            bin->before = from->before;
            bin->optimum_m3 = bin->needed_m3 = feed->volume_t[j] * m3_per;
            bin->through_tph = efi_bins_full_feed_tph(feed) * from->t_per_t;
        }
        return;
    }
    const double optimum_m3 = feed->volume_t[j] * m3_per;
    if (bin->feed && bin->choice == EF_BINS_SIZED && bin->optimum_m3 >= optimum_m3 &&
        bin->feed != feed->out->name)
        return;
    bin->feed = feed->out->name;
    bin->before = from->before;
    bin->parts_lines = from->parts_lines;
    bin->through_tph = efi_bins_full_feed_tph(feed) * from->t_per_t;
    bin->optimum_m3 = optimum_m3;
    bin->drawn_tph = drawn_from(crop, from->station);
    bin->needed_m3 = choice->sizes > 0 ? optimum_m3 : rounded_up(optimum_m3, choice->most_t * m3_per);
    bin->lasts_h = bin->needed_m3 * bin->t_per_m3 / (bin->holding ? feed->out->set_tph : bin->through_tph);
    bin->at_most = choice->sizes == 0 && feed->volume_t[j] >= choice->most_t * (1.0 - 1e-9);
    crop->needed_m3[crop->plant.line_station[from->station]] = bin->needed_m3;
    if (bin->at_most)
        efi_bins_note(crop, (ef_bins_note){.kind = EF_BINS_AT_MOST,
                                           .feed = feed->out->name,
                                           .station = bin->name,
                                           .value = bin->needed_m3});
}

static ef_status describe_links(const efi_bins_crop *crop, const efi_bins_feed *feed)
{
    const int count = feed->path.segments - 1;
    ef_bins_link *links = efi_arena_get(crop->arena, (size_t)count, sizeof *links);
    if (!links)
        return EF_MEMORY;
    for (int j = 0; j < count; j++) {
        const efi_path_bin *from = &feed->path.bin[j];
        const efi_sizing_bin *choice = &feed->choice[j];
        links[j] = (ef_bins_link){.bin = from->station < 0 ? NULL : crop->plant.stations[from->station].name,
                                  .t_per_t = from->t_per_t,
                                  .start_share = from->start_share,
                                  .volume_t = feed->volume_t[j],
                                  .least_t = choice->least_t,
                                  .most_t = choice->most_t,
                                  .cost_per_t = choice->cost,
                                  .by_size = choice->sizes > 0 || choice->fixed_cost > 0.0};
    }
    feed->out->links = links;
    return EF_OK;
}

ef_status efi_bins_keep(efi_bins_crop *crop, efi_bins_feed *feed)
{
    for (int j = 0; j < feed->path.segments - 1; j++)
        keep_volume(crop, feed, j);
    return describe_links(crop, feed);
}

static ef_status size_feed(efi_bins_crop *crop, efi_bins_feed *feed)
{
    if (feed->path.segments < 2 || feed->in_net)
        return EF_OK;
    if (!feed->search)
        EF_TRY(open_search(crop, feed));
    const efi_sizing_aim aim = efi_bins_aim(crop, feed);
    efi_sizing_result result;
    EF_TRY(efi_sizing_solve(feed->search, &aim, feed->volume_t, &result));
    feed->out->sized_h = result.shortfall_t / efi_bins_full_feed_tph(feed) / crop->settings->shifts;
    feed->out->cuts = result.cuts;
    const double value = result.cost + (aim.priced ? aim.price * result.shortfall_t : 0.0);
    feed->out->gap_share = value > 0.0 ? fmax(0.0, value - result.bound) / value : 0.0;
    feed->out->target_h = aim.target_t / efi_bins_full_feed_tph(feed) / crop->settings->shifts;
    return efi_bins_keep(crop, feed);
}

/* Bins sized for one feed and no longer needed so large for it shrink again when its aim changes. */
static void forget_volumes(efi_bins_crop *crop)
{
    for (int b = 0; b < crop->bin_count; b++) {
        ef_bins_bin *bin = &crop->bin[b];
        bin->feed = NULL;
        bin->at_most = false;
        bin->has_reason = false;
        crop->needed_m3[crop->bin_line[b]] = crop->now_m3[crop->bin_line[b]];
    }
    size_t kept = 0;
    for (size_t i = 0; i < crop->note_count; i++)
        if (crop->note[i].kind != EF_BINS_AT_MOST)
            crop->note[kept++] = crop->note[i];
    crop->note_count = kept;
    crop->out->note_count = (int)kept;
}

ef_status efi_bins_size(efi_bins_crop *crop)
{
    forget_volumes(crop);
    for (int f = 0; f < crop->feed_count; f++)
        EF_TRY(size_feed(crop, &crop->feed[f]));
    EF_TRY(efi_bins_size_net(crop));
    for (int f = 0; f < crop->feed_count; f++)
        if (crop->feed[f].volume_t)
            EF_TRY(efi_bins_explain(crop, &crop->feed[f]));
    return EF_OK;
}

/* ---- the curve ------------------------------------------------------------------------------------------
 */

/* The point farthest below the straight line from the first to the last, both axes from 0 to 1. */
static int knee_of(const ef_bins_point *point, int count)
{
    int knee = -1;
    double most = 0.0;
    if (count < 3)
        return -1;
    const double width = point[count - 1].short_h - point[0].short_h;
    const double height = point[0].cost - point[count - 1].cost;
    for (int i = 1; i + 1 < count && width > 0.0 && height > 0.0; i++) {
        const double x = (point[i].short_h - point[0].short_h) / width;
        const double y = (point[i].cost - point[count - 1].cost) / height;
        if (1.0 - x - y > most) {
            most = 1.0 - x - y;
            knee = i;
        }
    }
    return knee;
}

/* What a curve is drawn of: a search, and what its volumes are in m3. */
typedef struct drawing {
    const efi_bins_crop *crop;
    const efi_bins_feed *feed; /* the first of those in a network */
    efi_sizing_search *search;
    double unavoidable_t;
    double full_t;
} drawing;

static double volume_of(const efi_bins_crop *crop, const efi_bins_feed *feed, const double *volume_t)
{
    if (feed->in_net)
        return efi_bins_net_volume(crop, volume_t);
    double sum_m3 = 0.0;
    for (int j = 0; j < feed->path.segments - 1; j++)
        if (feed->choice[j].most_t > feed->choice[j].least_t)
            sum_m3 += volume_t[j] * m3_per_t(crop, &feed->path.bin[j]);
    return sum_m3;
}

static drawing drawing_of(const efi_bins_crop *crop, const efi_bins_feed *feed)
{
    if (feed->in_net)
        return (drawing){crop, feed, crop->net.search, crop->net.unavoidable_t,
                         crop->net.full_tph * crop->settings->shifts};
    return (drawing){crop, feed, feed->search, feed->unavoidable_t,
                     efi_bins_full_feed_tph(feed) * crop->settings->shifts};
}

ef_status efi_bins_curve(efi_bins_crop *crop, efi_bins_feed *feed)
{
    ef_bins_point *curve = efi_arena_get(crop->arena, EF_COUNT(curve_minutes), sizeof *curve);
    if (!curve)
        return EF_MEMORY;
    const drawing d = drawing_of(crop, feed);
    int count = 0;
    feed->out->curve = curve;
    for (size_t i = 0; i < EF_COUNT(curve_minutes); i++) {
        const efi_sizing_aim aim = {.target_t = d.unavoidable_t + curve_minutes[i] / 60.0 * d.full_t};
        double volume_t[EFI_FLUID_SEGMENTS_MOST];
        efi_sizing_result result;
        const ef_status status = efi_sizing_solve(d.search, &aim, volume_t, &result);
        if (status == EF_STOPPED || (status == EF_OK && result.stopped))
            break;
        EF_TRY(status);
        const double short_h = result.shortfall_t / d.full_t;
        if (count > 0 && short_h <= curve[count - 1].short_h + SAME_H)
            break; /* the least volumes there may be */
        curve[count++] = (ef_bins_point){
            .short_h = short_h, .volume_m3 = volume_of(crop, feed, volume_t), .cost = result.cost};
        if (!(result.cost > 0.0))
            break;
    }
    feed->out->curve_count = count;
    feed->out->knee = knee_of(curve, count);
    return EF_OK;
}
