/* SPDX-License-Identifier: GPL-3.0-or-later
 * Bins: each crop on its own, then every bin as the crop that needs most asks, tried on fresh traces. */
#include "answers/bins/crop.h"
#include "answers/bins/steel.h"
#include "base/locale.h"
#include "base/memory.h"
#include "base/threads.h"

#include <math.h>
#include <string.h>

enum {
    MOST_TRACES = 1000000,
    MOST_SHIFTS = 100
};
#define USUAL_AIM_H (1.0 / 60.0)

typedef struct owned_bins {
    ef_bins bins; /* first, so that the public pointer is the owned one */
    efi_arena *arena;
} owned_bins;

typedef struct run {
    const ef_scenario *scenario;
    ef_bins_settings settings;
    ef_bins *bins;
    efi_arena *arena;
    efi_bins_crop *crop; /* shape [crop_count] */
    ef_bins_crop *out;
    ef_bins_progress progress;
} run;

ef_bins_settings ef_bins_defaults(void)
{
    return (ef_bins_settings){.crop = -1,
                              .traces = 200,
                              .shifts = 5,
                              .seed = 1,
                              .aim = EF_BINS_MEAN,
                              .aim_h = USUAL_AIM_H,
                              .tail_share = 0.05};
}

static bool in_range(const ef_scenario *scenario, const ef_bins_settings *s)
{
    return s->crop >= -1 && s->crop < scenario->crop_count && s->traces >= 1 && s->traces <= MOST_TRACES &&
           s->shifts >= 1 && s->shifts <= MOST_SHIFTS && s->threads >= 0 && s->aim_h >= 0.0 &&
           s->tail_share > 0.0 && s->tail_share < 1.0 && s->price >= 0.0 &&
           (!s->has_rule || s->rule_h > 0.0) && s->rate_share >= 0.0 && s->rate_share <= 1.0;
}

/* ---- progress -------------------------------------------------------------------------------------------
 */

static bool go_on(void *context)
{
    run *r = context;
    if (!r->bins->stopped && r->settings.go_on && !r->settings.go_on(r->settings.context, &r->progress))
        r->bins->stopped = true;
    return !r->bins->stopped;
}

static bool tell(run *r, int crop, const char *doing, double share)
{
    r->progress = (ef_bins_progress){r->out[crop].name, doing, (crop + share) / r->bins->crop_count};
    return go_on(r);
}

/* ---- one crop -------------------------------------------------------------------------------------------
 */

static ef_status write_plain(const ef_bins_settings *settings, const efi_sizing *sizing,
                             const efi_sizing_aim *aim)
{
    const size_t length = strlen(settings->write_lp);
    const bool mps = length > 4 && strcmp(settings->write_lp + length - 4, ".mps") == 0;
    int column[EFI_FLUID_SEGMENTS_MOST];
    efi_lp *lp = NULL;
    EF_TRY(efi_sizing_plain(sizing, aim, &lp, column));
    const ef_status status = efi_lp_write(lp, settings->write_lp, mps ? EFI_LP_FREE_MPS : EFI_LP_CPLEX,
                                          settings->overwrite);
    efi_lp_free(lp);
    return status;
}

static ef_status write_program(const efi_bins_crop *crop)
{
    for (int f = 0; f < crop->feed_count; f++) {
        const efi_bins_feed *feed = &crop->feed[f];
        if (!feed->search && !feed->in_net)
            continue;
        const efi_sizing_aim aim = feed->in_net ? efi_bins_net_aim(crop) : efi_bins_aim(crop, feed);
        return write_plain(crop->settings, feed->in_net ? &crop->net.sizing : &feed->sizing, &aim);
    }
    return EF_OK;
}

static bool can_size(const efi_bins_crop *crop)
{
    return crop->out->feasible && !crop->out->trouble && crop->out->anything_stops && crop->feed_count > 0;
}

static ef_status run_crop(run *r, int c)
{
    efi_bins_crop *crop = &r->crop[c];
    if (!tell(r, c, "laying traces", 0.0))
        return EF_OK;
    EF_TRY(efi_bins_prepare(crop, r->scenario));
    if (!can_size(crop) || !tell(r, c, "sizing", 0.1))
        return EF_OK;
    EF_TRY(efi_bins_size(crop));
    if (r->settings.write_lp)
        EF_TRY(write_program(crop));
    if (!tell(r, c, "trying on fresh traces", 0.4))
        return EF_OK;
    const ef_status tried = efi_bins_tighten(crop);
    if (tried != EF_NO_ANSWER)
        EF_TRY(tried);
    bool drawn = false; /* one curve for all that are sized together */
    for (int f = 0; f < crop->feed_count && tell(r, c, "trading volume for minutes", 0.6); f++) {
        efi_bins_feed *feed = &crop->feed[f];
        if (feed->in_net ? !drawn : feed->search != NULL)
            EF_TRY(efi_bins_curve(crop, feed));
        drawn = drawn || feed->in_net;
    }
    return EF_OK;
}

/* ---- all crops together ---------------------------------------------------------------------------------
 */

static const ef_bins_bin *bin_named(const ef_bins_crop *crop, const char *name)
{
    for (int b = 0; b < crop->bin_count; b++)
        if (crop->bins[b].name == name)
            return &crop->bins[b];
    return NULL;
}

/* One bin over all crops; `*whole` is left alone when none passes it. */
static bool combine_bin(const run *r, const efi_station *station, ef_bins_whole *whole)
{
    bool any = false;
    for (int c = 0; c < r->bins->crop_count; c++) {
        const ef_bins_bin *bin = bin_named(&r->out[c], station->name);
        if (!bin)
            continue;
        if (!any)
            *whole = (ef_bins_whole){.name = bin->name,
                                     .choice = bin->choice,
                                     .has_now = bin->has_now,
                                     .now_m3 = bin->now_m3,
                                     .recommended_m3 = bin->needed_m3,
                                     .crop = -1};
        any = true;
        if (bin->has_rule)
            whole->rule_m3 = whole->has_rule ? fmax(whole->rule_m3, bin->rule_m3) : bin->rule_m3;
        whole->has_rule = whole->has_rule || bin->has_rule;
        const bool sized = bin->choice == EF_BINS_SIZED && bin->feed;
        const bool first = whole->choice != EF_BINS_SIZED || whole->crop < 0;
        if (sized && (first || bin->needed_m3 > whole->recommended_m3)) {
            whole->recommended_m3 = bin->needed_m3;
            whole->crop = c;
        }
        if (sized || (whole->choice == EF_BINS_OFF_PATH && bin->choice != EF_BINS_OFF_PATH))
            whole->choice = bin->choice;
    }
    return any;
}

/* The recommended volume in steel, for all crops that pass the bin. */
static ef_status add_steel(const run *r, int station, ef_bins_whole *whole)
{
    efi_steel_need *need = efi_arena_get(r->arena, (size_t)r->bins->crop_count, sizeof *need);
    ef_steel *steel = efi_arena_get(r->arena, 1, sizeof *steel);
    int needs = 0;
    if (!need || !steel)
        return EF_MEMORY;
    for (int c = 0; c < r->bins->crop_count; c++) {
        const ef_bins_bin *bin = bin_named(&r->out[c], whole->name);
        if (bin && bin->feed)
            need[needs++] = (efi_steel_need){
                .crop = r->crop[c].number, .live_m3 = whole->recommended_m3, .rate_tph = bin->drawn_tph};
    }
    EF_TRY(efi_steel_for(r->scenario, station, need, needs, r->arena, steel));
    whole->steel = steel;
    return EF_OK;
}

static ef_status add_steels(const run *r, ef_bins_whole *whole)
{
    for (int b = 0; b < r->bins->bin_count; b++)
        if (whole[b].choice == EF_BINS_SIZED && whole[b].crop >= 0 && whole[b].recommended_m3 > 0.0)
            EF_TRY(add_steel(
                r, efi_index_find(&r->scenario->station_index, whole[b].name, strlen(whole[b].name)),
                &whole[b]));
    return EF_OK;
}

static ef_status combine(run *r)
{
    ef_bins_whole *whole = efi_arena_get(r->arena, (size_t)r->scenario->station_count, sizeof *whole);
    if (!whole)
        return EF_MEMORY;
    r->bins->bins = whole;
    for (int s = 0; s < r->scenario->station_count; s++)
        if (efi_station_class((efi_station_kind)r->scenario->stations[s].kind) == EFI_CLASS_BIN &&
            combine_bin(r, &r->scenario->stations[s], &whole[r->bins->bin_count]))
            r->bins->bin_count++;
    return add_steels(r, whole);
}

/* What the crop runs with when every bin is as recommended. */
static ef_status confirm_crop(const run *r, efi_bins_crop *crop)
{
    double *all_m3 = efi_arena_get(r->arena, (size_t)crop->line.station_count, sizeof *all_m3);
    if (!all_m3)
        return EF_MEMORY;
    memcpy(all_m3, crop->now_m3, (size_t)crop->line.station_count * sizeof *all_m3);
    for (int b = 0; b < crop->bin_count; b++)
        for (int w = 0; w < r->bins->bin_count; w++)
            if (r->bins->bins[w].name == crop->bin[b].name && r->bins->bins[w].choice == EF_BINS_SIZED)
                all_m3[crop->bin_line[b]] = r->bins->bins[w].recommended_m3;
    const ef_status status = efi_bins_confirm(crop, all_m3);
    return status == EF_NO_ANSWER ? EF_OK : status;
}

static ef_status run_all(run *r)
{
    for (int c = 0; c < r->bins->crop_count; c++) {
        const ef_status status = run_crop(r, c);
        if (status != EF_STOPPED)
            EF_TRY(status);
    }
    if (r->bins->stopped && !r->out[0].bins)
        return EF_STOPPED;
    EF_TRY(combine(r));
    for (int c = 0; c < r->bins->crop_count; c++)
        if (can_size(&r->crop[c]) && tell(r, c, "confirming", 0.9))
            EF_TRY(confirm_crop(r, &r->crop[c]));
    return EF_OK;
}

static bool any_costs(const ef_scenario *scenario)
{
    for (int i = 0; i < scenario->standard_bin_count; i++)
        if (scenario->standard_bins[i].cost.given)
            return true;
    for (int s = 0; s < scenario->station_count; s++) {
        const efi_bin_choice *choice = scenario->stations[s].choice;
        if (choice && (choice->cost.given || choice->fixed_cost.given))
            return true;
        for (int k = 0; choice && k < choice->sizes.count; k++)
            if (choice->sizes.items[k].cost.given)
                return true;
    }
    return false;
}

/* Of a m3, where a bin says nothing: what the dearest says; without any 1, so that volume is what costs. */
static double usual_cost(const ef_scenario *scenario)
{
    double most = efi_steel_dearest(scenario);
    for (int s = 0; s < scenario->station_count; s++) {
        const efi_bin_choice *choice = scenario->stations[s].choice;
        most = choice && choice->cost.given ? fmax(most, choice->cost.value) : most;
        for (int k = 0; choice && k < choice->sizes.count; k++)
            if (choice->sizes.items[k].cost.given)
                most = fmax(most, choice->sizes.items[k].cost.value / choice->sizes.items[k].volume_m3.value);
    }
    return most > 0.0 ? most : 1.0;
}

static void describe(run *r)
{
    ef_bins *bins = r->bins;
    const ef_bins_settings *settings = &r->settings;
    bins->plant = r->scenario->plant->name;
    bins->scenario_file = r->scenario->tree.sources[0].name;
    bins->currency = r->scenario->currency;
    bins->has_costs = any_costs(r->scenario);
    bins->usual_cost = usual_cost(r->scenario);
    bins->seed = settings->seed;
    bins->traces = settings->traces;
    bins->shifts = settings->shifts;
    bins->shift_h = r->scenario->plant->shift_h.value;
    bins->rule_h = settings->has_rule ? settings->rule_h : r->scenario->plant->surge_rule_h.value;
    bins->with_receipts = settings->with_receipts;
    bins->aim = settings->aim;
    bins->aim_h = settings->aim_h;
    bins->tail_share = settings->tail_share;
    bins->price = settings->price;
    bins->crop_count = settings->crop < 0 ? r->scenario->crop_count : 1;
    bins->crops = r->out;
}

static ef_status run_bins(run *r)
{
    const size_t crops = (size_t)r->scenario->crop_count;
    r->crop = efi_arena_get(r->arena, crops, sizeof *r->crop);
    r->out = efi_arena_get(r->arena, crops, sizeof *r->out);
    if (!r->crop || !r->out)
        return EF_MEMORY;
    describe(r);
    for (int c = 0; c < r->bins->crop_count; c++)
        r->crop[c] = (efi_bins_crop){.settings = &r->settings,
                                     .bins = r->bins,
                                     .arena = r->arena,
                                     .threads = r->settings.threads > 0 ? r->settings.threads
                                                                        : efi_threads_available(),
                                     .number = r->settings.crop < 0 ? c : r->settings.crop,
                                     .out = &r->out[c],
                                     .go_on = go_on,
                                     .context = r};
    const ef_status status = run_all(r);
    for (int c = 0; c < r->bins->crop_count; c++)
        efi_bins_crop_free(&r->crop[c]);
    efi_lp_thread_end();
    return status;
}

ef_status ef_bins_run(const ef_scenario *scenario, const ef_bins_settings *settings, ef_bins **bins)
{
    if (!in_range(scenario, settings))
        return EF_USAGE;
    efi_locale locale;
    EF_TRY(efi_locale_enter(&locale));
    owned_bins *owned = efi_new(1, sizeof *owned);
    ef_status status = EF_MEMORY;
    if (owned)
        owned->arena = efi_arena_new();
    if (owned && owned->arena) {
        run r = {.scenario = scenario, .settings = *settings, .bins = &owned->bins, .arena = owned->arena};
        r.settings.shifts = settings->aim == EF_BINS_TAIL ? 1 : settings->shifts;
        status = run_bins(&r);
    }
    efi_locale_leave(&locale);
    if (status != EF_OK) {
        if (owned)
            ef_bins_free(&owned->bins);
        return status;
    }
    *bins = &owned->bins;
    return EF_OK;
}

void ef_bins_free(ef_bins *bins)
{
    if (!bins)
        return;
    owned_bins *owned = (owned_bins *)(void *)bins;
    efi_arena_free(owned->arena);
    efi_free(owned);
}
