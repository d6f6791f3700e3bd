/* SPDX-License-Identifier: GPL-3.0-or-later
 * A balance for people: verdicts first, then tables. */
#include "report/balance_view.h"

#include <string.h>

enum {
    MOST_NEAR = 3
};
#define NEAR_LOAD 0.9

static double larger(double a, double b)
{
    return a > b ? a : b;
}

/* Gives the file of a place a number when it is neither the scenario nor the command line. */
static void note_table(efi_balance_view *v, const ef_place *place)
{
    bool known = strcmp(place->file, v->balance->scenario_file) == 0 || strcmp(place->file, "--set") == 0;
    for (int i = 0; i < v->table_count && !known; i++)
        known = strcmp(place->file, v->tables[i]) == 0;
    if (!known && v->table_count < EFI_BALANCE_TABLES)
        v->tables[v->table_count++] = place->file;
}

static efi_balance_view view_of(const ef_balance *balance, const ef_balance_crop *crop, ef_units units)
{
    efi_balance_view v = {.balance = balance, .crop = crop, .units = units};
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
    for (int i = 0; i < crop->station_count; i++) {
        const ef_balance_station *station = &crop->stations[i];
        note_table(&v, station->has_capacity ? &station->capacity_place : &station->place);
    }
    for (int i = 0; i < crop->outlet_count; i++)
        note_table(&v, &crop->outlets[i].place);
    return v;
}

void efi_balance_add_percent(efi_text *out, double share, int decimals)
{
    efi_number_add_fixed(out, share * 100.0, decimals);
    efi_text_add(out, " %");
}

/* ---- verdicts -------------------------------------------------------------------------------------------
 */

const char *efi_balance_file_name(const char *path)
{
    const char *slash = strrchr(path, '/');
    return slash ? slash + 1 : path;
}

void efi_balance_add_place(efi_text *out, const efi_balance_view *v, const ef_place *place)
{
    if (strcmp(place->file, v->balance->scenario_file) == 0)
        efi_text_addf(out, "line %d", place->line);
    else if (strcmp(place->file, "--set") == 0)
        efi_text_add(out, "--set");
    else
        efi_text_addf(out, "%s line %d", efi_balance_file_name(place->file), place->line);
}

/* " (line 33)" */
static void add_bracketed(efi_text *out, const efi_balance_view *v, const ef_place *place)
{
    efi_text_add(out, " (");
    efi_balance_add_place(out, v, place);
    efi_text_add(out, ")");
}

static int count_limits(const ef_balance_crop *crop)
{
    int count = 0;
    for (int i = 0; i < crop->station_count; i++)
        count += crop->stations[i].limits;
    return count;
}

static void add_capacity(efi_text *out, const efi_balance_view *v, const ef_balance_station *station)
{
    efi_display_add(out, station->capacity_by_volume ? &v->volume : &v->mass, station->capacity);
}

/* A small rate in the unit of the others. */
void efi_balance_add_rate(efi_text *out, const efi_balance_view *v, double rate_tph)
{
    efi_display display;
    if (!efi_display_in(EFI_KIND_MASS_RATE, v->mass.name, rate_tph, v->tpbu, &display))
        display = v->mass;
    efi_display_add(out, &display, rate_tph);
}

/* "Deck, at its capacity of 10.0 t/h (line 33)" */
static void add_limit(efi_text *words, const efi_balance_view *v, const ef_balance_station *station)
{
    if (station->count > 1)
        efi_text_addf(words, "%s, its %d machines together at their capacity of ", station->name,
                      station->count);
    else
        efi_text_addf(words, "%s, at its capacity of ", station->name);
    add_capacity(words, v, station);
    add_bracketed(words, v, &station->capacity_place);
}

/* What more of a station that limits is worth by the aim, for each unit of its capacity. */
static double worth_of(const efi_balance_view *v, const ef_balance_station *station)
{
    return v->balance->aim == EF_BALANCE_VALUE ? station->worth_value : station->worth_intake_tph;
}

/* What one unit more of a station that limits is worth, in the units shown. */
static void add_gain(efi_text *words, const efi_balance_view *v, const ef_balance_station *station)
{
    const efi_display *unit = station->capacity_by_volume ? &v->volume : &v->mass;
    const double one = unit->unit.numerator / unit->unit.denominator; /* one unit as shown, in base units */
    efi_text_addf(words, " One %s more capacity at %s is worth ", unit->name, station->name);
    if (v->balance->aim == EF_BALANCE_VALUE) {
        efi_display_add_alone(words, EFI_KIND_MONEY_PER_TIME, v->units, one * station->worth_value, v->tpbu,
                              v->balance->currency);
        efi_text_add(words, ", until another station limits.");
        return;
    }
    efi_balance_add_rate(words, v, one * station->worth_intake_tph);
    efi_text_add(words, " more intake and ");
    efi_balance_add_rate(words, v, one * station->worth_product_tph);
    efi_text_add(words, " more product, until another station limits.");
}

/* What more power is worth by the aim, for each kW. */
static double worth_of_power(const efi_balance_view *v)
{
    return v->balance->aim == EF_BALANCE_VALUE ? v->crop->power_worth_value : v->crop->power_worth_intake_tph;
}

/* What one unit more of power is worth where it limits. */
static void add_power_gain(efi_text *words, const efi_balance_view *v)
{
    const efi_display unit = efi_display_choose(EFI_KIND_POWER, v->units, v->crop->power_limit_kw, 0.0, NULL);
    const double one = unit.unit.numerator / unit.unit.denominator;
    efi_text_addf(words, " One %s more power is worth ", unit.name);
    if (v->balance->aim == EF_BALANCE_VALUE) {
        efi_display_add_alone(words, EFI_KIND_MONEY_PER_TIME, v->units, one * v->crop->power_worth_value,
                              v->tpbu, v->balance->currency);
        efi_text_add(words, ", until a station limits.");
        return;
    }
    efi_balance_add_rate(words, v, one * v->crop->power_worth_intake_tph);
    efi_text_add(words, " more intake and ");
    efi_balance_add_rate(words, v, one * v->crop->power_worth_product_tph);
    efi_text_add(words, " more product, until a station limits.");
}

/* All that limits: stations in their order, then power. */
static void add_limit_list(efi_text *words, const efi_balance_view *v, int count)
{
    int said = 0;
    efi_text_add(words, "What limits: ");
    for (int i = 0; i < v->crop->station_count; i++) {
        if (!v->crop->stations[i].limits)
            continue;
        efi_text_add(words, said == 0 ? "" : said + 1 == count ? ", and " : "; ");
        add_limit(words, v, &v->crop->stations[i]);
        said++;
    }
    if (v->crop->power_limits) {
        efi_text_addf(words, "%spower, at its limit of ", said == 0 ? "" : ", and ");
        efi_display_add_alone(words, EFI_KIND_POWER, v->units, v->crop->power_limit_kw, 0.0, NULL);
    }
    efi_text_add(words, count > 1 ? ", together." : ".");
}

static void add_limits(efi_paper *paper, const efi_balance_view *v)
{
    const bool power = v->crop->power_limits;
    const int count = count_limits(v->crop) + (power ? 1 : 0);
    efi_text words = {0};
    if (count == 0) {
        efi_paper_words(paper, EFI_VERDICT, "Nothing limits: at these prices running more is worth nothing.");
        return;
    }
    add_limit_list(&words, v, count);
    bool any_worth = power && worth_of_power(v) > 0.0;
    for (int i = 0; i < v->crop->station_count; i++) {
        const ef_balance_station *station = &v->crop->stations[i];
        if (!station->limits || !(worth_of(v, station) > 0.0))
            continue;
        add_gain(&words, v, station);
        any_worth = true;
    }
    if (power && worth_of_power(v) > 0.0)
        add_power_gain(&words, v);
    if (!any_worth)
        efi_text_addf(&words, " More of %s gains nothing.", count > 1 ? "one of them alone" : "it alone");
    efi_paper_say(paper, EFI_VERDICT, &words);
}

/* The stations next in load after those that limit: all from NEAR_LOAD on, at most MOST_NEAR, at least one.
 */
static void add_near(efi_paper *paper, const efi_balance_view *v)
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
        efi_balance_add_percent(&words, next->load, 0);
        add_bracketed(&words, v, &next->capacity_place);
        last = next;
    }
    if (last)
        efi_text_add(&words, ".");
    efi_paper_say(paper, EFI_DETAIL, &words);
}

static void add_headline(efi_paper *paper, const efi_balance_view *v)
{
    const ef_balance_crop *crop = v->crop;
    efi_text words = {0};
    efi_text_addf(&words, "%s: ", crop->name);
    if (crop->feasible) {
        efi_display_add(&words, &v->intake, crop->intake.total_tph);
        efi_text_add(&words, " at the intake gives ");
        efi_display_add(&words, &v->intake, crop->product.total_tph);
        efi_text_add(&words, " of product, ");
        efi_balance_add_percent(&words, crop->yield, 1);
        efi_text_add(&words, " of the receipt. The product is ");
        efi_balance_add_percent(&words, crop->purity, 2);
        efi_text_add(&words, " wanted material; it keeps ");
        efi_balance_add_percent(&words, crop->wanted_recovered, 1);
        efi_text_add(&words, crop->wanted_made_tph > 0.0 ? " of the wanted material received or made."
                                                         : " of the wanted material received.");
    } else {
        efi_text_add(&words, "no rate meets all demands.");
    }
    efi_paper_say(paper, EFI_VERDICT, &words);
}

static void add_rate_conflict(efi_text *words, const efi_balance_view *v, const ef_balance_conflict *conflict)
{
    efi_text_addf(words, "%s must get at least ", conflict->outlet);
    efi_display_add_alone(words, EFI_KIND_MASS_RATE, v->units, conflict->demanded_tph, v->tpbu, NULL);
    add_bracketed(words, v, &conflict->place);
    efi_text_add(words, ", but the line can send it at most ");
    efi_display_add_alone(words, EFI_KIND_MASS_RATE, v->units, conflict->most_tph, v->tpbu, NULL);
    for (int k = 0; k < conflict->limiting_count; k++)
        efi_text_addf(words, "%s%s", k ? ", " : "; then at capacity: ", conflict->limiting[k]);
    efi_text_add(words, conflict->limiting_count > 0
                            ? ". Lower the demand, or raise the capacity that holds it there."
                            : ". Lower the demand.");
}

static void add_purity_conflict(efi_text *words, const efi_balance_view *v,
                                const ef_balance_conflict *conflict)
{
    efi_text_addf(words, "%s must be at least ", conflict->outlet);
    efi_balance_add_percent(words, conflict->demanded_share, 2);
    efi_text_add(words, " wanted material");
    add_bracketed(words, v, &conflict->place);
    efi_text_add(words, ", but the line as described makes ");
    efi_balance_add_percent(words, conflict->reached_share, 2);
    efi_text_add(
        words,
        ", whatever its rate. Look at what the separating stations before it take, or at the receipt.");
}

static void add_power_conflict(efi_text *words, const efi_balance_view *v,
                               const ef_balance_conflict *conflict)
{
    efi_text_add(words, "The stations draw ");
    efi_display_add_alone(words, EFI_KIND_POWER, v->units, conflict->idle_kw, 0.0, NULL);
    efi_text_add(words, " before a tonne passes; the limit is ");
    efi_display_add_alone(words, EFI_KIND_POWER, v->units, conflict->limit_kw, 0.0, NULL);
    add_bracketed(words, v, &conflict->place);
    efi_text_add(words, ".");
}

static void add_conflicts(efi_paper *paper, const efi_balance_view *v)
{
    for (int i = 0; i < v->crop->conflict_count; i++) {
        const ef_balance_conflict *conflict = &v->crop->conflicts[i];
        efi_text words = {0};
        switch (conflict->demand) {
        case EF_BALANCE_LEAST_RATE:
            add_rate_conflict(&words, v, conflict);
            break;
        case EF_BALANCE_LEAST_PURITY:
            add_purity_conflict(&words, v, conflict);
            break;
        case EF_BALANCE_POWER:
            add_power_conflict(&words, v, conflict);
            break;
        }
        efi_paper_say(paper, EFI_WARNING, &words);
    }
}

static void add_shift(efi_paper *paper, const efi_balance_view *v)
{
    efi_text words = {0};
    efi_text_add(&words, "A shift of ");
    efi_display_add_duration(&words, v->crop->shift_h);
    efi_text_add(&words, " takes in ");
    efi_display_add(&words, &v->tonnes, v->crop->intake_per_shift_t);
    efi_text_add(&words, " and makes ");
    efi_display_add(&words, &v->tonnes, v->crop->product_per_shift_t);
    efi_text_add(&words, ", before stops.");
    efi_paper_say(paper, EFI_DETAIL, &words);
}

static void add_under_least(efi_paper *paper, const efi_balance_view *v)
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
        add_bracketed(&words, v, &station->place);
        efi_text_add(&words, ": it would have to run on and off from a bin");
        if (station->enough_machines > 0)
            efi_text_addf(&words, ", or %d of its machines alone", station->enough_machines);
        efi_text_add(&words, ".");
        efi_paper_say(paper, EFI_WARNING, &words);
    }
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

static void add_pictures(efi_paper *paper, const efi_balance_view *v)
{
    const int crop = (int)(v->crop - v->balance->crops);
    char *svg = NULL;
    if (!paper->with_pictures)
        return;
    efi_paper_picture(paper, "flow", ef_report_flow_svg(v->balance, crop, v->units, &svg), &svg);
    efi_paper_picture(paper, "ladder", ef_report_ladder_svg(v->balance, crop, v->units, &svg), &svg);
}

static void add_crop(efi_paper *paper, const ef_balance *balance, const ef_balance_crop *crop, ef_units units)
{
    const efi_balance_view v = view_of(balance, crop, units);
    paper->depth = 0;
    efi_paper_heading(paper, 2, true, crop->name);
    add_headline(paper, &v);
    paper->depth = 1;
    if (!crop->feasible) {
        add_conflicts(paper, &v);
        return;
    }
    add_limits(paper, &v);
    add_near(paper, &v);
    add_shift(paper, &v);
    add_under_least(paper, &v);
    efi_balance_add_splits(paper, &v);
    efi_balance_add_means(paper, &v);
    add_pictures(paper, &v);
    efi_balance_add_ladder(paper, &v);
    efi_paper_gap(paper);
    efi_balance_add_stations(paper, &v);
    efi_paper_gap(paper);
    efi_balance_add_outlets(paper, &v);
    efi_balance_add_bins(paper, &v);
}

void efi_balance_put(efi_paper *paper, const ef_balance *balance, ef_units units)
{
    efi_text title = {0};
    bool bins = false;
    efi_text_addf(&title, "%s: %s", balance->plant, balance->scenario_file);
    efi_paper_title(paper, &title);
    for (int c = 0; c < balance->crop_count; c++) {
        add_crop(paper, balance, &balance->crops[c], units);
        efi_paper_gap(paper);
        bins = bins || balance->crops[c].bin_count > 0;
    }
    paper->depth = 0;
    efi_paper_words(paper, EFI_NOTE, notes);
    if (bins)
        efi_paper_words(paper, EFI_CAUTION, bin_caution);
}

ef_status ef_report_balance_text(const ef_balance *balance, ef_units units, char **text)
{
    efi_paper paper = {0};
    efi_balance_put(&paper, balance, units);
    return efi_paper_give_text(&paper, text);
}
