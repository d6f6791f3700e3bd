/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "shared/engine/network.h"

#include "base/memory.h"

#include <math.h>

#define EFI_SHARE_TOLERANCE 1e-9

const char *efi_trouble_text(efi_trouble_kind kind)
{
    switch (kind) {
#define EFI_TROUBLE_CASE(name, words)                                                                        \
    case name:                                                                                               \
        return words;
        EFI_TROUBLES(EFI_TROUBLE_CASE)
#undef EFI_TROUBLE_CASE
    }
    return "";
}

const char *efi_network_kind_text(efi_network_kind kind)
{
    static const char *const words[] = {
#define EFI_STATION_WORDS(name, words_of_kind) words_of_kind,
        EFI_NETWORK_KINDS(EFI_STATION_WORDS)
#undef EFI_STATION_WORDS
    };
    return (size_t)kind < EF_COUNT(words) ? words[kind] : "";
}

void efi_trouble_where(const efi_trouble *trouble, const efi_network *network, efi_text *text)
{
    for (int i = 0; i < trouble->stations; i++) {
        const int station = trouble->station[i];
        const char *name = station < network->stations ? network->station[station].name : NULL;
        efi_text_add(text, i == 0 ? "" : ", ");
        if (name)
            efi_text_addf(text, "\"%s\"", name);
        else
            efi_text_addf(text, "station %d", station);
    }
}

void efi_trouble_write(const efi_trouble *trouble, const efi_network *network, efi_text *text)
{
    efi_text_add(text, efi_trouble_text(trouble->kind));
    efi_text_add(text, trouble->stations > 0 ? ": " : "");
    efi_trouble_where(trouble, network, text);
}

static ef_status fault(efi_trouble *trouble, efi_trouble_kind kind, int station, int spout)
{
    *trouble = (efi_trouble){.kind = kind, .stations = station >= 0, .station = {station}, .spout = spout};
    return EF_SCENARIO;
}

/* ---- one station ------------------------------------------------------------------------------- */

static bool not_negative(double x)
{
    return isfinite(x) && x >= 0.0;
}

static bool levels_valid(const efi_network_bin *bin)
{
    return not_negative(bin->empty_t) && bin->full_t >= bin->empty_t && isfinite(bin->start_t) &&
           bin->start_t >= bin->empty_t && bin->start_t <= bin->full_t && isfinite(bin->restart_t) &&
           bin->restart_t >= bin->empty_t && bin->restart_t <= bin->full_t && bin->refill_t >= bin->empty_t &&
           bin->refill_t <= bin->full_t;
}

static bool steady_valid(const efi_network_station *station)
{
    const efi_network_steady *steady = &station->steady;
    return !steady->is_steady || (isfinite(station->capacity_tph) && not_negative(steady->least_tph) &&
                                  steady->least_tph <= station->capacity_tph * station->machines &&
                                  not_negative(steady->band_share) && not_negative(steady->warm_up_h));
}

static bool batch_valid(const efi_network_station *station)
{
    const efi_network_batch *batch = &station->batch;
    return !batch->is_used ||
           (isfinite(batch->charge_t) && batch->charge_t > 0.0 && not_negative(batch->work_h) &&
            isfinite(batch->discharge_tph) && batch->discharge_tph > 0.0 && isfinite(station->capacity_tph) &&
            station->machines == 1 && !station->steady.is_steady);
}

/* Shares of sizes of load may add up to this much more or less than 1. */
#define SIZE_SUM_TOLERANCE 1e-9

static bool sizes_valid(const efi_network_loads *loads)
{
    double sum = 0.0;
    for (int i = 0; i < loads->sizes; i++) {
        if (!(loads->size[i].load_t > 0.0 && loads->size[i].load_t < EFI_GRID_MOST &&
              loads->size[i].share > 0.0))
            return false;
        sum += loads->size[i].share;
    }
    return loads->sizes == 0 || fabs(sum - 1.0) <= SIZE_SUM_TOLERANCE;
}

/* Are they rising, apart and in range? */
static bool hours_valid(const efi_interval *list, int intervals)
{
    double last_h = 0.0;
    for (int i = 0; i < intervals; i++) {
        if (!(list[i].from_h >= last_h && list[i].to_h > list[i].from_h && list[i].to_h < EFI_GRID_MOST))
            return false;
        last_h = list[i].to_h;
    }
    return true;
}

static bool loads_valid(const efi_network_loads *loads)
{
    return !loads->is_used ||
           (sizes_valid(loads) && hours_valid(loads->open, loads->intervals) &&
            efi_distribution_valid(&loads->gap_h) && efi_distribution_valid(&loads->load_t) &&
            (!loads->has_first || not_negative(loads->first_h)));
}

static bool crew_valid(const efi_network_crew *crew)
{
    return crew->is_unlimited ||
           (crew->teams >= 1 && hours_valid(crew->duty, crew->has_duty ? crew->intervals : 0));
}

static bool delay_valid(const efi_network_station *station)
{
    return not_negative(station->delay_h) &&
           (station->delay_h <= 0.0 || (isfinite(station->capacity_tph) && station->machines == 1));
}

static ef_status check_station(const efi_network *network, int i, efi_trouble *trouble)
{
    const efi_network_station *station = &network->station[i];
    if (station->key >= UINT64_C(1) << 40)
        return fault(trouble, EFI_TROUBLE_NUMBER, i, -1);
    if (station->kind == EFI_NETWORK_BIN)
        return levels_valid(&station->bin) ? EF_OK : fault(trouble, EFI_TROUBLE_LEVELS, i, -1);
    if (!(station->capacity_tph >= 0.0))
        return fault(trouble, EFI_TROUBLE_NUMBER, i, -1);
    if (station->kind == EFI_NETWORK_SPLIT)
        return station->modes == 0 ? EF_OK : fault(trouble, EFI_TROUBLE_STOPS, i, -1);
    if (station->machines < 1 || station->machines > EFI_MACHINES_MOST)
        return fault(trouble, EFI_TROUBLE_NUMBER, i, -1);
    for (int m = 0; m < station->modes; m++)
        if (efi_stop_mode_check(&station->mode[m]) != EFI_STOP_GOOD ||
            (station->mode[m].counting == EFI_COUNT_RUNNING && !(station->capacity_tph < INFINITY)))
            return fault(trouble, EFI_TROUBLE_STOPS, i, -1);
    for (int m = 0; m < station->modes; m++)
        if (station->mode[m].has_crew &&
            (station->mode[m].crew < 0 || station->mode[m].crew >= network->crews))
            return fault(trouble, EFI_TROUBLE_CREW, i, -1);
    if (station->kind == EFI_NETWORK_CONVEYOR && !delay_valid(station))
        return fault(trouble, EFI_TROUBLE_DELAY, i, -1);
    if (station->kind == EFI_NETWORK_MACHINE && (!steady_valid(station) || !batch_valid(station)))
        return fault(trouble, EFI_TROUBLE_NUMBER, i, -1);
    if (station->kind == EFI_NETWORK_INTAKE && !loads_valid(&station->loads))
        return fault(trouble, EFI_TROUBLE_NUMBER, i, -1);
    return EF_OK;
}

/* ---- its spouts -------------------------------------------------------------------------------- */

typedef struct spout_count {
    int in;
    int out;
    double share_sum;
} spout_count;

static bool counts_fit(efi_network_kind kind, const spout_count *count)
{
    if (count->in > EFI_SPOUTS_MOST || count->out > EFI_SPOUTS_MOST)
        return false;
    switch (kind) {
    case EFI_NETWORK_INTAKE:
        return count->in == 0 && count->out >= 1;
    case EFI_NETWORK_BIN:
        return count->in >= 1 && count->out == 1;
    case EFI_NETWORK_OUTLET:
        return count->in >= 1 && count->out == 0;
    case EFI_NETWORK_MACHINE:
    case EFI_NETWORK_CONVEYOR:
    case EFI_NETWORK_SPLIT:
        return count->in >= 1 && count->out >= 1;
    }
    return false;
}

static bool divides_by_shares(const efi_network_station *station)
{
    switch (station->kind) {
    case EFI_NETWORK_INTAKE:
    case EFI_NETWORK_MACHINE:
    case EFI_NETWORK_CONVEYOR:
        return true;
    case EFI_NETWORK_SPLIT:
        return station->split == EFI_NETWORK_BY_SHARES;
    case EFI_NETWORK_BIN:
    case EFI_NETWORK_OUTLET:
        return false;
    }
    return false;
}

static ef_status count_spouts(const efi_network *network, spout_count *count, efi_trouble *trouble)
{
    for (int e = 0; e < network->spouts; e++) {
        const efi_network_spout *spout = &network->spout[e];
        if (spout->from < 0 || spout->from >= network->stations || spout->to < 0 ||
            spout->to >= network->stations || spout->from == spout->to)
            return fault(trouble, EFI_TROUBLE_SPOUT_END, -1, e);
        if (divides_by_shares(&network->station[spout->from]) &&
            !(spout->share >= 0.0 && spout->share <= 1.0))
            return fault(trouble, EFI_TROUBLE_SHARES, spout->from, e);
        count[spout->from].out++;
        count[spout->from].share_sum += spout->share;
        count[spout->to].in++;
    }
    for (int i = 0; i < network->stations; i++) {
        if (!counts_fit(network->station[i].kind, &count[i]))
            return fault(trouble, EFI_TROUBLE_SPOUTS, i, -1);
        if (divides_by_shares(&network->station[i]) &&
            !(fabs(count[i].share_sum - 1.0) <= EFI_SHARE_TOLERANCE))
            return fault(trouble, EFI_TROUBLE_SHARES, i, -1);
    }
    return EF_OK;
}

/* The only station that leads into i, or -1 when there are several. */
static int only_source(const efi_network *network, int i)
{
    int source = -1;
    for (int e = 0; e < network->spouts; e++)
        if (network->spout[e].to == i) {
            if (source >= 0)
                return -1;
            source = network->spout[e].from;
        }
    return source;
}

static ef_status check_steady(const efi_network *network, int i, efi_trouble *trouble)
{
    const efi_network_steady *steady = &network->station[i].steady;
    if (steady->least_tph > 0.0) {
        const int bin = only_source(network, i);
        if (bin < 0 || network->station[bin].kind != EFI_NETWORK_BIN ||
            !(network->station[bin].bin.restart_t > network->station[bin].bin.empty_t))
            return fault(trouble, EFI_TROUBLE_LEAST_FEED, i, -1);
    }
    if (steady->warm_up_h > 0.0 && (steady->warm_spout < 0 || steady->warm_spout >= network->spouts ||
                                    network->spout[steady->warm_spout].from != i))
        return fault(trouble, EFI_TROUBLE_WARM_UP, i, -1);
    return EF_OK;
}

static ef_status check_loads(const efi_network *network, int i, const spout_count *count,
                             efi_trouble *trouble)
{
    const efi_network_loads *loads = &network->station[i].loads;
    if (!loads->is_used)
        return EF_OK;
    if (!loads->is_instant)
        return isfinite(network->station[i].capacity_tph) ? EF_OK : fault(trouble, EFI_TROUBLE_NUMBER, i, -1);
    if (count[i].out != 1)
        return fault(trouble, EFI_TROUBLE_LOADS, i, -1);
    for (int e = 0; e < network->spouts; e++)
        if (network->spout[e].from == i && network->station[network->spout[e].to].kind != EFI_NETWORK_BIN)
            return fault(trouble, EFI_TROUBLE_LOADS, i, -1);
    return EF_OK;
}

/* ---- limits ------------------------------------------------------------------------------------ */

/* Can the station pass on what it is given without any limit of its own? */
static bool is_open(const efi_network_station *station)
{
    return station->kind != EFI_NETWORK_BIN && !(station->capacity_tph < INFINITY);
}

/*
 * Flow is unlimited where a store (or an intake without limit) is joined to a store (or an outlet without
 * limit) by stations without capacity. `unlimited[i]` says that i may be offered any amount.
 */
static ef_status check_limits(const efi_network *network, const int *order, bool *unlimited,
                              efi_trouble *trouble)
{
    for (int i = 0; i < network->stations; i++) {
        const efi_network_station *station = &network->station[i];
        const bool is_intake = station->kind == EFI_NETWORK_INTAKE && !station->loads.is_instant;
        unlimited[i] = station->kind == EFI_NETWORK_BIN || (is_intake && is_open(station));
    }
    for (int round = 0; round < 2; round++) /* a second time for what comes through returns */
        for (int k = 0; k < network->stations; k++)
            for (int e = 0; e < network->spouts; e++)
                if (network->spout[e].from == order[k] && unlimited[order[k]] &&
                    is_open(&network->station[network->spout[e].to]))
                    unlimited[network->spout[e].to] = true;
    for (int e = 0; e < network->spouts; e++) {
        const efi_network_station *to = &network->station[network->spout[e].to];
        if (unlimited[network->spout[e].from] &&
            (to->kind == EFI_NETWORK_BIN || to->kind == EFI_NETWORK_OUTLET) &&
            (to->kind == EFI_NETWORK_BIN || is_open(to)))
            return fault(trouble, EFI_TROUBLE_UNLIMITED, network->spout[e].to, e);
    }
    return EF_OK;
}

static ef_status check_all(const efi_network *network, spout_count *count, int *order, bool *unlimited,
                           efi_trouble *trouble)
{
    for (int c = 0; c < network->crews; c++)
        if (!crew_valid(&network->crew[c]))
            return fault(trouble, EFI_TROUBLE_CREW, -1, -1);
    for (int i = 0; i < network->stations; i++)
        EF_TRY(check_station(network, i, trouble));
    EF_TRY(count_spouts(network, count, trouble));
    for (int i = 0; i < network->stations; i++) {
        if (network->station[i].kind == EFI_NETWORK_MACHINE && network->station[i].steady.is_steady)
            EF_TRY(check_steady(network, i, trouble));
        if (network->station[i].kind == EFI_NETWORK_INTAKE)
            EF_TRY(check_loads(network, i, count, trouble));
    }
    int stuck = -1;
    const ef_status ordered = efi_network_order(network, order, &stuck);
    if (ordered == EF_SCENARIO)
        return fault(trouble, EFI_TROUBLE_LOOP, stuck, -1);
    EF_TRY(ordered);
    return check_limits(network, order, unlimited, trouble);
}

ef_status efi_network_check(const efi_network *network, efi_trouble *trouble)
{
    *trouble = (efi_trouble){.kind = EFI_TROUBLE_NONE, .spout = -1};
    const size_t stations = (size_t)network->stations;
    spout_count *count = efi_new(stations, sizeof *count);
    int *order = efi_new(stations, sizeof *order);
    bool *unlimited = efi_new(stations, sizeof *unlimited);
    const ef_status status = count && order && unlimited
                                 ? check_all(network, count, order, unlimited, trouble)
                                 : EF_MEMORY;
    efi_free(unlimited);
    efi_free(order);
    efi_free(count);
    return status;
}

/* ---- lots ------------------------------------------------------------------------------------ */

static bool lot_shares_valid(const efi_network *network, const double *share)
{
    for (int i = 0; share && i < network->stations; i++) {
        double sum = 0.0;
        for (int e = 0; e < network->spouts; e++)
            if (network->spout[e].from == i) {
                if (!(share[e] >= 0.0 && share[e] <= 1.0))
                    return !divides_by_shares(&network->station[i]);
                sum += share[e];
            }
        if (divides_by_shares(&network->station[i]) && !(fabs(sum - 1.0) <= EFI_SHARE_TOLERANCE))
            return false;
    }
    return true;
}

/* Levels of bins for a lot: in order, what is empty and how it begins as described. */
static bool lot_levels_valid(const efi_network *network, const efi_network_bin *bin)
{
    for (int i = 0; bin && i < network->stations; i++) {
        const efi_network_bin *described = &network->station[i].bin;
        if (network->station[i].kind == EFI_NETWORK_BIN &&
            !(levels_valid(&bin[i]) && bin[i].empty_t == described->empty_t &&
              bin[i].start_t == described->start_t))
            return false;
    }
    return true;
}

static bool lot_valid(const efi_network *network, const efi_lot *lot)
{
    if (!(isfinite(lot->tonnes_t) && lot->tonnes_t > 0.0 && not_negative(lot->arrives_h) &&
          not_negative(lot->line_clean_h) && lot_levels_valid(network, lot->bin)))
        return false;
    for (int i = 0; i < network->stations; i++) {
        const double described_tph = network->station[i].capacity_tph;
        if (lot->clean_h && !not_negative(lot->clean_h[i]))
            return false;
        if (lot->capacity_tph && network->station[i].kind != EFI_NETWORK_BIN &&
            !(lot->capacity_tph[i] >= 0.0 && (lot->capacity_tph[i] < INFINITY) == (described_tph < INFINITY)))
            return false;
    }
    return lot_shares_valid(network, lot->share);
}

ef_status efi_lots_check(const efi_network *network, const efi_lot *lot, int lots, efi_trouble *trouble)
{
    int intakes = 0;
    for (int i = 0; i < network->stations; i++) {
        const efi_network_station *station = &network->station[i];
        intakes += station->kind == EFI_NETWORK_INTAKE;
        if ((station->kind == EFI_NETWORK_INTAKE &&
             (station->loads.is_used || !(station->capacity_tph < INFINITY))) ||
            (station->kind == EFI_NETWORK_MACHINE && station->batch.is_used))
            return fault(trouble, EFI_TROUBLE_LOTS, i, -1);
    }
    for (int k = 0; k < lots; k++)
        if (!lot_valid(network, &lot[k]))
            return fault(trouble, EFI_TROUBLE_LOTS, -1, -1);
    return intakes == 1 ? EF_OK : fault(trouble, EFI_TROUBLE_LOTS, -1, -1);
}

/* ---- loops ------------------------------------------------------------------------------------- */

typedef struct walk {
    const efi_network *network;
    efi_network_spout *spout;
    char *colour; /* 0 not seen, 1 on the way, 2 done */
    int *path;    /* stations on the way */
    int *next;    /* per station: the spout to look at next */
} walk;

static void walk_from(walk *w, int start)
{
    int depth = 0;
    w->path[depth] = start;
    w->colour[start] = 1;
    while (depth >= 0) {
        const int here = w->path[depth];
        int e = w->next[here];
        while (e < w->network->spouts && w->spout[e].from != here)
            e++;
        w->next[here] = e + 1;
        if (e >= w->network->spouts) {
            w->colour[here] = 2;
            depth--;
            continue;
        }
        const int to = w->spout[e].to;
        w->spout[e].is_return = w->colour[to] == 1;
        if (w->colour[to] == 0) {
            w->colour[to] = 1;
            w->path[++depth] = to;
        }
    }
}

ef_status efi_network_mark_returns(const efi_network *network, efi_network_spout *spout)
{
    const size_t stations = (size_t)network->stations;
    walk w = {.network = network, .spout = spout};
    w.colour = efi_new(stations, sizeof *w.colour);
    w.path = efi_new(stations, sizeof *w.path);
    w.next = efi_new(stations, sizeof *w.next);
    const ef_status status = w.colour && w.path && w.next ? EF_OK : EF_MEMORY;
    if (status == EF_OK) {
        for (int i = 0; i < network->stations; i++)
            if (network->station[i].kind == EFI_NETWORK_INTAKE && w.colour[i] == 0)
                walk_from(&w, i);
        for (int i = 0; i < network->stations; i++)
            if (w.colour[i] == 0)
                walk_from(&w, i);
    }
    efi_free(w.next);
    efi_free(w.path);
    efi_free(w.colour);
    return status;
}

ef_status efi_network_order(const efi_network *network, int *order, int *stuck)
{
    int *waiting = efi_new((size_t)network->stations, sizeof *waiting);
    if (!waiting)
        return EF_MEMORY;
    for (int e = 0; e < network->spouts; e++)
        waiting[network->spout[e].to] += !network->spout[e].is_return;
    int placed = 0;
    for (int i = 0; i < network->stations; i++)
        if (waiting[i] == 0)
            order[placed++] = i;
    for (int k = 0; k < placed; k++)
        for (int e = 0; e < network->spouts; e++) {
            const efi_network_spout *spout = &network->spout[e];
            if (spout->from == order[k] && !spout->is_return && --waiting[spout->to] == 0)
                order[placed++] = spout->to;
        }
    ef_status status = EF_OK;
    for (int i = 0; placed < network->stations && i < network->stations; i++)
        if (waiting[i] > 0) {
            *stuck = i;
            status = EF_SCENARIO;
            break;
        }
    efi_free(waiting);
    return status;
}

/* Marks in `seen` all stations that can be reached from i. */
static void reach_from(const efi_network *network, int i, bool *seen, int *stack)
{
    int depth = 0;
    stack[depth++] = i;
    while (depth > 0) {
        const int here = stack[--depth];
        for (int e = 0; e < network->spouts; e++) {
            const int to = network->spout[e].to;
            if (network->spout[e].from == here && !seen[to]) {
                seen[to] = true;
                stack[depth++] = to;
            }
        }
    }
}

ef_status efi_network_loops(const efi_network *network, int *loop)
{
    const size_t stations = (size_t)network->stations;
    bool *reached = efi_new(stations * stations, sizeof *reached); /* shape [from, to] */
    int *stack = efi_new(stations + 1, sizeof *stack);
    const ef_status status = reached && stack ? EF_OK : EF_MEMORY;
    for (size_t i = 0; status == EF_OK && i < stations; i++)
        reach_from(network, (int)i, reached + i * stations, stack);
    for (size_t i = 0; status == EF_OK && i < stations; i++) {
        loop[i] = (int)i;
        for (size_t j = 0; j < i; j++)
            if (reached[i * stations + j] && reached[j * stations + i]) {
                loop[i] = loop[j];
                break;
            }
    }
    efi_free(stack);
    efi_free(reached);
    return status;
}
