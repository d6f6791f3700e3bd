/* SPDX-License-Identifier: GPL-3.0-or-later
 * A balance as text for people: verdicts first, then tables. */
#include "base/display.h"
#include "report/report.h"

#include <evenfeed/balance.h>
#include <string.h>

enum {
    WIDTH = 100
};

/* How the quantities of one crop are shown. */
typedef struct view {
    const ef_balance *balance;
    const ef_balance_crop *crop;
    ef_units units;
    double tpbu;          /* trade weight, 0 without */
    efi_display mass;     /* rates by weight */
    efi_display intake;   /* the intake's and the product's, to three digits */
    efi_display volume;   /* rates by volume */
    efi_display tonnes;   /* amounts by weight */
    efi_display bin_mass; /* what a bin holds */
    efi_display bin_m3;
} view;

static double larger(double a, double b)
{
    return a > b ? a : b;
}

static view view_of(const ef_balance *balance, const ef_balance_crop *crop, ef_units units)
{
    view v = {.balance = balance, .crop = crop, .units = units};
    v.tpbu = crop->has_trade_weight ? crop->trade_weight_tpbu : 0.0;
    double mass = crop->intake.total_tph;
    double volume = 0.0;
    for (int i = 0; i < crop->station_count; i++) {
        const ef_balance_station *station = &crop->stations[i];
        mass = larger(mass, station->feed.total_tph);
        if (station->capacity_by_volume)
            volume = larger(volume, station->feed_m3ph);
    }
    double bin_t = 0.0;
    double bin_m3 = 0.0;
    for (int i = 0; i < crop->bin_count; i++) {
        bin_t = larger(bin_t, crop->bins[i].rule_t);
        bin_m3 = larger(bin_m3, larger(crop->bins[i].rule_m3, crop->bins[i].live_m3));
    }
    v.mass = efi_display_choose(EFI_KIND_MASS_RATE, units, mass, v.tpbu, NULL);
    v.intake = efi_display_choose(EFI_KIND_MASS_RATE, units, crop->intake.total_tph, v.tpbu, NULL);
    v.volume = efi_display_choose(EFI_KIND_VOLUME_RATE, units, volume, v.tpbu, NULL);
    v.tonnes = efi_display_choose(EFI_KIND_MASS, units, crop->intake_per_shift_t, v.tpbu, NULL);
    v.bin_mass = efi_display_choose(EFI_KIND_MASS, units, bin_t, v.tpbu, NULL);
    v.bin_m3 = efi_display_choose(EFI_KIND_VOLUME, units, bin_m3, v.tpbu, NULL);
    return v;
}

static void add_percent(efi_text *out, double share, int decimals)
{
    efi_number_add_fixed(out, share * 100.0, decimals);
    efi_text_add(out, " %");
}

/* ---- verdicts -------------------------------------------------------------------------------------------
 */

static int count_limits(const ef_balance_crop *crop)
{
    int count = 0;
    for (int i = 0; i < crop->station_count; i++)
        count += crop->stations[i].limits;
    return count;
}

static void add_capacity(efi_text *out, const view *v, const ef_balance_station *station)
{
    efi_display_add(out, station->capacity_by_volume ? &v->volume : &v->mass, station->capacity);
}

/* A small rate in the unit of the others. */
static void add_worth(efi_text *out, const view *v, double rate_tph)
{
    efi_display display;
    if (!efi_display_in(EFI_KIND_MASS_RATE, v->mass.name, rate_tph, v->tpbu, &display))
        display = v->mass;
    efi_display_add(out, &display, rate_tph);
}

/* "Deck limits: it is at its capacity of 10.0 t/h (line 33)." and what more of it is worth. */
static void add_single_limit(efi_text *out, const view *v, const ef_balance_station *station)
{
    efi_text words = {0};
    efi_text_addf(&words, "%s limits: it is at its capacity of ", station->name);
    add_capacity(&words, v, station);
    efi_text_addf(&words, " (line %d). ", station->capacity_place.line);
    const efi_display *unit = station->capacity_by_volume ? &v->volume : &v->mass;
    const double one = unit->unit.numerator / unit->unit.denominator; /* one unit as shown, in base units */
    efi_text_addf(&words, "One %s more there is worth ", unit->name);
    add_worth(&words, v, one * station->worth_intake_tph);
    efi_text_add(&words, " more intake and ");
    add_worth(&words, v, one * station->worth_product_tph);
    efi_text_add(&words, " more product, until another station limits.");
    efi_report_wrap(out, efi_text_get(&words), 2, WIDTH);
    efi_text_free(&words);
}

static void add_limits(efi_text *out, const view *v)
{
    const int count = count_limits(v->crop);
    efi_text words = {0};
    int said = 0;
    for (int i = 0; i < v->crop->station_count; i++) {
        const ef_balance_station *station = &v->crop->stations[i];
        if (!station->limits)
            continue;
        if (count == 1) {
            add_single_limit(out, v, station);
            return;
        }
        efi_text_add(&words, said == 0 ? "" : said + 1 == count ? " and " : ", ");
        efi_text_addf(&words, "%s (", station->name);
        add_capacity(&words, v, station);
        efi_text_addf(&words, ", line %d)", station->capacity_place.line);
        said++;
    }
    efi_text_add(&words, " limit together.");
    bool any_worth = false;
    for (int i = 0; i < v->crop->station_count; i++)
        any_worth = any_worth || (v->crop->stations[i].limits && v->crop->stations[i].worth_intake_tph > 0.0);
    if (!any_worth)
        efi_text_add(&words, " More of one of them alone gains nothing.");
    efi_report_wrap(out, efi_text_get(&words), 2, WIDTH);
    efi_text_free(&words);
}

static void add_headline(efi_text *out, const view *v)
{
    const ef_balance_crop *crop = v->crop;
    efi_text words = {0};
    efi_text_addf(&words, "%s: ", crop->name);
    if (crop->feasible) {
        efi_display_add(&words, &v->intake, crop->intake.total_tph);
        efi_text_add(&words, " at the intake gives ");
        efi_display_add(&words, &v->intake, crop->product.total_tph);
        efi_text_add(&words, " of product: ");
        add_percent(&words, crop->yield, 1);
        efi_text_add(&words, " of the receipt, ");
        add_percent(&words, crop->purity, 2);
        efi_text_add(&words, " of it wanted, with ");
        add_percent(&words, crop->wanted_recovered, 1);
        efi_text_add(&words, " of the wanted material recovered.");
    } else {
        efi_text_add(&words, "no rate meets all demands.");
    }
    efi_report_wrap(out, efi_text_get(&words), 0, WIDTH);
    efi_text_free(&words);
}

static void add_conflicts(efi_text *out, const view *v)
{
    for (int i = 0; i < v->crop->conflict_count; i++) {
        const ef_balance_conflict *conflict = &v->crop->conflicts[i];
        efi_text words = {0};
        efi_text_addf(&words, "%s must get at least ", conflict->outlet);
        efi_display_add_alone(&words, EFI_KIND_MASS_RATE, v->units, conflict->demanded_tph, v->tpbu, NULL);
        efi_text_addf(&words, " (line %d), but the line can send it at most ", conflict->place.line);
        efi_display_add_alone(&words, EFI_KIND_MASS_RATE, v->units, conflict->most_tph, v->tpbu, NULL);
        if (conflict->limiting_count > 0) {
            efi_text_add(&words, ": ");
            for (int k = 0; k < conflict->limiting_count; k++)
                efi_text_addf(&words, "%s%s", k ? ", " : "", conflict->limiting[k]);
            efi_text_addf(&words, " %s at capacity then", conflict->limiting_count == 1 ? "is" : "are");
        }
        efi_text_add(&words, ". Lower the demand, or raise that capacity.");
        efi_report_wrap(out, efi_text_get(&words), 2, WIDTH);
        efi_text_free(&words);
    }
}

static void add_shift(efi_text *out, const view *v)
{
    efi_text words = {0};
    efi_text_add(&words, "A shift of ");
    efi_display_add_duration(&words, v->crop->shift_h);
    efi_text_add(&words, " takes in ");
    efi_display_add(&words, &v->tonnes, v->crop->intake_per_shift_t);
    efi_text_add(&words, " and makes ");
    efi_display_add(&words, &v->tonnes, v->crop->product_per_shift_t);
    efi_text_add(&words, ", before stops.");
    efi_report_wrap(out, efi_text_get(&words), 2, WIDTH);
    efi_text_free(&words);
}

static void add_under_least(efi_text *out, const view *v)
{
    for (int i = 0; i < v->crop->station_count; i++) {
        const ef_balance_station *station = &v->crop->stations[i];
        if (!station->under_least_feed)
            continue;
        efi_text words = {0};
        efi_text_addf(&words, "%s gets ", station->name);
        efi_display_add(&words, &v->mass, station->feed.total_tph);
        efi_text_add(&words, ", less than its least feed of ");
        efi_display_add(&words, &v->mass, station->least_feed_tph);
        if (station->count > 1)
            efi_text_addf(&words, " for %d machines", station->count);
        efi_text_add(&words, ": it would have to run on and off from a bin");
        if (station->enough_machines > 0)
            efi_text_addf(&words, ", or %d of its machines alone", station->enough_machines);
        efi_text_add(&words, ".");
        efi_report_wrap(out, efi_text_get(&words), 2, WIDTH);
        efi_text_free(&words);
    }
}

/* ---- tables ---------------------------------------------------------------------------------------------
 */

static void add_cell(efi_table *table, const efi_display *display, double value)
{
    efi_text cell = {0};
    efi_display_add(&cell, display, value);
    efi_table_add(table, efi_text_get(&cell));
    efi_text_free(&cell);
}

static void add_percent_cell(efi_table *table, double share, int decimals)
{
    efi_text cell = {0};
    add_percent(&cell, share, decimals);
    efi_table_add(table, efi_text_get(&cell));
    efi_text_free(&cell);
}

static void add_station_note(efi_table *table, const view *v, const ef_balance_station *station)
{
    efi_text note = {0};
    if (station->limits)
        efi_text_add(&note, "limits");
    if (station->count > 1)
        efi_text_addf(&note, "%s%d machines", note.length ? ", " : "", station->count);
    if (station->steady_feed) {
        efi_text_addf(&note, "%ssteady feed +-", note.length ? ", " : "");
        efi_number_add_significant(&note, station->steady_band * 100.0, 3);
        efi_text_add(&note, " %");
    }
    if (station->has_least_feed) {
        efi_text_addf(&note, "%s%sleast ", note.length ? ", " : "",
                      station->under_least_feed ? "UNDER " : "");
        efi_display_add(&note, &v->mass, station->least_feed_tph);
    }
    efi_table_add(table, efi_text_get(&note));
    efi_text_free(&note);
}

static void add_stations(efi_text *out, const view *v)
{
    efi_table table = {.columns = 7, .align = "llrrrrl"};
    static const char *const heading[] = {"Station", "Kind", "Feed", "Capacity", "Left", "Load", "Remarks"};
    for (int i = 0; i < 7; i++)
        efi_table_add(&table, heading[i]);
    for (int i = 0; i < v->crop->station_count; i++) {
        const ef_balance_station *station = &v->crop->stations[i];
        if (strcmp(station->kind, "outlet") == 0)
            continue;
        const efi_display *unit = station->capacity_by_volume ? &v->volume : &v->mass;
        efi_table_add(&table, station->name);
        efi_table_add(&table, station->kind);
        add_cell(&table, unit, station->has_capacity ? station->feed_in_unit : station->feed.total_tph);
        if (station->has_capacity) {
            add_cell(&table, unit, station->capacity);
            add_cell(&table, unit, station->limits ? 0.0 : station->slack);
            add_percent_cell(&table, station->load, 0);
        } else {
            for (int k = 0; k < 3; k++)
                efi_table_add(&table, NULL);
        }
        add_station_note(&table, v, station);
    }
    efi_table_print(&table, out, 2, true);
}

/* The materials of a stream, most first, those under 0.005 % left out. */
static void add_composition(efi_text *out, const view *v, const ef_stream *stream)
{
    const int count = v->balance->material_count;
    double last = 2.0;
    int last_index = -1;
    for (int said = 0; said < count; said++) {
        int best = -1;
        double best_share = -1.0;
        for (int m = 0; m < count; m++) {
            const double share = stream->material_tph[m] / stream->total_tph;
            const bool left = share < last || (share == last && m > last_index);
            if (left && share > best_share) {
                best = m;
                best_share = share;
            }
        }
        if (best < 0 || !(best_share >= 5e-5))
            break;
        efi_text_addf(out, "%s%s ", said ? ", " : "", v->balance->materials[best]);
        add_percent(out, best_share, best_share < 0.1 || best_share > 0.9 ? 2 : 1);
        last = best_share;
        last_index = best;
    }
}

static void add_outlets(efi_text *out, const view *v)
{
    efi_table table = {.columns = 5, .align = "llrrl"};
    static const char *const heading[] = {"Outlet", "Use", "Rate", "Of intake", "Made of"};
    for (int i = 0; i < 5; i++)
        efi_table_add(&table, heading[i]);
    double others = 0.0;
    for (int i = 0; i < v->crop->outlet_count; i++)
        if (!v->crop->outlets[i].product)
            others = larger(others, v->crop->outlets[i].flow.total_tph);
    const efi_display small = efi_display_choose(EFI_KIND_MASS_RATE, v->units, others, v->tpbu, NULL);
    for (int i = 0; i < v->crop->outlet_count; i++) {
        const ef_balance_outlet *outlet = &v->crop->outlets[i];
        efi_text made_of = {0};
        if (outlet->flow.total_tph > 0.0)
            add_composition(&made_of, v, &outlet->flow);
        else
            efi_text_add(&made_of, "(nothing arrives)");
        efi_table_add(&table, outlet->name);
        efi_table_add(&table, outlet->product ? "product" : "other");
        add_cell(&table, outlet->product ? &v->mass : &small, outlet->flow.total_tph);
        add_percent_cell(&table, outlet->share_of_intake, 2);
        efi_table_add(&table, efi_text_get(&made_of));
        efi_text_free(&made_of);
    }
    efi_table_print(&table, out, 2, true);
}

static void add_returns(efi_text *out, const view *v)
{
    for (int i = 0; i < v->crop->spout_count; i++) {
        const ef_balance_spout *spout = &v->crop->spouts[i];
        if (!spout->closes_loop)
            continue;
        efi_text_addf(out, "  Return: %s%s%s to %s, ", spout->from, spout->discharge[0] ? ", " : "",
                      spout->discharge, spout->to);
        efi_display_add_alone(out, EFI_KIND_MASS_RATE, v->units, spout->flow.total_tph, v->tpbu, NULL);
        efi_text_add(out, "\n");
    }
}

static void add_bin(efi_text *out, const view *v, const ef_balance_bin *bin)
{
    efi_text words = {0};
    efi_text_addf(&words, "%s above %s (feed ", bin->name, bin->feeds);
    efi_display_add(&words, &v->mass, bin->feed_tph);
    efi_text_add(&words, ", returns included): the rule of ");
    efi_display_add_duration(&words, bin->rule_h);
    efi_text_add(&words, " asks for ");
    efi_display_add(&words, &v->bin_mass, bin->rule_t);
    if (bin->has_density) {
        efi_text_add(&words, ", live ");
        efi_display_add(&words, &v->bin_m3, bin->rule_m3);
        efi_text_add(&words, " (");
        efi_number_add_fixed(&words, bin->rule_bushel, 0);
        efi_text_add(&words, " bu by volume)");
    }
    if (bin->has_live && bin->has_density) {
        efi_text_add(&words, "; it has ");
        efi_display_add(&words, &v->bin_m3, bin->live_m3);
        efi_text_add(&words, ", which lasts ");
        efi_display_add_duration(&words, bin->live_minutes / 60.0);
    } else if (!bin->has_live) {
        efi_text_add(&words, "; the scenario does not give its live volume");
    }
    efi_text_add(&words, ".");
    efi_report_wrap(out, efi_text_get(&words), 2, WIDTH);
    efi_text_free(&words);
}

static const char notes[] = "Rates are steady rates before stops and clean-downs. Shares hold near the rate "
                            "at which they were measured. Lines in "
                            "brackets are lines of the scenario.";
static const char bin_caution[] =
    "The rule of thumb for bins is common practice, not a standard. Volumes here are for throughput only: "
    "structural loads, "
    "dust explosion venting, guarding and bin entry (engulfment) follow local codes and licensed practice.";

static void add_crop(efi_text *out, const ef_balance *balance, const ef_balance_crop *crop, ef_units units)
{
    const view v = view_of(balance, crop, units);
    add_headline(out, &v);
    if (!crop->feasible) {
        add_conflicts(out, &v);
        return;
    }
    add_limits(out, &v);
    add_shift(out, &v);
    add_under_least(out, &v);
    efi_text_add(out, "\n");
    add_stations(out, &v);
    add_returns(out, &v);
    efi_text_add(out, "\n");
    add_outlets(out, &v);
    if (crop->bin_count > 0)
        efi_text_add(out, "\n");
    for (int i = 0; i < crop->bin_count; i++)
        add_bin(out, &v, &crop->bins[i]);
}

ef_status ef_report_balance_text(const ef_balance *balance, ef_units units, char **text)
{
    efi_text out = {0};
    bool bins = false;
    efi_text_addf(&out, "%s (%s)\n\n", balance->plant, balance->scenario_file);
    for (int c = 0; c < balance->crop_count; c++) {
        add_crop(&out, balance, &balance->crops[c], units);
        efi_text_add(&out, "\n");
        bins = bins || balance->crops[c].bin_count > 0;
    }
    efi_report_wrap(&out, notes, 0, WIDTH);
    if (bins)
        efi_report_wrap(&out, bin_caution, 0, WIDTH);
    return efi_report_give(&out, text);
}
