/* SPDX-License-Identifier: GPL-3.0-or-later
 * A balance for people: verdicts first, then tables. */
#include "base/tongue.h"
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

/* ---- verdicts -------------------------------------------------------------------------------------------
 */

const char *efi_balance_file_name(const char *path)
{
    const char *slash = strrchr(path, '/');
    return slash ? slash + 1 : path;
}

const char *efi_balance_place(efi_paper *paper, const efi_balance_view *v, const ef_place *place)
{
    if (strcmp(place->file, v->balance->scenario_file) == 0)
        return efi_paper_phrase(paper, efi_tr("line %d"), place->line);
    if (strcmp(place->file, "--set") == 0)
        return "--set";
    return efi_paper_phrase(paper, efi_tr("%s line %d"), efi_balance_file_name(place->file), place->line);
}

static int count_limits(const ef_balance_crop *crop)
{
    int count = 0;
    for (int i = 0; i < crop->station_count; i++)
        count += crop->stations[i].limits;
    return count;
}

efi_piece efi_balance_rate(const efi_balance_view *v, double rate_tph)
{
    efi_display display;
    if (!efi_display_in(EFI_KIND_MASS_RATE, v->mass.name, rate_tph, v->tpbu, &display))
        display = v->mass;
    return efi_piece_quantity(&display, rate_tph);
}

efi_piece efi_balance_kind(const efi_balance_view *v, efi_kind kind, double value)
{
    return efi_piece_alone(kind, v->units, value, v->tpbu, v->balance->currency);
}

/* "Deck, at its capacity of 10.0 t/h (line 33)" */
static const char *limit_of(efi_paper *paper, const efi_balance_view *v, const ef_balance_station *station)
{
    const efi_piece capacity = efi_piece_quantity(station->capacity_by_volume ? &v->volume : &v->mass,
                                                  station->capacity);
    const char *place = efi_balance_place(paper, v, &station->capacity_place);
    if (station->count > 1)
        return efi_paper_phrase(paper, efi_tr("%s, its %d machines together at their capacity of %s (%s)"),
                                station->name, station->count, capacity.words, place);
    return efi_paper_phrase(paper, efi_tr("%s, at its capacity of %s (%s)"), station->name, capacity.words,
                            place);
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
    if (v->balance->aim == EF_BALANCE_VALUE)
        efi_text_addf(words, efi_tr(" One %s more capacity at %s is worth %s, until another station limits."),
                      unit->name, station->name,
                      efi_balance_kind(v, EFI_KIND_MONEY_PER_TIME, one * station->worth_value).words);
    else
        efi_text_addf(words,
                      efi_tr(" One %s more capacity at %s is worth %s more intake and %s more product, "
                             "until another station limits."),
                      unit->name, station->name, efi_balance_rate(v, one * station->worth_intake_tph).words,
                      efi_balance_rate(v, one * station->worth_product_tph).words);
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
    if (v->balance->aim == EF_BALANCE_VALUE)
        efi_text_addf(words, efi_tr(" One %s more power is worth %s, until a station limits."), unit.name,
                      efi_balance_kind(v, EFI_KIND_MONEY_PER_TIME, one * v->crop->power_worth_value).words);
    else
        efi_text_addf(words,
                      efi_tr(" One %s more power is worth %s more intake and %s more product, until a "
                             "station limits."),
                      unit.name, efi_balance_rate(v, one * v->crop->power_worth_intake_tph).words,
                      efi_balance_rate(v, one * v->crop->power_worth_product_tph).words);
}

/* The list of what limits, with one more. */
static const char *with_limit(efi_paper *paper, const char *before, const char *next, bool last)
{
    if (!*before)
        return next;
    return last ? efi_paper_phrase(paper, efi_tr_in("limits", "%s, and %s"), before, next)
                : efi_paper_phrase(paper, efi_tr_in("limits", "%s; %s"), before, next);
}

/* All that limits: stations in their order, then power. */
static void add_limit_list(efi_paper *paper, efi_text *words, const efi_balance_view *v, int count)
{
    int said = 0;
    const char *list = "";
    for (int i = 0; i < v->crop->station_count; i++) {
        if (!v->crop->stations[i].limits)
            continue;
        said++;
        list = with_limit(paper, list, limit_of(paper, v, &v->crop->stations[i]), said == count);
    }
    if (v->crop->power_limits)
        list = with_limit(
            paper, list,
            efi_paper_phrase(
                paper, efi_tr("power, at its limit of %s"),
                efi_piece_alone(EFI_KIND_POWER, v->units, v->crop->power_limit_kw, 0.0, NULL).words),
            true);
    efi_text_addf(words, count > 1 ? efi_tr("What limits: %s, together.") : efi_tr("What limits: %s."), list);
}

static void add_limits(efi_paper *paper, const efi_balance_view *v)
{
    const bool power = v->crop->power_limits;
    const int count = count_limits(v->crop) + (power ? 1 : 0);
    efi_text words = {0};
    if (count == 0) {
        efi_paper_words(paper, EFI_VERDICT,
                        efi_tr("Nothing limits: at these prices running more is worth nothing."));
        return;
    }
    add_limit_list(paper, &words, v, count);
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
        efi_text_add(&words, count > 1 ? efi_tr(" More of one of them alone gains nothing.")
                                       : efi_tr(" More of it alone gains nothing."));
    efi_paper_say(paper, EFI_VERDICT, &words);
}

/* The stations next in load after those that limit: all from NEAR_LOAD on, at most MOST_NEAR, at least one.
 */
static void add_near(efi_paper *paper, const efi_balance_view *v)
{
    efi_text list = {0};
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
        efi_text_addf(&list, "%s%s %s (%s)", said ? ", " : "", next->name,
                      efi_piece_percent(next->load, 0).words,
                      efi_balance_place(paper, v, &next->capacity_place));
        last = next;
    }
    if (last)
        efi_paper_wordsf(paper, EFI_DETAIL, efi_tr("Most loaded after that: %s."), efi_text_get(&list));
    paper->failed = paper->failed || list.failed;
    efi_text_free(&list);
}

static void add_headline(efi_paper *paper, const efi_balance_view *v)
{
    const ef_balance_crop *crop = v->crop;
    efi_text words = {0};
    if (crop->feasible) {
        efi_text_addf(&words, efi_tr("%s: %s at the intake gives %s of product, %s of the receipt."),
                      crop->name, efi_piece_quantity(&v->intake, crop->intake.total_tph).words,
                      efi_piece_quantity(&v->intake, crop->product.total_tph).words,
                      efi_piece_percent(crop->yield, 1).words);
        efi_text_addf(&words,
                      crop->wanted_made_tph > 0.0
                          ? efi_tr(" The product is %s wanted material; it keeps %s of the wanted material "
                                   "received or made.")
                          : efi_tr(" The product is %s wanted material; it keeps %s of the wanted material "
                                   "received."),
                      efi_piece_percent(crop->purity, 2).words,
                      efi_piece_percent(crop->wanted_recovered, 1).words);
    } else {
        efi_text_addf(&words, efi_tr("%s: no rate meets all demands."), crop->name);
    }
    efi_paper_say(paper, EFI_VERDICT, &words);
}

static void add_rate_conflict(efi_paper *paper, const efi_balance_view *v,
                              const ef_balance_conflict *conflict)
{
    const efi_piece demanded = efi_piece_alone(EFI_KIND_MASS_RATE, v->units, conflict->demanded_tph, v->tpbu,
                                               NULL);
    const efi_piece most = efi_piece_alone(EFI_KIND_MASS_RATE, v->units, conflict->most_tph, v->tpbu, NULL);
    const char *place = efi_balance_place(paper, v, &conflict->place);
    const char *limiting = "";
    for (int k = 0; k < conflict->limiting_count; k++)
        limiting = efi_paper_phrase(paper, "%s%s%s", limiting, k ? ", " : "", conflict->limiting[k]);
    if (conflict->limiting_count > 0)
        efi_paper_wordsf(paper, EFI_WARNING,
                         efi_tr("%s must get at least %s (%s), but the line can send it at most %s; then at "
                                "capacity: %s. Lower the demand, or raise the capacity that holds it there."),
                         conflict->outlet, demanded.words, place, most.words, limiting);
    else
        efi_paper_wordsf(
            paper, EFI_WARNING,
            efi_tr("%s must get at least %s (%s), but the line can send it at most %s. Lower the "
                   "demand."),
            conflict->outlet, demanded.words, place, most.words);
}

static void add_purity_conflict(efi_paper *paper, const efi_balance_view *v,
                                const ef_balance_conflict *conflict)
{
    efi_paper_wordsf(paper, EFI_WARNING,
                     efi_tr("%s must be at least %s wanted material (%s), but the line as described makes "
                            "%s, whatever its rate. Look at what the separating stations before it take, "
                            "or at the receipt."),
                     conflict->outlet, efi_piece_percent(conflict->demanded_share, 2).words,
                     efi_balance_place(paper, v, &conflict->place),
                     efi_piece_percent(conflict->reached_share, 2).words);
}

static void add_power_conflict(efi_paper *paper, const efi_balance_view *v,
                               const ef_balance_conflict *conflict)
{
    efi_paper_wordsf(paper, EFI_WARNING,
                     efi_tr("The stations draw %s before a tonne passes; the limit is %s (%s)."),
                     efi_piece_alone(EFI_KIND_POWER, v->units, conflict->idle_kw, 0.0, NULL).words,
                     efi_piece_alone(EFI_KIND_POWER, v->units, conflict->limit_kw, 0.0, NULL).words,
                     efi_balance_place(paper, v, &conflict->place));
}

static void add_conflicts(efi_paper *paper, const efi_balance_view *v)
{
    for (int i = 0; i < v->crop->conflict_count; i++) {
        const ef_balance_conflict *conflict = &v->crop->conflicts[i];
        switch (conflict->demand) {
        case EF_BALANCE_LEAST_RATE:
            add_rate_conflict(paper, v, conflict);
            break;
        case EF_BALANCE_LEAST_PURITY:
            add_purity_conflict(paper, v, conflict);
            break;
        case EF_BALANCE_POWER:
            add_power_conflict(paper, v, conflict);
            break;
        }
    }
}

static void add_shift(efi_paper *paper, const efi_balance_view *v)
{
    efi_paper_wordsf(paper, EFI_DETAIL, efi_tr("A shift of %s takes in %s and makes %s, before stops."),
                     efi_piece_duration(v->crop->shift_h).words,
                     efi_piece_quantity(&v->tonnes, v->crop->intake_per_shift_t).words,
                     efi_piece_quantity(&v->tonnes, v->crop->product_per_shift_t).words);
}

/* What a station gets, and the least it needs: "Deck gets 2 t/h, less than its least feed of 3 t/h (line 7)"
 */
static const char *under_least_of(efi_paper *paper, const efi_balance_view *v,
                                  const ef_balance_station *station)
{
    const efi_piece feed = efi_piece_quantity(&v->mass, station->feed.total_tph);
    const efi_piece least = efi_piece_quantity(&v->mass, station->least_feed_tph);
    const char *place = efi_balance_place(paper, v, &station->place);
    if (station->count > 1)
        return efi_paper_phrase(paper,
                                efi_tr("%s gets %s, less than its least feed of %s for %d machines (%s)"),
                                station->name, feed.words, least.words, station->count, place);
    return efi_paper_phrase(paper, efi_tr("%s gets %s, less than its least feed of %s (%s)"), station->name,
                            feed.words, least.words, place);
}

static void add_under_least(efi_paper *paper, const efi_balance_view *v)
{
    for (int i = 0; i < v->crop->station_count; i++) {
        const ef_balance_station *station = &v->crop->stations[i];
        if (!station->under_least_feed)
            continue;
        const char *under = under_least_of(paper, v, station);
        if (station->enough_machines > 0)
            efi_paper_wordsf(paper, EFI_WARNING,
                             efi_tr("%s: it would have to run on and off from a bin, or %d of "
                                    "its machines alone."),
                             under, station->enough_machines);
        else
            efi_paper_wordsf(paper, EFI_WARNING, efi_tr("%s: it would have to run on and off from a bin."),
                             under);
    }
}

static const char notes[] = EFI_TR(
    "Rates are steady rates, before stops and clean-downs; shares hold near the rate at which they were "
    "measured. "
    "Loads count all machines of a station together. \"Line\" is the line of the scenario that a capacity or "
    "station comes from; rates and volumes follow from the receipt and the shares there.");
static const char bin_caution[] = EFI_TR(
    "The rule for bins is common practice, not a standard. Volumes here are for throughput only: structural "
    "loads, "
    "dust explosion venting, guarding and bin entry (engulfment) follow local codes and licensed practice.");

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
    efi_paper_words(paper, EFI_NOTE, efi_tr(notes));
    if (bins)
        efi_paper_words(paper, EFI_CAUTION, efi_tr(bin_caution));
}

ef_status ef_report_balance_text(const ef_balance *balance, ef_units units, char **text)
{
    efi_paper paper = {0};
    efi_balance_put(&paper, balance, units);
    return efi_paper_give_text(&paper, text);
}
