/* SPDX-License-Identifier: GPL-3.0-or-later
 * A balance as text for people: verdicts first, then tables. */
#include "base/display.h"
#include "report/report.h"

#include <evenfeed/balance.h>
#include <string.h>

enum {
    WIDTH = 100,
    MADE_OF_WIDTH = 50,
    MOST_NEAR = 3
};
#define NEAR_LOAD         0.9
#define LEAST_SHARE_SHOWN 5e-5

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

/* "Deck, at its capacity of 10.0 t/h (line 33)" */
static void add_limit(efi_text *words, const view *v, const ef_balance_station *station)
{
    if (station->count > 1)
        efi_text_addf(words, "%s, its %d machines together at their capacity of ", station->name,
                      station->count);
    else
        efi_text_addf(words, "%s, at its capacity of ", station->name);
    add_capacity(words, v, station);
    efi_text_addf(words, " (line %d)", station->capacity_place.line);
}

/* What one unit more of a station that limits is worth, in the units shown. */
static void add_gain(efi_text *words, const view *v, const ef_balance_station *station)
{
    const efi_display *unit = station->capacity_by_volume ? &v->volume : &v->mass;
    const double one = unit->unit.numerator / unit->unit.denominator; /* one unit as shown, in base units */
    efi_text_addf(words, " One %s more capacity at %s is worth ", unit->name, station->name);
    add_worth(words, v, one * station->worth_intake_tph);
    efi_text_add(words, " more intake and ");
    add_worth(words, v, one * station->worth_product_tph);
    efi_text_add(words, " more product, until another station limits.");
}

static void add_limits(efi_text *out, const view *v)
{
    const int count = count_limits(v->crop);
    efi_text words = {0};
    efi_text_add(&words, "What limits: ");
    int said = 0;
    bool any_worth = false;
    for (int i = 0; i < v->crop->station_count; i++) {
        const ef_balance_station *station = &v->crop->stations[i];
        if (!station->limits)
            continue;
        efi_text_add(&words, said == 0 ? "" : said + 1 == count ? ", and " : "; ");
        add_limit(&words, v, station);
        any_worth = any_worth || station->worth_intake_tph > 0.0;
        said++;
    }
    efi_text_add(&words, count > 1 ? ", together." : ".");
    for (int i = 0; i < v->crop->station_count; i++)
        if (v->crop->stations[i].limits && v->crop->stations[i].worth_intake_tph > 0.0)
            add_gain(&words, v, &v->crop->stations[i]);
    if (!any_worth)
        efi_text_addf(&words, " More of %s gains nothing.", count > 1 ? "one of them alone" : "it alone");
    efi_report_wrap(out, efi_text_get(&words), 2, WIDTH);
    efi_text_free(&words);
}

/* The stations next in load after those that limit: all from NEAR_LOAD on, at most MOST_NEAR, at least one.
 */
static void add_near(efi_text *out, const view *v)
{
    efi_text words = {0};
    const ef_balance_station *last = NULL;
    for (int said = 0; said < MOST_NEAR; said++) {
        const ef_balance_station *next = NULL;
        for (int i = 0; i < v->crop->station_count; i++) {
            const ef_balance_station *station = &v->crop->stations[i];
            const bool left = station->has_capacity && !station->limits &&
                              (!last || station->load < last->load ||
                               (station->load == last->load && station > last));
            if (left && (!next || station->load > next->load))
                next = station;
        }
        if (!next || (said > 0 && !(next->load >= NEAR_LOAD)))
            break;
        efi_text_addf(&words, "%s%s ", said ? ", " : "Most loaded after that: ", next->name);
        add_percent(&words, next->load, 0);
        efi_text_addf(&words, " (line %d)", next->capacity_place.line);
        last = next;
    }
    if (last) {
        efi_text_add(&words, ".");
        efi_report_wrap(out, efi_text_get(&words), 2, WIDTH);
    }
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
        efi_text_add(&words, " of product, ");
        add_percent(&words, crop->yield, 1);
        efi_text_add(&words, " of the receipt. The product is ");
        add_percent(&words, crop->purity, 2);
        efi_text_add(&words, " wanted material; it keeps ");
        add_percent(&words, crop->wanted_recovered, 1);
        efi_text_add(&words, " of the wanted material received.");
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
        for (int k = 0; k < conflict->limiting_count; k++)
            efi_text_addf(&words, "%s%s", k ? ", " : "; then at capacity: ", conflict->limiting[k]);
        efi_text_add(&words, conflict->limiting_count > 0
                                 ? ". Lower the demand, or raise the capacity that holds it there."
                                 : ". Lower the demand.");
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
        efi_text_addf(&words, " (line %d): it would have to run on and off from a bin", station->place.line);
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
    if (station->steady_feed)
        efi_text_addf(&note, "%ssteady feed", note.length ? ", " : "");
    if (station->has_least_feed) {
        efi_text_addf(&note, "%s%s ", note.length ? ", " : "",
                      station->under_least_feed ? "UNDER its least" : "least");
        efi_display_add(&note, &v->mass, station->least_feed_tph);
    }
    efi_table_add(table, efi_text_get(&note));
    efi_text_free(&note);
}

static void add_stations(efi_text *out, const view *v)
{
    efi_table table = {.columns = 6, .align = "lrrrrl"};
    static const char *const heading[] = {"Station", "Feed", "Capacity", "Load", "Line", "Remarks"};
    for (int i = 0; i < table.columns; i++)
        efi_table_add(&table, heading[i]);
    for (int i = 0; i < v->crop->station_count; i++) {
        const ef_balance_station *station = &v->crop->stations[i];
        if (strcmp(station->kind, "outlet") == 0)
            continue;
        const efi_display *unit = station->capacity_by_volume ? &v->volume : &v->mass;
        efi_table_add(&table, station->name);
        add_cell(&table, unit, station->has_capacity ? station->feed_in_unit : station->feed.total_tph);
        if (station->has_capacity) {
            add_cell(&table, unit, station->capacity);
            add_percent_cell(&table, station->load, 0);
        } else {
            efi_table_add(&table, NULL);
            efi_table_add(&table, NULL);
        }
        efi_table_addf(&table, "%d",
                       station->has_capacity ? station->capacity_place.line : station->place.line);
        add_station_note(&table, v, station);
    }
    efi_table_print(&table, out, 2, true);
}

/* The material with the greatest share after `last` of a stream (-1: of all), -1 when none is left. */
static int next_material(const ef_balance *balance, const ef_stream *stream, int last)
{
    int best = -1;
    for (int m = 0; m < balance->material_count; m++) {
        const double rate = stream->material_tph[m];
        const bool left = last < 0 || rate < stream->material_tph[last] ||
                          (rate == stream->material_tph[last] && m > last);
        if (left && m != last && (best < 0 || rate > stream->material_tph[best]))
            best = m;
    }
    return best;
}

/* Adds what a stream is made of as the last cell of a row, most first, those under 0.005 % left out; goes on
 * in rows of their own, whose other cells are empty. */
static void add_composition(efi_table *table, const view *v, const ef_stream *stream)
{
    efi_text cell = {0};
    int m = stream->total_tph > 0.0 ? next_material(v->balance, stream, -1) : -1;
    if (m < 0)
        efi_text_add(&cell, "(nothing arrives)");
    while (m >= 0) {
        const double share = stream->material_tph[m] / stream->total_tph;
        if (!(share >= LEAST_SHARE_SHOWN))
            break;
        efi_text part = {0};
        efi_text_addf(&part, "%s ", v->balance->materials[m]);
        add_percent(&part, share, share < 0.1 || share > 0.9 ? 2 : 1);
        if (cell.length > 0)
            efi_text_add(&cell, ",");
        if (cell.length > 0 &&
            efi_text_width(efi_text_get(&cell)) + efi_text_width(efi_text_get(&part)) > MADE_OF_WIDTH) {
            efi_table_add(table, efi_text_get(&cell));
            efi_text_free(&cell);
            while (table->count % table->columns != table->columns - 1)
                efi_table_add(table, NULL);
        }
        efi_text_addf(&cell, "%s%s", cell.length > 0 ? " " : "", efi_text_get(&part));
        efi_text_free(&part);
        m = next_material(v->balance, stream, m);
    }
    efi_table_add(table, efi_text_get(&cell));
    efi_text_free(&cell);
}

static void add_outlets(efi_text *out, const view *v)
{
    efi_table table = {.columns = 6, .align = "llrrrl"};
    static const char *const heading[] = {"Outlet", "Use", "Rate", "Of intake", "Line", "Made of"};
    for (int i = 0; i < table.columns; i++)
        efi_table_add(&table, heading[i]);
    double others = 0.0;
    for (int i = 0; i < v->crop->outlet_count; i++)
        if (!v->crop->outlets[i].product)
            others = larger(others, v->crop->outlets[i].flow.total_tph);
    const efi_display small = efi_display_choose(EFI_KIND_MASS_RATE, v->units, others, v->tpbu, NULL);
    for (int i = 0; i < v->crop->outlet_count; i++) {
        const ef_balance_outlet *outlet = &v->crop->outlets[i];
        efi_table_add(&table, outlet->name);
        efi_table_add(&table, outlet->product ? "product" : "other");
        add_cell(&table, outlet->product ? &v->intake : &small, outlet->flow.total_tph);
        add_percent_cell(&table, outlet->share_of_intake, 2);
        efi_table_addf(&table, "%d", outlet->place.line);
        add_composition(&table, v, &outlet->flow);
    }
    efi_table_print(&table, out, 2, true);
}

static void add_returns(efi_text *out, const view *v)
{
    for (int i = 0; i < v->crop->spout_count; i++) {
        const ef_balance_spout *spout = &v->crop->spouts[i];
        if (!spout->closes_loop)
            continue;
        efi_text_add(out, "  Counted in above: ");
        efi_display_add_alone(out, EFI_KIND_MASS_RATE, v->units, spout->flow.total_tph, v->tpbu, NULL);
        efi_text_addf(out, " that %s returns to %s", spout->from, spout->to);
        if (spout->discharge[0])
            efi_text_addf(out, " (%s)", spout->discharge);
        efi_text_add(out, "\n");
    }
}

/* "3.25 m3", or "115 ft3 (92 bu of room)". */
static void add_room(efi_text *words, const view *v, double volume_m3)
{
    efi_display bushels;
    efi_display_add(words, &v->bin_m3, volume_m3);
    if (v->units == EF_UNITS_US && efi_display_in(EFI_KIND_VOLUME, "bu", volume_m3, 0.0, &bushels)) {
        bushels.decimals = 0;
        efi_text_add(words, " (");
        efi_display_add(words, &bushels, volume_m3);
        efi_text_add(words, " of room)");
    }
}

static void add_bin(efi_text *out, const view *v, const ef_balance_bin *bin)
{
    efi_text words = {0};
    const bool known = bin->has_live && bin->has_density && bin->feed_m3ph > 0.0;
    efi_text_addf(&words, "%s (line %d), above %s: ", bin->name, bin->place.line, bin->feeds);
    if (known) {
        efi_text_add(&words, "its live ");
        add_room(&words, v, bin->live_m3);
        efi_text_add(&words, " last ");
        efi_display_add_duration(&words, bin->live_minutes / 60.0);
        efi_text_add(&words, " at a feed of ");
    } else {
        efi_text_add(&words, "the feed is ");
    }
    efi_display_add(&words, &v->mass, bin->feed_tph);
    efi_text_add(&words, ", returns included. The rule of ");
    efi_display_add_duration(&words, bin->rule_h);
    efi_text_add(&words, " asks for ");
    efi_display_add(&words, &v->bin_mass, bin->rule_t);
    if (bin->has_density) {
        efi_text_add(&words, ", that is ");
        add_room(&words, v, bin->rule_m3);
    }
    if (known)
        efi_text_add(&words, bin->live_m3 < bin->rule_m3 ? ": this bin is SMALLER than the rule"
                                                         : ": this bin meets the rule");
    else if (!bin->has_live)
        efi_text_add(&words, "; the scenario does not give the bin's live volume");
    else
        efi_text_add(&words, "; without a density of the crop its volume cannot be compared");
    efi_text_add(&words, ".");
    efi_report_wrap(out, efi_text_get(&words), 2, WIDTH);
    efi_text_free(&words);
}

static const char notes[] =
    "Rates are steady rates, before stops and clean-downs; shares hold near the rate at which they were "
    "measured. "
    "Loads count all machines of a station together. \"Line\" is the line of the scenario that a capacity or "
    "station comes from; rates and volumes follow from the receipt and the shares there.";
static const char bin_caution[] =
    "The rule for bins is common practice, not a standard. Volumes here are for throughput only: structural "
    "loads, "
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
    add_near(out, &v);
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
    efi_text_addf(&out, "%s: %s\n\n", balance->plant, balance->scenario_file);
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
