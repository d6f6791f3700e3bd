/* SPDX-License-Identifier: GPL-3.0-or-later
 * The verifier of a shift: cost, levels of bins, remedies. */
#include "shared/verify/bin_volume.h"
#include "shared/verify/shift.h"

#include <math.h>
#include <string.h>

/* ---- cost -----------------------------------------------------------------------------------------------
 */

static void check_price(const efi_shift_check *c, const char *what, bool has, double claimed, efi_value price)
{
    efi_differ_flag(c->list, what, has, price.given);
    efi_differ_number(c->list, what, "", claimed, price.given ? price.value : 0.0, 0.0);
}

/* Tonnes of product and rejects, and what the rejects bring, from the shifts themselves, of a part. */
static void check_outlets(const efi_shift_check *c)
{
    const ef_shift *shift = c->claim;
    const size_t shifts = (size_t)shift->runs * (size_t)shift->period_count;
    double product_t = 0.0;
    double rejects_t = 0.0;
    double brings = 0.0;
    bool priced = false;
    for (int o = 0; o < shift->outlet_count; o++) {
        double tonnes = 0.0;
        for (size_t i = 0; i < shifts; i++)
            tonnes += shift->outlet_t[(size_t)o * shifts + i] / shift->runs / shift->parts;
        if (shift->is_product[o]) {
            product_t += tonnes;
            continue;
        }
        const int s = efi_shift_check_find(c, shift->outlets[o]);
        const efi_value *price = s >= 0 && c->scenario->stations[s].price
                                     ? &c->scenario->stations[s].price[c->crop]
                                     : NULL;
        rejects_t += tonnes;
        priced = priced || (price && price->given);
        brings += price && price->given ? price->value * tonnes : 0.0;
    }
    const ef_shift_cost *cost = &shift->cost;
    efi_differ_number(c->list, "the product", "t", cost->product_t, product_t, 1e-9);
    efi_differ_number(c->list, "the rejects", "t", cost->rejects_t, rejects_t, 1e-9);
    efi_differ_number(c->list, "what the rejects bring", "", cost->rejects, brings, 1e-9);
    efi_differ_flag(c->list, "price of rejects", cost->has_reject_price, priced);
}

void efi_shift_check_cost(const efi_shift_check *c)
{
    const ef_shift *shift = c->claim;
    const ef_shift_cost *cost = &shift->cost;
    const efi_plant *plant = c->scenario->plant;
    c->list->subject = "cost";
    check_price(c, "energy price", cost->has_energy_price, cost->energy_price, plant->energy_price);
    check_price(c, "labour price", cost->has_labour_price, cost->labour_price, plant->labour_price);
    check_price(c, "receipt price", cost->has_receipt_price, cost->receipt_price,
                c->scenario->crops[c->crop].price);
    check_outlets(c);
    double idle_kwh = 0.0;
    double load_kwh = 0.0;
    for (int s = 0; s < shift->station_count; s++) {
        idle_kwh += shift->stations[s].idle_kwh;
        load_kwh += shift->stations[s].load_kwh;
    }
    double crew_h = 0.0;
    double paid_h = 0.0;
    double extra = 0.0;
    for (int p = 0; p < shift->period_count; p++) {
        crew_h += shift->periods[p].crew_h;
        paid_h += shift->periods[p].paid_h;
        extra += shift->periods[p].extra;
    }
    crew_h /= shift->parts;
    paid_h /= shift->parts;
    extra /= shift->parts;
    efi_differ_number(c->list, "idle energy", "kWh", cost->idle_kwh, idle_kwh, 1e-9);
    efi_differ_number(c->list, "energy by tonnes", "kWh", cost->load_kwh, load_kwh, 1e-9);
    efi_differ_number(c->list, "hours of the crew", "h", cost->crew_h, crew_h, 1e-9);
    efi_differ_number(c->list, "paid hours", "h", cost->paid_h, paid_h, 1e-9);
    efi_differ_number(c->list, "overtime on top", "", cost->extra, extra, 1e-9);
    const double power = (idle_kwh + load_kwh) * plant->energy_price.value;
    const double crew = paid_h * plant->labour_price.value + extra;
    const double shrink = cost->rejects_t * c->scenario->crops[c->crop].price.value;
    const double total = power + crew + shrink - cost->rejects;
    efi_differ_number(c->list, "power", "", cost->power, power, 1e-9);
    efi_differ_number(c->list, "crew", "", cost->crew, crew, 1e-9);
    efi_differ_number(c->list, "shrink", "", cost->shrink, shrink, 1e-9);
    efi_differ_number(c->list, "the total", "", cost->total, total, 1e-9);
    efi_differ_number(c->list, "the cost of a tonne", "", cost->per_t,
                      cost->product_t > 0.0 ? total / cost->product_t : 0.0, 1e-9);
    c->list->subject = NULL;
}

/* ---- levels ---------------------------------------------------------------------------------------------
 */

static void check_bin(const efi_shift_check *c, const ef_shift_bin *bin)
{
    const ef_shift *shift = c->claim;
    const double most = bin->full_t * (1.0 + 1e-9);
    const double least = -1e-9 * bin->full_t;
    const int s = efi_shift_check_find(c, bin->name);
    if (s < 0 || efi_station_class((efi_station_kind)c->scenario->stations[s].kind) != EFI_CLASS_BIN)
        efi_differ(c->list, "the scenario has no such bin");
    else
        efi_verify_full(c->list, c->scenario, &c->scenario->stations[s], c->crop, bin->full_t, bin->t_per_m3,
                        1e-9);
    for (int g = 0; g < shift->grid_count; g++)
        if (!(bin->p10_t[g] >= least) || !(bin->p10_t[g] <= bin->p50_t[g]) ||
            !(bin->p50_t[g] <= bin->p90_t[g]) || !(bin->p90_t[g] <= most))
            efi_differ(c->list, "at hour %.10g its levels are %.10g, %.10g, %.10g of %.10g t",
                       shift->grid_h[g], bin->p10_t[g], bin->p50_t[g], bin->p90_t[g], bin->full_t);
    for (int i = 0; i < shift->sample_count; i++)
        if (!(bin->sample_t[i] >= least) || !(bin->sample_t[i] <= most))
            efi_differ(c->list, "at hour %.10g of the sample it holds %.10g of %.10g t", shift->sample_h[i],
                       bin->sample_t[i], bin->full_t);
    if (!(bin->mean_t >= least) || !(bin->mean_t <= most))
        efi_differ(c->list, "its mean level is %.10g of %.10g t", bin->mean_t, bin->full_t);
    if (!(bin->empty_h >= 0.0) || !(bin->full_h >= 0.0) ||
        !(bin->empty_h + bin->full_h <= shift->counted_h + EFI_VERIFY_HOURS))
        efi_differ(c->list, "it stands empty for %.10g h and full for %.10g h", bin->empty_h, bin->full_h);
}

/* Does material stay anywhere but in the bins? */
static bool only_in_bins(const ef_scenario *scenario)
{
    for (int s = 0; s < scenario->station_count; s++)
        if (scenario->stations[s].travel_h.given || scenario->stations[s].batch)
            return false;
    return true;
}

/* The first run's shift gained what its sample of the levels says. */
static void check_sample_stock(const efi_shift_check *c)
{
    const ef_shift *shift = c->claim;
    double gain_t = 0.0;
    if (shift->on_calendar || shift->sample_count < 2 || !only_in_bins(c->scenario))
        return;
    for (int b = 0; b < shift->bin_count; b++)
        gain_t += shift->bins[b].sample_t[shift->sample_count - 1] - shift->bins[b].sample_t[0];
    efi_differ_number(c->list, "what the bins gain in the first run", "t", shift->stock_t[0], gain_t, 1e-6);
}

void efi_shift_check_levels(const efi_shift_check *c)
{
    const ef_shift *shift = c->claim;
    for (int g = 0; g < shift->grid_count; g++)
        efi_differ_number(c->list, "an hour of the envelopes", "h", shift->grid_h[g],
                          shift->counted_h * g / (shift->grid_count - 1), 1e-9);
    for (int i = 0; i < shift->sample_count; i++)
        if (!(shift->sample_h[i] >= (i > 0 ? shift->sample_h[i - 1] : 0.0)) ||
            !(shift->sample_h[i] <= shift->counted_h))
            efi_differ(c->list, "hour %.10g of the sample is out of order", shift->sample_h[i]);
    if (shift->bin_count > 0 && (shift->envelope_runs < 1 || shift->envelope_runs > shift->runs))
        efi_differ(c->list, "the envelopes are of %d runs of %d", shift->envelope_runs, shift->runs);
    for (int b = 0; b < shift->bin_count; b++) {
        c->list->subject = shift->bins[b].name;
        check_bin(c, &shift->bins[b]);
    }
    c->list->subject = NULL;
    check_sample_stock(c);
}

/* ---- remedies -------------------------------------------------------------------------------------------
 */

/* The stop of a station by name; NULL when it has none such. */
static const efi_stop *stop_of(const efi_station *station, const char *name)
{
    for (int i = 0; i < station->stops.count; i++)
        if (strcmp(station->stops.items[i].name, name) == 0)
            return &station->stops.items[i];
    return NULL;
}

static void check_remedy(const efi_shift_check *c, const ef_shift_remedy *remedy)
{
    const int s = efi_shift_check_find(c, remedy->station);
    if (s < 0) {
        efi_differ(c->list, "the scenario has no such station");
        return;
    }
    if (!(remedy->gain_t.low <= remedy->gain_t.value) || !(remedy->gain_t.value <= remedy->gain_t.high))
        efi_differ(c->list, "a gain of %.10g t lies outside its limits of %.10g t and %.10g t",
                   remedy->gain_t.value, remedy->gain_t.low, remedy->gain_t.high);
    if (!remedy->stop) {
        efi_differ_number(c->list, "the larger bin", "t", remedy->then, 1.5 * remedy->now, 1e-9);
        return;
    }
    const efi_stop *stop = stop_of(&c->scenario->stations[s], remedy->stop);
    if (!stop) {
        efi_differ(c->list, "the station has no stop \"%s\"", remedy->stop);
        return;
    }
    const double entry_h = stop->bin_entry_h.given ? stop->bin_entry_h.value : 0.0;
    const double lockout_h = entry_h + (stop->lockout_h.given ? stop->lockout_h.value : 0.0);
    const double now_h = fmax(stop->lasts_h.value, lockout_h);
    efi_differ_number(c->list, "the mean length of the stop", "h", remedy->now, now_h, 1e-9);
    efi_differ_number(c->list, "the length that was tried", "h", remedy->then, fmax(0.5 * now_h, lockout_h),
                      1e-9);
    efi_differ_number(c->list, "the bin entry of the stop", "h", remedy->bin_entry_h, entry_h, 1e-9);
    efi_differ_flag(c->list, "held by lock-out", remedy->held_by_lockout, 0.5 * now_h < lockout_h);
}

static bool same_remedy(const ef_shift_remedy *a, const ef_shift_remedy *b)
{
    const bool same_stop = a->stop && b->stop ? strcmp(a->stop, b->stop) == 0 : a->stop == b->stop;
    return strcmp(a->station, b->station) == 0 && same_stop;
}

/* Loops that choked: of stations that there are, in some of the runs. */
static void check_choked(const efi_shift_check *c)
{
    const ef_shift *shift = c->claim;
    if (shift->choked_runs < 0 || shift->choked_runs > shift->runs ||
        (shift->choked_runs > 0) != (shift->choked_count > 0))
        efi_differ(c->list, "a loop of %d stations choked in %d of %d runs", shift->choked_count,
                   shift->choked_runs, shift->runs);
    for (int i = 0; i < shift->choked_count; i++)
        if (efi_shift_check_find(c, shift->choked[i]) < 0)
            efi_differ(c->list, "the loop that choked has a station \"%s\", which is not there",
                       shift->choked[i]);
}

/* Every bin, and every stop of a station, must have been tried, where anything was. */
static void check_complete(const efi_shift_check *c)
{
    const ef_shift *shift = c->claim;
    int expected = shift->bin_count;
    for (int s = 0; s < shift->station_count; s++) {
        const int at = efi_shift_check_find(c, shift->stations[s].name);
        for (int i = 0; at >= 0 && i < c->scenario->stations[at].stops.count; i++) {
            const efi_stop *stop = &c->scenario->stations[at].stops.items[i];
            expected += !stop->after_t || stop->after_t[c->crop].given;
        }
    }
    efi_differ_count(c->list, "the number of remedies", shift->remedy_count, expected);
}

void efi_shift_check_remedies(const efi_shift_check *c)
{
    const ef_shift *shift = c->claim;
    check_choked(c);
    for (int i = 0; i < shift->remedy_count; i++) {
        const ef_shift_remedy *one = &shift->remedies[i];
        c->list->subject = one->station;
        check_remedy(c, one);
        if (i > 0 && !(one->gain_t.value <= shift->remedies[i - 1].gain_t.value))
            efi_differ(c->list, "a gain of %.10g t stands behind a smaller one of %.10g t", one->gain_t.value,
                       shift->remedies[i - 1].gain_t.value);
        for (int k = 0; k < i; k++)
            if (same_remedy(one, &shift->remedies[k]))
                efi_differ(c->list, "stands twice among the remedies");
    }
    c->list->subject = NULL;
    if (shift->remedy_count > 0)
        check_complete(c);
}
