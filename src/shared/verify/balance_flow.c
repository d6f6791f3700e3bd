/* SPDX-License-Identifier: GPL-3.0-or-later
 * The verifier of a balance, station by station and spout by spout, and the bins of the rule of thumb. */
#include "shared/verify/bin_volume.h"
#include "shared/verify/balance.h"

#include <math.h>
#include <string.h>

/* A station that has less than the first left limits, one that has more than the second does not, as a share
 * of its capacity; between them either is right. */
#define LIMITS_BELOW     5e-8
#define LIMITS_NOT_ABOVE 2e-7
/* The same for a least feed: short by more than the first, by less than the second. */
#define UNDER_BELOW     1e-8
#define UNDER_NOT_ABOVE 1e-10
/* Rounding of a slack, as a share of the capacity. */
#define SLACK_ROUNDING 1e-9

/* ---- stations -------------------------------------------------------------------------------------------
 */

/* Where the capacity of a station for the crop is given: its own value, that for the other crops, one for
 * all, or the buckets, screw, belt or batch that it follows from. */
static const efi_node *capacity_node(const efi_verify *verify, const efi_station *station)
{
    const char *crop = verify->reference.scenario->crops[verify->reference.crop].name;
    const efi_node *block = station->origin.value;
    const efi_node *given = efi_node_find(block, "capacity");
    if (efi_node_find(given, crop))
        return efi_node_find(given, crop);
    if (efi_node_find(given, "other crops"))
        return efi_node_find(given, "other crops");
    if (given)
        return given->kind == EFI_NODE_TEXT ? given : efi_node_find_key(block, "capacity");
    const efi_node *size = efi_node_find_key(block, "buckets");
    if (!size)
        size = efi_node_find_key(block, "screw");
    if (!size)
        size = efi_node_find_key(block, "belt");
    if (!size)
        size = efi_node_find_key(block, "batch");
    return size ? size : station->origin.key;
}

static void check_capacity(const efi_verify *verify, const ef_balance_station *claim,
                           const efi_station *station, const double *feed)
{
    efi_differences *list = verify->list;
    const efi_value capacity = efi_verify_capacity(verify, station, station->count);
    const bool by_volume = capacity.given && capacity.of == EFI_KIND_VOLUME_RATE;
    const char *unit = by_volume ? "m3/h" : "t/h";
    double used = 0.0;
    if (capacity.given)
        used = by_volume ? efi_verify_volume(verify, feed) : efi_verify_total(verify, feed);
    const double slack = capacity.given ? capacity.value - used : 0.0;
    ef_place place = {0};
    if (capacity.given)
        place = efi_tree_place(&verify->reference.scenario->tree, capacity_node(verify, station));
    const efi_value nominal = efi_verify_nominal(verify, station, station->count);
    efi_differ_number(list, "the capacity as given", unit, claim->nominal_capacity, nominal.value, 0.0);
    efi_differ_number(list, "what wet or trashy receipts leave", "", claim->derating,
                      capacity.given ? efi_verify_derating(verify, station) : 0.0, 0.0);
    efi_differ_number(list, "the peak factor", "", claim->peak_factor,
                      capacity.given ? efi_verify_peak(station) : 0.0, 0.0);
    efi_differ_flag(list, "has a capacity", claim->has_capacity, capacity.given);
    efi_differ_flag(list, "capacity by volume", claim->capacity_by_volume, by_volume);
    efi_differ_number(list, "the capacity", unit, claim->capacity, capacity.value, 0.0);
    efi_differ_number(list, "the feed against the capacity", unit, claim->feed_in_unit, used,
                      EFI_VERIFY_ROUNDING_SHARE * capacity.value);
    efi_differ_number(list, "what is left of the capacity", unit, claim->slack, claim->limits ? 0.0 : slack,
                      SLACK_ROUNDING * capacity.value);
    efi_differ_number(list, "the load", "", claim->load, capacity.given ? used / capacity.value : 0.0,
                      EFI_VERIFY_ROUNDING_SHARE);
    efi_differ_place(list, "the place of the capacity", claim->capacity_place, place);
    if (capacity.given && !(slack >= -EFI_DIFFERENCE_SHARE * capacity.value))
        efi_differ(list, "the feed of %.10g %s is more than the capacity of %.10g %s", used, unit,
                   capacity.value, unit);
    if (!capacity.given || slack > LIMITS_NOT_ABOVE * capacity.value)
        efi_differ_flag(list, "limits", claim->limits, false);
    else if (slack <= LIMITS_BELOW * capacity.value)
        efi_differ_flag(list, "limits", claim->limits, true);
}

/* Would `machines` of them each get the least feed and none be over its capacity? `slack` is the share by
 * which either may be missed. */
static bool enough(const efi_verify *verify, const efi_station *station, const double *feed, int machines,
                   double slack)
{
    const efi_value each = efi_verify_capacity(verify, station, 1);
    const efi_value least = efi_verify_value(verify, station->least_feed, 1);
    const double total = efi_verify_total(verify, feed);
    const double used = each.of == EFI_KIND_VOLUME_RATE ? efi_verify_volume(verify, feed) : total;
    return total >= machines * least.value * (1.0 - slack) &&
           (!each.given || used <= machines * each.value * (1.0 + slack));
}

static void check_least_feed(const efi_verify *verify, const ef_balance_station *claim,
                             const efi_station *station, const double *feed)
{
    efi_differences *list = verify->list;
    const bool has_least = efi_verify_value(verify, station->least_feed, station->count).given;
    const double least_tph = efi_verify_value(verify, station->least_feed, station->count).value;
    const double total = efi_verify_total(verify, feed);
    efi_differ_flag(list, "has a least feed", claim->has_least_feed, has_least);
    efi_differ_number(list, "the least feed", "t/h", claim->least_feed_tph, least_tph, 0.0);
    if (!has_least || total >= least_tph * (1.0 - UNDER_NOT_ABOVE))
        efi_differ_flag(list, "under its least feed", claim->under_least_feed, false);
    else if (total < least_tph * (1.0 - UNDER_BELOW))
        efi_differ_flag(list, "under its least feed", claim->under_least_feed, true);
    const int most = claim->under_least_feed && has_least ? station->count - 1 : 0;
    int surely = most;
    int perhaps = most;
    while (surely > 0 && !enough(verify, station, feed, surely, -UNDER_BELOW))
        surely--;
    while (perhaps > 0 && !enough(verify, station, feed, perhaps, UNDER_BELOW))
        perhaps--;
    if (claim->enough_machines != surely && claim->enough_machines != perhaps)
        efi_differ(list, "it is said that %d machines are enough for the least feed, recomputed %d",
                   claim->enough_machines, surely);
}

static void check_station(const efi_verify *verify, int at)
{
    const efi_reference *reference = &verify->reference;
    const ef_balance_station *claim = &verify->claim->stations[at];
    const int s = verify->station[at];
    const efi_station *station = &reference->scenario->stations[s];
    const double *feed = efi_verify_feed(verify, s);
    efi_differences *list = verify->list;
    list->subject = claim->name;
    efi_differ_words(list, "the kind", claim->kind, efi_station_word((efi_station_kind)station->kind));
    efi_differ_place(list, "its place", claim->place,
                     efi_tree_place(&reference->scenario->tree, station->origin.key));
    efi_differ_count(list, "the number of machines", claim->count, station->count);
    efi_verify_stream(verify, "the feed", claim->feed, feed);
    efi_differ_flag(list, "density known", claim->has_density, reference->has_density);
    efi_differ_number(list, "the feed by volume", "m3/h", claim->feed_m3ph,
                      reference->has_density ? efi_verify_volume(verify, feed) : 0.0, verify->floor_tph);
    check_capacity(verify, claim, station, feed);
    check_least_feed(verify, claim, station, feed);
    efi_differ_flag(list, "steady feed", claim->steady_feed, station->steady_band.given);
    efi_differ_number(list, "the band of the steady feed", "", claim->steady_band, station->steady_band.value,
                      0.0);
    efi_verify_station_means(verify, claim, s);
    list->subject = NULL;
}

ef_status efi_verify_stations(const efi_verify *verify)
{
    for (int at = 0; at < verify->claim->station_count; at++)
        check_station(verify, at);
    return EF_OK;
}

/* ---- spouts ---------------------------------------------------------------------------------------------
 */

/* Scratch for the spouts: what the claimed ones bring to each station, and a search for loops. */
typedef struct spout_check {
    const efi_verify *verify;
    bool *listed;        /* shape [discharge] */
    double *brought_tph; /* shape [station][material] */
    int *seen;           /* shape [station]: the spout whose search saw it last, plus 1 */
    int *queue;          /* shape [station] */
} spout_check;

/* Number of the discharge of a station with this name, -1 when there is none. */
static int find_discharge(const efi_station *station, const char *name)
{
    for (int d = 0; d < station->discharges.count; d++)
        if (strcmp(station->discharges.items[d].name, name) == 0)
            return d;
    return -1;
}

/* Does material at `from` come to `to` some way or other? */
static bool leads_to(const spout_check *check, int from, int to, int search)
{
    const efi_reference *reference = &check->verify->reference;
    int head = 0;
    int tail = 0;
    check->queue[tail++] = from;
    check->seen[from] = search;
    while (head < tail) {
        const int s = check->queue[head++];
        if (s == to)
            return true;
        const efi_discharges *out = &reference->scenario->stations[s].discharges;
        for (int d = 0; d < out->count; d++) {
            const int next = out->items[d].to[reference->crop];
            if (next < 0 || check->seen[next] == search)
                continue;
            check->seen[next] = search;
            check->queue[tail++] = next;
        }
    }
    return false;
}

static void check_spout_flow(const spout_check *check, const ef_balance_spout *claim, int from, int to,
                             const double *share, double *flow)
{
    const efi_verify *verify = check->verify;
    const size_t materials = (size_t)verify->reference.materials;
    const double *feed = efi_verify_feed(verify, from);
    const double *turns = verify->reference.scenario->stations[from].turns;
    if (turns)
        turns += (size_t)verify->reference.crop * materials * materials;
    for (size_t m = 0; m < materials; m++) {
        double leaves = turns ? 0.0 : feed[m];
        for (size_t j = 0; turns && j < materials; j++)
            leaves += feed[j] * turns[j * materials + m];
        flow[m] = share[m] * leaves;
        check->brought_tph[(size_t)to * materials + m] += claim->flow.material_tph[m];
    }
    efi_verify_stream(verify, "what runs in the spout", claim->flow, flow);
}

static void check_spout(const spout_check *check, int number, double *flow)
{
    const efi_verify *verify = check->verify;
    const efi_reference *reference = &verify->reference;
    const ef_balance_spout *claim = &verify->claim->spouts[number];
    efi_differences *list = verify->list;
    const int from = efi_verify_find(verify, claim->from);
    const int d = from < 0 ? -1 : find_discharge(&reference->scenario->stations[from], claim->discharge);
    list->subject = claim->from;
    const int to = d < 0 ? -1 : reference->scenario->stations[from].discharges.items[d].to[reference->crop];
    if (to < 0 || !reference->reached[from] ||
        check->listed[check->verify->reference.first_discharge[from] + d]) {
        efi_differ(list, "the spout \"%s\" %s", claim->discharge,
                   to < 0 || !reference->reached[from] ? "is none that this crop takes" : "is listed twice");
        return;
    }
    check->listed[check->verify->reference.first_discharge[from] + d] = true;
    efi_differ_words(list, "where the spout leads", claim->to, reference->scenario->stations[to].name);
    check_spout_flow(check, claim, from, to, efi_reference_share(reference, from, d), flow);
    const bool backwards = verify->claimed_at[to] <= verify->claimed_at[from];
    efi_differ_flag(list, "closes a loop", claim->closes_loop, backwards);
    if (backwards && !leads_to(check, to, from, number + 1))
        efi_differ(list, "the stations are out of order: it feeds \"%s\", which stands before it", claim->to);
}

/* Every station gets what the claimed spouts bring it, and an intake what is received. */
static void check_account(const spout_check *check)
{
    const efi_verify *verify = check->verify;
    const efi_reference *reference = &verify->reference;
    const size_t materials = (size_t)reference->materials;
    const double *receipt = reference->scenario->crops[reference->crop].receipt;
    for (int i = 0; i < reference->intake_count; i++)
        for (size_t m = 0; m < materials; m++)
            check->brought_tph[(size_t)reference->intake[i] * materials + m] += receipt[m] *
                                                                                verify->rate_tph[i];
    for (int at = 0; at < verify->claim->station_count; at++) {
        const ef_balance_station *station = &verify->claim->stations[at];
        verify->list->subject = station->name;
        efi_verify_stream(verify, "against what the spouts bring, the feed", station->feed,
                          check->brought_tph + (size_t)verify->station[at] * materials);
    }
    verify->list->subject = NULL;
}

static void check_all_spouts(const spout_check *check, double *flow)
{
    const efi_verify *verify = check->verify;
    const ef_scenario *scenario = verify->reference.scenario;
    for (int k = 0; k < verify->claim->spout_count; k++)
        check_spout(check, k, flow);
    for (int s = 0; s < scenario->station_count; s++) {
        verify->list->subject = scenario->stations[s].name;
        for (int d = 0; verify->reference.reached[s] && d < scenario->stations[s].discharges.count; d++)
            if (scenario->stations[s].discharges.items[d].to[verify->reference.crop] >= 0 &&
                !check->listed[check->verify->reference.first_discharge[s] + d])
                efi_differ(verify->list, "the spout \"%s\" is missing",
                           scenario->stations[s].discharges.items[d].name);
    }
    check_account(check);
}

ef_status efi_verify_spouts(const efi_verify *verify)
{
    const ef_scenario *scenario = verify->reference.scenario;
    const size_t stations = (size_t)scenario->station_count;
    const size_t materials = (size_t)verify->reference.materials;
    spout_check check = {.verify = verify};
    check.brought_tph = efi_arena_get(verify->arena, stations * materials, sizeof *check.brought_tph);
    check.seen = efi_arena_get(verify->arena, stations, sizeof *check.seen);
    check.queue = efi_arena_get(verify->arena, stations, sizeof *check.queue);
    double *flow = efi_arena_get(verify->arena, materials, sizeof *flow);
    if (!check.brought_tph || !check.seen || !check.queue || !flow)
        return EF_MEMORY;
    const size_t discharges = (size_t)verify->reference.first_discharge[stations];
    check.listed = efi_arena_get(verify->arena, discharges, sizeof *check.listed);
    if (!check.listed)
        return EF_MEMORY;
    check_all_spouts(&check, flow);
    return EF_OK;
}

/* ---- bins -----------------------------------------------------------------------------------------------
 */

static void check_bin(const efi_verify *verify, const ef_balance_bin *claim, const efi_station *bin,
                      int steady)
{
    efi_differences *list = verify->list;
    const double *feed = efi_verify_feed(verify, steady);
    const bool dense = verify->reference.has_density;
    const double tph = efi_verify_total(verify, feed);
    const double m3ph = dense ? efi_verify_volume(verify, feed) : 0.0;
    double slack_m3 = 0.0;
    const efi_crop *crop = &verify->reference.scenario->crops[verify->reference.crop];
    double live_m3 = 0.0;
    const bool has_live = efi_verify_live_m3(bin, crop, verify->reference.crop, &live_m3, &slack_m3);
    const bool lasts = has_live && m3ph > 0.0;
    /* what follows from a volume is compared to the digit with the one that was claimed */
    const double kept_m3 = efi_differ_same(claim->live_m3, live_m3, slack_m3) ? claim->live_m3 : live_m3;
    list->subject = claim->name;
    efi_differ_place(list, "its place", claim->place,
                     efi_tree_place(&verify->reference.scenario->tree, bin->origin.key));
    efi_differ_number(list, "the feed below it", "t/h", claim->feed_tph, tph, 0.0);
    efi_differ_number(list, "the feed below it by volume", "m3/h", claim->feed_m3ph, m3ph, 0.0);
    efi_differ_number(list, "the rule in tonnes", "t", claim->rule_t, tph * claim->rule_h, 0.0);
    efi_differ_number(list, "the rule by volume", "m3", claim->rule_m3, m3ph * claim->rule_h, 0.0);
    efi_differ_number(list, "the rule in bushels", "bu", claim->rule_bushel,
                      m3ph * claim->rule_h / EFI_BUSHEL_M3, 0.0);
    efi_differ_flag(list, "density known", claim->has_density, dense);
    efi_differ_flag(list, "has a live volume", claim->has_live, has_live);
    efi_differ_number(list, "the live volume", "m3", claim->live_m3, live_m3, slack_m3);
    efi_differ_number(list, "the live volume in tonnes", "t", claim->live_t,
                      lasts ? kept_m3 * tph / m3ph : 0.0, 0.0);
    efi_differ_number(list, "how long it lasts", "min", claim->live_minutes,
                      lasts ? kept_m3 / m3ph * 60.0 : 0.0, 0.0);
    list->subject = NULL;
}

/* The spouts of the crop by the station they lead to, and a search up along them. */
typedef struct climb {
    const efi_verify *verify;
    int *first_into; /* shape [station]: spout, -1 for none */
    int *next_into;  /* shape [spout]: to the same station, -1 at the end */
    int *from;       /* shape [spout]: station */
    int *seen;       /* shape [station]: the steady-feed station whose search saw it last, plus 1 */
    int *stack;      /* shape [station] */
    int claimed;     /* where among the claimed bins to look first */
    int bins;        /* found so far */
} climb;

static ef_status prepare_climb(climb *c)
{
    const efi_reference *reference = &c->verify->reference;
    const efi_station *stations = reference->scenario->stations;
    efi_arena *arena = c->verify->arena;
    size_t spouts = 0;
    for (int s = 0; s < reference->stations; s++)
        spouts += (size_t)stations[s].discharges.count;
    c->first_into = efi_arena_get(arena, (size_t)reference->stations, sizeof *c->first_into);
    c->next_into = efi_arena_get(arena, spouts, sizeof *c->next_into);
    c->from = efi_arena_get(arena, spouts, sizeof *c->from);
    c->seen = efi_arena_get(arena, (size_t)reference->stations, sizeof *c->seen);
    c->stack = efi_arena_get(arena, (size_t)reference->stations, sizeof *c->stack);
    if (!c->first_into || !c->next_into || !c->from || !c->seen || !c->stack)
        return EF_MEMORY;
    for (int s = 0; s < reference->stations; s++)
        c->first_into[s] = -1;
    int spout = 0;
    for (int s = 0; s < reference->stations; s++) {
        for (int d = 0; reference->reached[s] && d < stations[s].discharges.count; d++, spout++) {
            const int to = stations[s].discharges.items[d].to[reference->crop];
            if (to < 0)
                continue;
            c->from[spout] = s;
            c->next_into[spout] = c->first_into[to];
            c->first_into[to] = spout;
        }
    }
    return EF_OK;
}

/* Finds the claim about a bin above a steady-feed station and checks it; tells when there is none. */
static void check_pair(climb *c, int bin, int steady)
{
    const ef_balance_crop *claim = c->verify->claim;
    const efi_station *stations = c->verify->reference.scenario->stations;
    c->bins++;
    for (int n = 0; n < claim->bin_count; n++) {
        const int b = (c->claimed + n) % claim->bin_count;
        if (strcmp(claim->bins[b].name, stations[bin].name) == 0 &&
            strcmp(claim->bins[b].feeds, stations[steady].name) == 0) {
            check_bin(c->verify, &claim->bins[b], &stations[bin], steady);
            c->claimed = b;
            return;
        }
    }
    efi_differ(c->verify->list, "the bin \"%s\" above \"%s\" is missing", stations[bin].name,
               stations[steady].name);
}

/* Checks every bin from which a steady-feed station is fed over splits and stations with a single way on
 * alone. */
static void check_above(climb *c, int steady)
{
    const efi_station *stations = c->verify->reference.scenario->stations;
    int depth = 0;
    c->seen[steady] = steady + 1;
    c->stack[depth++] = steady;
    while (depth > 0) {
        const int s = c->stack[--depth];
        for (int spout = c->first_into[s]; spout >= 0; spout = c->next_into[spout]) {
            const int from = c->from[spout];
            if (c->seen[from] == steady + 1)
                continue;
            c->seen[from] = steady + 1;
            if (stations[from].kind == EFI_STATION_BIN)
                check_pair(c, from, steady);
            else if (stations[from].kind == EFI_STATION_SPLIT ||
                     (stations[from].kind != EFI_STATION_INTAKE && stations[from].discharges.count == 1))
                c->stack[depth++] = from;
        }
    }
}

ef_status efi_verify_bins(const efi_verify *verify)
{
    const efi_reference *reference = &verify->reference;
    const ef_balance_crop *claim = verify->claim;
    climb c = {.verify = verify};
    EF_TRY(prepare_climb(&c));
    for (int at = 0; at < claim->station_count; at++)
        if (reference->scenario->stations[verify->station[at]].steady_band.given)
            check_above(&c, verify->station[at]);
    efi_differ_count(verify->list, "the number of bins above steady-feed stations", claim->bin_count, c.bins);
    for (int b = 0; b < claim->bin_count; b++)
        if (!(claim->bins[b].rule_h > 0.0) ||
            !efi_differ_same(claim->bins[b].rule_h, claim->bins[0].rule_h, 0.0))
            efi_differ(verify->list, "the rule for \"%s\" is given as %.10g h, for \"%s\" as %.10g h",
                       claim->bins[b].name, claim->bins[b].rule_h, claim->bins[0].name,
                       claim->bins[0].rule_h);
    return EF_OK;
}
