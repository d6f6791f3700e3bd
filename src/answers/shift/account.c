/* SPDX-License-Identifier: GPL-3.0-or-later
 * Where the hours of each station go, effectiveness, and what a tonne costs. */
#include "answers/shift/shift.h"
#include "shared/statistics/effectiveness.h"

#include <math.h>
#include <string.h>

/* What all machines of a station can take in an hour; of a batch machine over its whole cycle. */
static double rate_of(const efi_shift_run *r, int n)
{
    const efi_network_station *of = &r->running.plant.stations[n];
    const efi_line_station *in_line = &r->running.line.stations[r->running.plant.line_station[n]];
    if (of->batch.is_used)
        return in_line->nominal.value * in_line->derating;
    return of->capacity_tph * of->machines;
}

/* The station whose account is the line's: the first steady-feed station, else the most loaded one. */
static int account_station(const efi_shift_run *r)
{
    int best = -1;
    double best_load = -1.0;
    for (int n = 0; n < r->running.plant.network.stations; n++) {
        const efi_network_station *of = &r->running.plant.stations[n];
        if (of->steady.is_steady)
            return n;
        const bool works = of->kind == EFI_NETWORK_MACHINE || of->kind == EFI_NETWORK_CONVEYOR;
        const double capacity = rate_of(r, n);
        const double load = works && isfinite(capacity) ? r->means[n].taken_t / capacity : -1.0;
        if (load > best_load) {
            best = n;
            best_load = load;
        }
    }
    return best >= 0 ? best : r->replicas.stream_of[0];
}

/* What goes back in warm-up is not good. */
static void fill_effectiveness(ef_shift *shift)
{
    const ef_shift_station *of = &shift->stations[shift->account];
    const double planned_h = shift->counted_h - of->hours[EF_SHIFT_CLOSED] - of->hours[EF_SHIFT_BREAK];
    const double running_h = of->hours[EF_SHIFT_FULL_RATE] + of->hours[EF_SHIFT_SLOW] + of->warming_h;
    const double rate_tph = isfinite(of->rate_tph) ? of->rate_tph : 0.0;
    const efi_effectiveness e = efi_effectiveness_of(planned_h, running_h, rate_tph, of->taken_t,
                                                     of->taken_t - of->warm_up_t);
    shift->availability = e.availability;
    shift->performance = e.performance;
    shift->quality = e.quality;
    shift->effectiveness = e.product;
}

/* Hours in which its drives run: not closed, in break, cleaned, or stopped. */
static double driven_h(const efi_shift_account *account, double counted_h)
{
    return counted_h - account->hours[EF_SHIFT_CLOSED] - account->hours[EF_SHIFT_BREAK] -
           account->hours[EF_SHIFT_CLEAN_DOWN] - account->hours[EF_SHIFT_OWN_STOP] -
           account->hours[EF_SHIFT_CREW];
}

static void fill_station(const efi_shift_run *r, int n, ef_shift_station *out)
{
    const efi_network_station *of = &r->running.plant.stations[n];
    const efi_line_station *in_line = &r->running.line.stations[r->running.plant.line_station[n]];
    const efi_shift_account *mean = &r->means[n];
    *out = (ef_shift_station){.name = of->name,
                              .planned_h = mean->planned_h,
                              .warming_h = mean->warming_h,
                              .taken_t = mean->taken_t,
                              .warm_up_t = mean->warm_up_t,
                              .rate_tph = rate_of(r, n),
                              .steady_feed = of->steady.is_steady,
                              .shortfall_t = mean->shortfall_t,
                              .out_of_band_h = mean->out_of_band_h,
                              .idle_kwh = in_line->idle_kw * driven_h(mean, r->shift->counted_h),
                              .load_kwh = in_line->energy_kwhpt * mean->taken_t};
    memcpy(out->hours, mean->hours, sizeof out->hours);
}

ef_status efi_shift_fill_accounts(efi_shift_run *r)
{
    ef_shift *shift = r->shift;
    const efi_network *network = &r->running.plant.network;
    ef_shift_station *out = efi_arena_get(r->arena, (size_t)network->stations, sizeof *out);
    if (!out)
        return EF_MEMORY;
    const int account = account_station(r);
    for (int n = 0; n < network->stations; n++) {
        if (network->station[n].kind == EFI_NETWORK_BIN || network->station[n].kind == EFI_NETWORK_SPLIT)
            continue; /* neither stops nor runs of itself */
        if (n == account)
            shift->account = shift->station_count;
        fill_station(r, n, &out[shift->station_count++]);
    }
    shift->stations = out;
    fill_effectiveness(shift);
    return EF_OK;
}

/* ---- cost -----------------------------------------------------------------------------------------------
 */

/* Outlets, in the mean of what the shifts of a part made. */
static void fill_outlets(const efi_shift_run *r, ef_shift_cost *cost)
{
    const ef_shift *shift = r->shift;
    for (int o = 0; o < shift->outlet_count; o++) {
        const efi_station *of = efi_shift_station_of(
            r, r->replicas.stream_of[r->replicas.streams - shift->outlet_count + o]);
        const double tonnes = shift->groups[0].streams[2 + o].mean_t.value * shift->period_count /
                              shift->parts;
        if (of->product) {
            cost->product_t += tonnes;
            continue;
        }
        const bool priced = of->price && of->price[r->settings->crop].given;
        cost->rejects_t += tonnes;
        cost->has_reject_price = cost->has_reject_price || priced;
        cost->rejects += priced ? tonnes * of->price[r->settings->crop].value : 0.0;
    }
}

static double price_of(efi_value value, bool *given)
{
    *given = value.given;
    return value.given ? value.value : 0.0;
}

void efi_shift_fill_cost(efi_shift_run *r)
{
    ef_shift *shift = r->shift;
    ef_shift_cost *cost = &shift->cost;
    const efi_plant *plant = r->scenario->plant;
    cost->energy_price = price_of(plant->energy_price, &cost->has_energy_price);
    cost->labour_price = price_of(plant->labour_price, &cost->has_labour_price);
    cost->receipt_price = price_of(r->running.line.of->price, &cost->has_receipt_price);
    for (int s = 0; s < shift->station_count; s++) {
        cost->idle_kwh += shift->stations[s].idle_kwh;
        cost->load_kwh += shift->stations[s].load_kwh;
    }
    for (int p = 0; p < shift->period_count; p++) {
        cost->crew_h += shift->periods[p].crew_h / shift->parts;
        cost->paid_h += shift->periods[p].paid_h / shift->parts;
        cost->extra += shift->periods[p].extra / shift->parts;
    }
    fill_outlets(r, cost);
    cost->power = (cost->idle_kwh + cost->load_kwh) * cost->energy_price;
    cost->crew = cost->paid_h * cost->labour_price + cost->extra;
    cost->shrink = cost->rejects_t * cost->receipt_price;
    cost->total = cost->power + cost->crew + cost->shrink - cost->rejects;
    cost->per_t = cost->product_t > 0.0 ? cost->total / cost->product_t : 0.0;
}
