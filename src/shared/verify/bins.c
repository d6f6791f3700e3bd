/* SPDX-License-Identifier: GPL-3.0-or-later
 * The verifier of bins: flows, rule and volumes from the scenario; the shortfall on every trace as a shortest
 * way; and that no volume, alone or against another, could be smaller. */
#include "base/locale.h"
#include "base/memory.h"
#include "shared/plant/plant.h"
#include "shared/verify/bins_clock.h"
#include "shared/verify/bins_line.h"
#include "shared/verify/differences.h"
#include "shared/verify/reference.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

enum {
    LINKS_MOST = 64
};
/* Tonnes of a trace below which a shortfall is rounding. */
#define ROUNDING_T 1e-5
/* A volume that could be smaller by this share is too large. */
#define SMALLER_SHARE 0.02

typedef struct verify {
    const ef_scenario *scenario;
    const ef_bins *bins;
    const ef_bins_crop *crop;
    int number; /* of the crop */
    efi_arena *arena;
    efi_reference reference;
    efi_differences *list;
    double *feed_tph; /* shape [station]: recomputed, NaN when the reference cannot know */
    double *density;  /* shape [station]: t/m3 of what it takes */
} verify;

static int station_named(const verify *v, const char *name)
{
    return name ? efi_index_find(&v->scenario->station_index, name, strlen(name)) : -1;
}

/* ---- flows, from the rates of the intakes ---------------------------------------------------------------
 */

static ef_status compute_feeds(verify *v)
{
    const efi_reference *r = &v->reference;
    const size_t stations = (size_t)v->scenario->station_count;
    v->feed_tph = efi_arena_get(v->arena, stations, sizeof *v->feed_tph);
    v->density = efi_arena_get(v->arena, stations, sizeof *v->density);
    if (!v->feed_tph || !v->density)
        return EF_MEMORY;
    if (v->crop->intake_count != r->intake_count) {
        efi_differ_count(v->list, "the number of intakes", v->crop->intake_count, r->intake_count);
        return EF_OK;
    }
    for (int s = 0; s < r->stations; s++) {
        double volume = 0.0;
        for (int m = 0; m < r->materials; m++) {
            double tph = 0.0;
            for (int i = 0; i < r->intake_count; i++)
                tph += efi_reference_unit(r, s, m)[i] * v->crop->intake_tph[i];
            v->feed_tph[s] += tph;
            volume += tph * r->m3_per_t[m];
        }
        v->density[s] = volume > 0.0 ? v->feed_tph[s] / volume : 0.0;
    }
    return EF_OK;
}

/* ---- the claims about the line --------------------------------------------------------------------------
 */

static void check_unit(const verify *v, const ef_bins_feed *feed, const ef_bins_unit *unit)
{
    const int s = station_named(v, unit->station);
    v->list->subject = unit->station;
    if (s < 0) {
        efi_differ(v->list, "is no station of the scenario");
        return;
    }
    if (!unit->arrivals)
        efi_differ_count(v->list, "machines", unit->machines, v->scenario->stations[s].count);
    if (!v->crop->chosen_shares)
        efi_differ_number(v->list, "feed in the balance", "t/h", unit->flow_tph, v->feed_tph[s], 1e-9);
    if (unit->segment < 0 || unit->segment >= feed->segments)
        efi_differ(v->list, "is in segment %d of %d", unit->segment, feed->segments);
    const double share = feed->set_tph / feed->balance_tph;
    if (strcmp(unit->station, feed->name) == 0 && !unit->echo)
        efi_differ_number(v->list, "what it passes net of returns", "t/h",
                          unit->capacity_tph * unit->machines, feed->net_tph, 1e-9);
    else if (!unit->echo && !unit->arrivals && isfinite(unit->capacity_tph)) {
        /* F (C - back) / (f - back), C = rate of one machine times machines */
        const double all = unit->rate_tph * unit->machines;
        const double expected = feed->net_tph / share * (all - unit->back_tph * share) /
                                (unit->flow_tph - unit->back_tph);
        efi_differ_number(v->list, "capacity net of returns", "t/h", unit->capacity_tph * unit->machines,
                          fmax(expected, 0.0), 1e-9);
        efi_differ_number(v->list, "expected load", "", unit->running_share,
                          fmin(1.0, unit->flow_tph * share / all), 1e-9);
    }
}

static void check_rates(const verify *v, const ef_bins_feed *feed)
{
    const int s = station_named(v, feed->name);
    v->list->subject = feed->name;
    if (s < 0) {
        efi_differ(v->list, "is no station of the scenario");
        return;
    }
    if (!v->crop->chosen_shares)
        efi_differ_number(v->list, "feed in the balance", "t/h", feed->balance_tph, v->feed_tph[s], 1e-9);
    if (feed->set_tph > feed->balance_tph * (1.0 + EFI_DIFFERENCE_SHARE))
        efi_differ(v->list, "the set rate of %.10g t/h is above the balance", feed->set_tph);
    efi_differ_flag(v->list, "a set rate below the balance", feed->lowered,
                    feed->set_tph < feed->balance_tph * (1.0 - 1e-12));
}

/* ---- the stops ------------------------------------------------------------------------------------------
 */

typedef struct laid {
    efi_trace *stops; /* shape [traces][machines] */
    size_t machines;
    double hours;
} laid;

static void free_stops(laid *l, int traces)
{
    for (size_t i = 0; l->stops && i < l->machines * (size_t)traces; i++)
        efi_trace_free(&l->stops[i]);
    efi_free(l->stops);
}

/* Between the loads: drawn as they come, each of them tipping at the pace claimed. */
static ef_status lay_loads(const verify *v, const ef_bins_unit *unit, const efi_station *intake,
                           uint64_t replication, double hours, efi_trace *out)
{
    const efi_receipts *receipts = intake->receipts;
    const efi_distribution gap = efi_plant_distribution((efi_form)receipts->form, receipts->every_h.value,
                                                        receipts->shape.value);
    efi_random random = efi_random_stream(v->bins->seed, replication,
                                          efi_stop_stream(efi_plant_key(intake->name), EFI_ARRIVAL_UNIT, 0));
    double done_h = 0.0;
    double arrival_h = 0.0;
    while (done_h < hours) {
        arrival_h += efi_distribution_draw(&gap, &random);
        const double begins_h = fmax(arrival_h, done_h);
        if (begins_h > done_h) {
            if (efi_grow(&out->stop, (size_t)out->stops, &out->room, sizeof *out->stop) != 0)
                return EF_MEMORY;
            out->stop[out->stops++] = (efi_interval){done_h, fmin(begins_h, hours)};
        }
        done_h = begins_h + unit->load_t / unit->capacity_tph;
    }
    return EF_OK;
}

static ef_status lay_unit(const verify *v, const ef_bins_unit *unit, uint64_t replication, double hours,
                          efi_trace *out)
{
    const efi_station *station = &v->scenario->stations[station_named(v, unit->station)];
    if (unit->arrivals)
        return lay_loads(v, unit, station, replication, hours, out);
    efi_stop_mode *modes = efi_arena_get(v->arena, (size_t)station->stops.count + 2, sizeof *modes);
    if (!modes)
        return EF_MEMORY;
    int count = 0;
    int recorded = 0;
    for (int i = 0; i < station->stops.count; i++) {
        const efi_stop *stop = &station->stops.items[i];
        if (stop->after_t && !stop->after_t[v->number].given)
            continue;
        modes[count] = efi_plant_stop_mode(stop, v->number);
        if (stop->at.count > 0)
            EF_TRY(efi_bins_clock_times(v->scenario, stop, hours, v->arena, &modes[count]));
        count++;
    }
    EF_TRY(
        efi_bins_records(v->scenario, station_named(v, unit->station), v->arena, &modes[count], &recorded));
    count += recorded;
    const efi_trace_basis basis = {
        .horizon_h = hours, .running_share = unit->running_share, .rate_tph = unit->rate_tph};
    for (int m = 0; m < unit->machines; m++)
        EF_TRY(efi_trace_lay(modes, count, efi_plant_key(station->name), m, v->bins->seed, replication,
                             &basis, &out[m]));
    return EF_OK;
}

static ef_status lay_stops(const verify *v, const ef_bins_feed *feed, laid *l)
{
    for (int u = 0; u < feed->unit_count; u++)
        l->machines += (size_t)feed->units[u].machines;
    l->hours = v->bins->shifts * v->bins->shift_h;
    l->stops = efi_new(l->machines * (size_t)v->bins->traces, sizeof *l->stops);
    if (!l->stops)
        return EF_MEMORY;
    for (int t = 0; t < v->bins->traces; t++) {
        efi_trace *at = l->stops + (size_t)t * l->machines;
        for (int u = 0; u < feed->unit_count; u++) {
            EF_TRY(lay_unit(v, &feed->units[u], (uint64_t)t, l->hours, at));
            at += feed->units[u].machines;
        }
    }
    return EF_OK;
}

/* ---- the shortfall --------------------------------------------------------------------------------------
 */

static int falling(const void *left, const void *right)
{
    const double a = *(const double *)left;
    const double b = *(const double *)right;
    return (a < b) - (a > b);
}

/* The measure of the aim, full-feed hours a shift: the mean over all traces, or over the worst of them. */
static ef_status measure(const verify *v, const ef_bins_feed *feed, const laid *l, const double *volume_t,
                         double *short_h)
{
    const int traces = v->bins->traces;
    double *each = efi_new((size_t)traces, sizeof *each);
    ef_status status = each ? EF_OK : EF_MEMORY;
    for (int t = 0; status == EF_OK && t < traces; t++) {
        const efi_bins_trace trace = {l->stops + (size_t)t * l->machines, l->hours};
        status = efi_bins_shortest(feed, volume_t, &trace, &each[t]);
    }
    if (status == EF_OK) {
        const double counted = v->bins->aim == EF_BINS_TAIL ? v->bins->tail_share * traces : traces;
        double sum = 0.0;
        qsort(each, (size_t)traces, sizeof *each, falling);
        for (int t = 0; t < traces && t < counted; t++)
            sum += each[t] * fmin(1.0, counted - t);
        *short_h = sum / counted / feed->net_tph / v->bins->shifts;
    }
    efi_free(each);
    return status;
}

static double rounding_h(const verify *v, const ef_bins_feed *feed)
{
    return ROUNDING_T / feed->net_tph / v->bins->shifts;
}

/* What a tonne short a trace costs, in the unit of the costs. */
static double price_of(const verify *v, const ef_bins_feed *feed)
{
    const double returns = feed->balance_tph / (feed->net_tph / (feed->set_tph / feed->balance_tph));
    return v->bins->price * returns / v->bins->shifts;
}

/* Is what these volumes do better than the claim, at this saving of cost? */
static ef_status is_better(const verify *v, const ef_bins_feed *feed, const laid *l, const double *volume_t,
                           double saved, bool *better)
{
    double short_h = 0.0;
    EF_TRY(measure(v, feed, l, volume_t, &short_h));
    const double hour_t = feed->net_tph * v->bins->shifts;
    if (v->bins->aim == EF_BINS_PRICE)
        *better = saved >
                  price_of(v, feed) * ((short_h - feed->sized_h) * hour_t + ROUNDING_T) * (1.0 + 1e-6);
    else
        *better = saved > 0.0 && short_h <= feed->target_h;
    return EF_OK;
}

/* Each volume a little smaller, alone, and for it another larger by what costs a little less. */
static ef_status try_smaller(const verify *v, const ef_bins_feed *feed, const laid *l)
{
    double trial[LINKS_MOST];
    const int links = feed->segments - 1;
    for (int j = 0; j < links; j++) {
        const ef_bins_link *link = &feed->links[j];
        const double less = SMALLER_SHARE * link->volume_t;
        if (link->by_size || !(less > 1e-6) || link->volume_t - less < link->least_t)
            continue;
        for (int k = 0; k < links; k++) {
            bool better = false;
            const ef_bins_link *other = &feed->links[k];
            const double saved = less * link->cost_per_t;
            const double more = j == k || !(other->cost_per_t > 0.0) ? 0.0 : 0.9 * saved / other->cost_per_t;
            if (j != k && (other->by_size || !(other->volume_t + more <= other->most_t) || !(more > 0.0)))
                continue;
            for (int i = 0; i < links; i++)
                trial[i] = feed->links[i].volume_t;
            trial[j] -= less;
            trial[k] += more;
            EF_TRY(is_better(v, feed, l, trial, saved - more * other->cost_per_t, &better));
            v->list->subject = link->bin;
            if (better && j == k)
                efi_differ(v->list, "could be smaller by %.3g t and the aim still be met", less);
            else if (better)
                efi_differ(v->list, "could be smaller by %.3g t with %s larger, at less cost", less,
                           other->bin);
        }
    }
    return EF_OK;
}

static ef_status check_shortfall(const verify *v, const ef_bins_feed *feed, const laid *l)
{
    double volume_t[LINKS_MOST];
    double short_h = 0.0;
    for (int j = 0; j < feed->segments - 1; j++)
        volume_t[j] = feed->links[j].volume_t;
    EF_TRY(measure(v, feed, l, volume_t, &short_h));
    v->list->subject = feed->name;
    efi_differ_number(v->list, "shortfall at the volumes", "h a shift", feed->sized_h, short_h,
                      rounding_h(v, feed));
    for (int j = 0; j < feed->segments - 1; j++)
        volume_t[j] = feed->links[j].most_t;
    EF_TRY(measure(v, feed, l, volume_t, &short_h));
    efi_differ_number(v->list, "shortfall at the greatest volumes", "h a shift", feed->unavoidable_h, short_h,
                      rounding_h(v, feed));
    if (v->bins->aim != EF_BINS_PRICE && !v->bins->stopped &&
        feed->sized_h > feed->target_h + rounding_h(v, feed))
        efi_differ(v->list, "the shortfall of %.10g h a shift is above the target of %.10g", feed->sized_h,
                   feed->target_h);
    return v->bins->stopped ? EF_OK : try_smaller(v, feed, l);
}

/* ---- bins -----------------------------------------------------------------------------------------------
 */

static const ef_bins_bin *bin_named(const ef_bins_crop *crop, const char *name)
{
    for (int b = 0; name && b < crop->bin_count; b++)
        if (strcmp(crop->bins[b].name, name) == 0)
            return &crop->bins[b];
    return NULL;
}

static void check_link(const verify *v, const ef_bins_feed *feed, const ef_bins_link *link)
{
    const ef_bins_bin *bin = bin_named(v->crop, link->bin);
    if (!link->bin)
        return;
    v->list->subject = link->bin;
    if (!bin) {
        efi_differ(v->list, "is not among the bins");
        return;
    }
    if (link->volume_t < link->least_t - 1e-9 || link->volume_t > link->most_t * (1.0 + 1e-9))
        efi_differ(v->list, "its volume is outside least and most");
    if (bin->feed && strcmp(bin->feed, feed->name) == 0)
        efi_differ_number(v->list, "volume", "m3", bin->optimum_m3,
                          link->volume_t * link->t_per_t / bin->t_per_m3, 1e-9);
    else if (bin->choice == EF_BINS_SIZED &&
             bin->optimum_m3 < link->volume_t * link->t_per_t / bin->t_per_m3 * (1.0 - 1e-6))
        efi_differ(v->list, "is smaller than %s needs", feed->name);
}

static bool is_a_size(const efi_bin_choice *choice, double m3)
{
    if (!choice || choice->sizes.count == 0 || !(m3 > 0.0))
        return true;
    for (int k = 0; k < choice->sizes.count; k++)
        if (efi_differ_same(m3, choice->sizes.items[k].volume_m3.value, 1e-9))
            return true;
    return false;
}

static void check_bin(const verify *v, const ef_bins_bin *bin)
{
    const int s = station_named(v, bin->name);
    v->list->subject = bin->name;
    if (s < 0) {
        efi_differ(v->list, "is no station of the scenario");
        return;
    }
    const efi_station *station = &v->scenario->stations[s];
    const efi_value live = efi_station_live_m3(station, v->number);
    efi_differ_flag(v->list, "a volume given", bin->has_now, live.given);
    if (bin->has_now)
        efi_differ_number(v->list, "present volume", "m3", bin->now_m3, live.value, 1e-12);
    if (!v->crop->chosen_shares)
        efi_differ_number(v->list, "density", "t/m3", bin->t_per_m3, v->density[s], 1e-12);
    if (bin->choice != EF_BINS_SIZED)
        return;
    if (bin->needed_m3 < bin->optimum_m3 * (1.0 - 1e-6) || bin->needed_m3 > bin->optimum_m3 * 1.1 + 1e-6)
        efi_differ(v->list, "%.10g m3 is not %.10g m3 rounded up", bin->needed_m3, bin->optimum_m3);
    if (!is_a_size(station->choice, bin->needed_m3))
        efi_differ(v->list, "%.10g m3 is no standard size", bin->needed_m3);
    if (station->choice && station->choice->keep)
        efi_differ(v->list, "was to be kept");
}

/* Holding bins by the rule: so many hours of all that the steady-feed station takes. */
static void check_rule(const verify *v, const ef_bins_bin *bin)
{
    double rule_m3 = 0.0;
    for (int f = 0; f < v->crop->feed_count; f++) {
        const ef_bins_feed *feed = &v->crop->feeds[f];
        if (feed->segments > 0 && feed->feed_segment > 0 && feed->links &&
            feed->links[feed->feed_segment - 1].bin &&
            strcmp(feed->links[feed->feed_segment - 1].bin, bin->name) == 0)
            rule_m3 = fmax(rule_m3, feed->balance_tph * v->bins->rule_h / bin->t_per_m3);
    }
    v->list->subject = bin->name;
    if (rule_m3 > 0.0)
        efi_differ_number(v->list, "volume by the rule", "m3", bin->rule_m3, rule_m3, 1e-12);
}

/* ---- fresh traces ---------------------------------------------------------------------------------------
 */

static void check_estimate(const verify *v, const char *what, ef_bins_estimate e, double most)
{
    if (!(e.value >= -1e-9 && e.value <= most * (1.0 + 1e-9)) || !(e.low <= e.value && e.value <= e.high))
        efi_differ(v->list, "%s: %.6g (%.6g to %.6g) is impossible", what, e.value, e.low, e.high);
}

static void check_fresh(const verify *v, const ef_bins_feed *feed, const char *which,
                        const ef_bins_check *check)
{
    if (!check->is_run)
        return;
    v->list->subject = feed->name;
    check_estimate(v, which, check->short_share, 1.0);
    check_estimate(v, which, check->short_h, v->bins->shift_h);
    check_estimate(v, which, check->out_of_band_h, v->bins->shift_h);
    efi_differ_number(v->list, which, "t lost a shift", check->lost_t.value,
                      check->short_h.value * feed->set_tph, 1e-9);
}

/* ---- a crop, and all together ---------------------------------------------------------------------------
 */

static ef_status check_feed(const verify *v, const ef_bins_feed *feed)
{
    laid l = {0};
    check_rates(v, feed);
    for (int u = 0; u < feed->unit_count; u++)
        check_unit(v, feed, &feed->units[u]);
    check_fresh(v, feed, "present volumes", &feed->now);
    check_fresh(v, feed, "volumes by the rule", &feed->rule);
    check_fresh(v, feed, "recommended volumes", &feed->recommended);
    if (!feed->links || feed->segments < 2 || feed->segments > LINKS_MOST || v->list->count > 0)
        return EF_OK;
    for (int j = 0; j < feed->segments - 1; j++)
        check_link(v, feed, &feed->links[j]);
    if (feed->form != EF_BINS_RECURSION)
        return EF_OK;
    ef_status status = lay_stops(v, feed, &l);
    if (status == EF_OK)
        status = check_shortfall(v, feed, &l);
    free_stops(&l, v->bins->traces);
    return status;
}

static ef_status check_crop(verify *v)
{
    EF_TRY(efi_reference_prepare(&v->reference, v->arena, v->scenario, v->number));
    EF_TRY(efi_reference_solve(&v->reference, v->arena));
    EF_TRY(compute_feeds(v));
    for (int b = 0; b < v->crop->bin_count; b++) {
        check_bin(v, &v->crop->bins[b]);
        check_rule(v, &v->crop->bins[b]);
    }
    for (int f = 0; f < v->crop->feed_count; f++)
        EF_TRY(check_feed(v, &v->crop->feeds[f]));
    return EF_OK;
}

/* A bin is as large as the crop that needs most asks. */
static void check_whole(efi_differences *list, const ef_bins *bins, const ef_bins_whole *whole)
{
    double most_m3 = 0.0;
    for (int c = 0; c < bins->crop_count; c++) {
        const ef_bins_bin *bin = bin_named(&bins->crops[c], whole->name);
        if (bin && bin->choice == EF_BINS_SIZED && bin->feed)
            most_m3 = fmax(most_m3, bin->needed_m3);
    }
    list->subject = whole->name;
    if (whole->choice == EF_BINS_SIZED && !bins->stopped)
        efi_differ_number(list, "recommended volume", "m3", whole->recommended_m3, most_m3, 1e-12);
    list->subject = NULL;
}

static ef_status check_all(const ef_scenario *scenario, const ef_bins *bins, efi_differences *list)
{
    for (int c = 0; c < bins->crop_count; c++) {
        const ef_bins_crop *crop = &bins->crops[c];
        if (!crop->name || !crop->feasible || crop->trouble)
            continue;
        verify v = {.scenario = scenario,
                    .bins = bins,
                    .crop = crop,
                    .number = efi_index_find(&scenario->crop_index, crop->name, strlen(crop->name)),
                    .arena = efi_arena_new(),
                    .list = list};
        list->crop = crop->name;
        const ef_status status = v.arena ? check_crop(&v) : EF_MEMORY;
        efi_arena_free(v.arena);
        EF_TRY(status);
    }
    list->crop = list->subject = NULL;
    for (int b = 0; b < bins->bin_count; b++)
        check_whole(list, bins, &bins->bins[b]);
    return EF_OK;
}

ef_status ef_bins_verify(const ef_scenario *scenario, const ef_bins *bins, char **differences)
{
    efi_locale locale;
    EF_TRY(efi_locale_enter(&locale));
    efi_differences list = {0};
    ef_status status = check_all(scenario, bins, &list);
    status = efi_differences_end(&list, status, differences);
    efi_locale_leave(&locale);
    return status;
}
