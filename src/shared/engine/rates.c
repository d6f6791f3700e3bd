/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "shared/engine/rates.h"

#include <math.h>
#include <string.h>

/* A message has settled when it changes by no more than this share of itself; late on, by no more than the
 * second. */
#define EFI_SETTLED        1e-15
#define EFI_NEARLY_SETTLED 1e-13
#define EFI_ROUNDS_STRICT  30
/* A flow below this share of the greatest capacity is rounding where rates are found by rounds. */
#define EFI_NO_FLOW 1e-12
/* Plain rounds, enough for plants without loops and those that return a third or less. */
#define EFI_ROUNDS_PLAIN       40
#define EFI_ROUNDS_ACCELERATED 60
#define EFI_ROUNDS_SLOW        4000
/* How far messages are moved off a fixed point, as a share of (1 t/h + message), and the rounds they have
 * to come back. */
#define EFI_MOVED         1e-6
#define EFI_ROUNDS_BACK   40
#define EFI_ROUNDS_GENTLE 100
#define EFI_ATTEMPTS      4

static double least(double a, double b)
{
    return a < b ? a : b;
}

/* ---- pouring ----------------------------------------------------------------------------------- */

/*
 * What the stream `own` of k gets of `amount` when it asks for everything and the others for `want`: each
 * gets theta weight, those that want less than that leaving the rest to the others. `member` (bits) says who
 * takes part.
 */
static double pour(double amount, int k, const double *want, const double *weight, uint64_t member, int own)
{
    if (!(amount < INFINITY) || !(amount > 0.0))
        return amount;
    uint64_t active = member;
    double left = amount;
    for (;;) {
        double weights = 0.0;
        for (int j = 0; j < k; j++)
            if (active >> j & 1)
                weights += weight[j];
        if (active == UINT64_C(1) << own)
            return left;
        const double theta = left / weights;
        uint64_t sated = 0;
        double taken = 0.0;
        for (int j = 0; j < k; j++)
            if (j != own && (active >> j & 1) && want[j] < theta * weight[j]) {
                sated |= UINT64_C(1) << j;
                taken += want[j];
            }
        if (sated == 0)
            return theta * weight[own];
        active &= ~sated;
        left = left > taken ? left - taken : 0.0;
    }
}

/* Bits 0 .. k - 1. */
static uint64_t all_members(int k)
{
    return k >= 64 ? ~UINT64_C(0) : (UINT64_C(1) << k) - 1;
}

/* ---- sweeps ------------------------------------------------------------------------------------ */

/* Who goes first where streams meet: returns; on a loop that is eased, what comes round it. Bits. */
static uint64_t first_members(const efi_rates *rates, int station, efi_loop_ease ease)
{
    const int loop = rates->loop[station];
    uint64_t first = 0;
    for (int k = rates->in_start[station]; k < rates->in_start[station + 1]; k++) {
        const efi_network_spout *spout = &rates->network->spout[rates->in_spout[k]];
        if (ease == EFI_LOOP_PLAIN ? spout->is_return : rates->loop[spout->from] == loop)
            first |= UINT64_C(1) << (k - rates->in_start[station]);
    }
    return first;
}

/* Divides the room R of a station among the spouts leading in; with `is_shut` (a bin that waits for its
 * refill level) those that do not go first get none. */
static void divide_room(efi_rates *rates, int station, double room, bool is_shut)
{
    const int start = rates->in_start[station];
    const int k = rates->in_start[station + 1] - start;
    const int *spout = rates->in_spout + start;
    efi_loop_ease ease = (efi_loop_ease)rates->ease[rates->loop[station]];
    if (is_shut && ease == EFI_LOOP_FIRST)
        ease = EFI_LOOP_PLAIN;
    const double *weights = ease == EFI_LOOP_PLAIN ? rates->merge_weight : rates->loop_weight;
    const uint64_t first = first_members(rates, station, ease);
    const uint64_t others = all_members(k) & ~first;
    double want[EFI_SPOUTS_MOST];
    double weight[EFI_SPOUTS_MOST];
    double taken = 0.0;
    for (int j = 0; j < k; j++) {
        want[j] = rates->is_first_round ? 0.0 : rates->offer_tph[spout[j]];
        weight[j] = weights[spout[j]];
        if (first >> j & 1)
            taken += want[j];
    }
    const double rest = is_shut || ease == EFI_LOOP_CLOSED ? 0.0
                        : !(room < INFINITY)               ? room
                        : room > taken                     ? room - taken
                                                           : 0.0;
    for (int j = 0; j < k; j++) {
        const bool is_first = first >> j & 1;
        rates->room_tph[spout[j]] = pour(is_first ? room : rest, k, want, weight, is_first ? first : others,
                                         j);
    }
}

static void send_bin_room(efi_rates *rates, int bin)
{
    const bool is_full = rates->at[bin] & EFI_AT_FULL;
    const double room = is_full ? rates->room_tph[rates->out_spout[rates->out_start[bin]]] : INFINITY;
    if (rates->in_start[bin + 1] == rates->in_start[bin] + 1 && !rates->in_shut[bin])
        rates->room_tph[rates->in_spout[rates->in_start[bin]]] = room;
    else
        divide_room(rates, bin, room, rates->in_shut[bin]);
}

/* Share of full speed at which a conveyor with a delay may go: what it brings must be taken. */
static double belt_speed(const efi_rates *rates, int i)
{
    const double brings_tph = rates->discharge_tph[i];
    double limit = brings_tph;
    for (int k = rates->out_start[i]; k < rates->out_start[i + 1]; k++) {
        const int e = rates->out_spout[k];
        if (rates->share[e] > 0.0)
            limit = least(limit, rates->room_tph[e] * rates->share_inverse[e]);
    }
    return limit < brings_tph ? limit / brings_tph : 1.0;
}

static void send_room(efi_rates *rates, int i)
{
    const efi_network_station *station = &rates->network->station[i];
    if (station->kind == EFI_NETWORK_BIN) {
        send_bin_room(rates, i);
        return;
    }
    double room = rates->capacity_tph[i];
    if (efi_station_splits_by_rule(station)) {
        double sum = 0.0;
        for (int k = rates->out_start[i]; k < rates->out_start[i + 1]; k++)
            sum += rates->room_tph[rates->out_spout[k]];
        room = least(room, sum);
    } else if (efi_station_is_belt(station)) {
        room *= belt_speed(rates, i);
    } else if (!efi_station_is_batch(station)) {
        for (int k = rates->out_start[i]; k < rates->out_start[i + 1]; k++) {
            const int e = rates->out_spout[k];
            if (rates->share[e] > 0.0)
                room = least(room, rates->room_tph[e] * rates->share_inverse[e]);
        }
    }
    rates->accept_tph[i] = room;
    if (rates->in_start[i + 1] == rates->in_start[i] + 1)
        rates->room_tph[rates->in_spout[rates->in_start[i]]] = room;
    else
        divide_room(rates, i, room, false);
}

static void offer_first(efi_rates *rates, int i, double total)
{
    double left = total;
    for (int k = rates->out_start[i]; k < rates->out_start[i + 1]; k++) {
        const int e = rates->out_spout[k];
        const double room = rates->is_first_round ? 0.0 : rates->room_tph[e];
        rates->offer_tph[e] = left;
        left = left > room ? left - room : 0.0;
    }
}

static void offer_by_capacity(efi_rates *rates, int i, double total)
{
    const int start = rates->out_start[i];
    const int k = rates->out_start[i + 1] - start;
    const int *spout = rates->out_spout + start;
    double want[EFI_SPOUTS_MOST];
    double weight[EFI_SPOUTS_MOST];
    uint64_t runs = 0;
    double taken = 0.0;
    for (int j = 0; j < k; j++) {
        want[j] = rates->is_first_round ? 0.0 : rates->room_tph[spout[j]];
        weight[j] = rates->split_weight[spout[j]];
        const int machine = rates->branch_machine[spout[j]];
        if (machine < 0 || rates->capacity_tph[machine] > 0.0) {
            runs |= UINT64_C(1) << j;
            taken += want[j];
        }
    }
    const uint64_t others = all_members(k) & ~runs;
    const double rest = total > taken ? total - taken : 0.0;
    for (int j = 0; j < k; j++) {
        const bool is_running = runs >> j & 1;
        rates->offer_tph[spout[j]] = pour(is_running ? total : rest, k, want, weight,
                                          is_running ? runs : others, j);
    }
}

/* Offers by shares: each spout is held back by the room of the others, not by its own. */
static void offer_shares(efi_rates *rates, int i, double total)
{
    double lowest = INFINITY;
    double second = INFINITY;
    int lowest_spout = -1;
    for (int k = rates->out_start[i]; k < rates->out_start[i + 1]; k++) {
        const int e = rates->out_spout[k];
        if (!(rates->share[e] > 0.0))
            continue;
        const double limit = rates->room_tph[e] * rates->share_inverse[e];
        if (limit < lowest) {
            second = lowest;
            lowest = limit;
            lowest_spout = e;
        } else {
            second = least(second, limit);
        }
    }
    for (int k = rates->out_start[i]; k < rates->out_start[i + 1]; k++) {
        const int e = rates->out_spout[k];
        const double others = e == lowest_spout ? second : lowest;
        rates->offer_tph[e] = rates->share[e] > 0.0 ? rates->share[e] * least(total, others) : 0.0;
    }
}

/* What is offered to a station in all; a loop that is closed is offered nothing fresh. */
static double sum_offers(const efi_rates *rates, int i)
{
    const bool is_closed = rates->ease[rates->loop[i]] == EFI_LOOP_CLOSED;
    double supply = 0.0;
    for (int k = rates->in_start[i]; k < rates->in_start[i + 1]; k++) {
        const int e = rates->in_spout[k];
        if (!is_closed || rates->loop[rates->network->spout[e].from] == rates->loop[i])
            supply += rates->offer_tph[e];
    }
    return supply;
}

static void send_offers(efi_rates *rates, int i)
{
    const efi_network_station *station = &rates->network->station[i];
    const double supply = rates->in_start[i] == rates->in_start[i + 1] ? INFINITY : sum_offers(rates, i);
    if (station->kind == EFI_NETWORK_BIN) {
        const double offer = rates->out_shut[i] ? 0.0 : (rates->at[i] & EFI_AT_EMPTY) ? supply : INFINITY;
        rates->offer_tph[rates->out_spout[rates->out_start[i]]] = offer;
        return;
    }
    rates->supply_tph[i] = supply;
    const double total = efi_station_cuts(station) ? rates->discharge_tph[i]
                                                   : least(rates->capacity_tph[i], supply);
    if (!efi_station_splits_by_rule(station))
        offer_shares(rates, i, total);
    else if (station->split == EFI_NETWORK_FIRST)
        offer_first(rates, i, total);
    else
        offer_by_capacity(rates, i, total);
}

/* ---- answers ----------------------------------------------------------------------------------- */

/* What is left of flows that die away round a loop is none. */
static double unless_rounding(const efi_rates *rates, double flow_tph)
{
    return flow_tph > EFI_NO_FLOW * rates->scale_tph ? flow_tph : 0.0;
}

/* What a batch machine or a conveyor with a delay gives; the conveyor stands where that is none of what it
 * brings. */
static void read_given(efi_rates *rates, int i)
{
    double given = 0.0;
    for (int k = rates->out_start[i]; k < rates->out_start[i + 1]; k++)
        given += rates->flow_tph[rates->out_spout[k]];
    rates->given_tph[i] = given;
    const bool brings = unless_rounding(rates, rates->discharge_tph[i]) > 0.0;
    rates->belt_speed[i] = brings && !(given > 0.0) ? 0.0 : belt_speed(rates, i);
}

static void read_flows(efi_rates *rates)
{
    const efi_network *network = rates->network;
    for (int e = 0; e < network->spouts; e++)
        rates->flow_tph[e] = least(rates->offer_tph[e], rates->room_tph[e]);
    if (!rates->has_one_sweep) {
        for (int e = 0; e < network->spouts; e++)
            rates->flow_tph[e] = unless_rounding(rates, rates->flow_tph[e]);
        for (int i = 0; i < network->stations; i++) {
            rates->supply_tph[i] = unless_rounding(rates, rates->supply_tph[i]);
            rates->accept_tph[i] = unless_rounding(rates, rates->accept_tph[i]);
        }
    }
    for (int i = 0; i < network->stations; i++) {
        double taken = 0.0;
        for (int k = rates->in_start[i]; k < rates->in_start[i + 1]; k++)
            taken += rates->flow_tph[rates->in_spout[k]];
        if (network->station[i].kind == EFI_NETWORK_BIN) {
            rates->inflow_tph[i] = taken;
            rates->through_tph[i] = rates->flow_tph[rates->out_spout[rates->out_start[i]]];
        } else {
            rates->through_tph[i] = rates->in_start[i] == rates->in_start[i + 1] ? rates->accept_tph[i]
                                                                                 : taken;
        }
        if (efi_station_cuts(&network->station[i]))
            read_given(rates, i);
    }
}

/* ---- solving ------------------------------------------------------------------------------ */

/* Is F(x) the same as x? Notes a message that is not. */
static bool has_settled(efi_rates *rates, double tolerance)
{
    const int messages = 2 * rates->network->spouts;
    for (int k = 0; k < messages; k++) {
        const double old = rates->old_message[k];
        const double now = rates->message[k];
        if (!(old <= now && old >= now) && !(fabs(now - old) <= tolerance * (fabs(now) + rates->scale_tph))) {
            rates->unsettled_spout = k % rates->network->spouts;
            return false;
        }
    }
    return true;
}

/* No message along spouts that are shut; `start` points at the first of the station's spouts, and the next
 * station's. */
static void silence(efi_rates *rates, double *message, const int *spout, const int *start)
{
    for (int k = start[0]; k < start[1]; k++)
        if (rates->shut[spout[k]])
            message[spout[k]] = 0.0;
}

/* x <- F(x), in place; the old x is kept. */
static void sweep(efi_rates *rates)
{
    const int stations = rates->network->stations;
    const int messages = 2 * rates->network->spouts;
    for (int k = 0; k < messages; k++)
        rates->old_message[k] = rates->message[k];
    for (int k = stations - 1; k >= 0; k--) {
        send_room(rates, rates->order[k]);
        if (rates->has_shut)
            silence(rates, rates->room_tph, rates->in_spout, rates->in_start + rates->order[k]);
    }
    for (int k = 0; k < stations; k++) {
        send_offers(rates, rates->order[k]);
        if (rates->has_shut)
            silence(rates, rates->offer_tph, rates->out_spout, rates->out_start + rates->order[k]);
    }
}

/* x <- x + step (F(x) - x). */
static void step_partly(efi_rates *rates, double step)
{
    const int messages = 2 * rates->network->spouts;
    for (int k = 0; k < messages; k++)
        if (rates->old_message[k] < INFINITY && rates->message[k] < INFINITY)
            rates->message[k] = rates->old_message[k] + step * (rates->message[k] - rates->old_message[k]);
}

/* Rounds of a quarter of a step, which settle where whole steps swing and are driven off a standstill that
 * could run. */
static void sweep_gently(efi_rates *rates, int rounds)
{
    for (int round = 0; round < rounds; round++) {
        sweep(rates);
        step_partly(rates, 0.25);
    }
}

/* Many rounds of smaller and smaller steps: the slow way that always ended in trials. */
static bool sweep_slowly(efi_rates *rates)
{
    static const double steps[] = {0.5, 0.125, 0.03125};
    for (size_t k = 0; k < EF_COUNT(steps); k++)
        for (int round = 0; round < EFI_ROUNDS_SLOW; round++) {
            sweep(rates);
            if (has_settled(rates, EFI_NEARLY_SETTLED))
                return true;
            step_partly(rates, steps[k]);
        }
    return false;
}

/* From the most that could be: unlimited messages, and in the first round nobody else asks for a share. */
static bool sweep_plainly(efi_rates *rates)
{
    for (int round = 0; round < EFI_ROUNDS_PLAIN; round++) {
        rates->is_first_round = round == 0;
        sweep(rates);
        if (round > 0 && has_settled(rates, EFI_SETTLED))
            return true;
    }
    return false;
}

static bool sweep_accelerated(efi_rates *rates)
{
    const int messages = 2 * rates->network->spouts;
    efi_anderson_start(&rates->anderson);
    for (int round = 0; round < EFI_ROUNDS_ACCELERATED; round++) {
        sweep(rates);
        if (has_settled(rates, round < EFI_ROUNDS_STRICT ? EFI_SETTLED : EFI_NEARLY_SETTLED))
            return true;
        efi_anderson_next(&rates->anderson, rates->old_message, rates->message);
        for (int k = 0; k < messages; k++)
            if (!(rates->message[k] >= 0.0))
                rates->message[k] = 0.0;
    }
    return false;
}

static void keep_messages(double *to, const double *from, int messages)
{
    for (int k = 0; k < messages; k++)
        to[k] = from[k];
}

/*
 * Acceleration also finds fixed points that push away what comes near them, such as standstill of a loop that
 * could run. Does the present one, kept in kept_message, draw back what is moved a little off it? The
 * messages are left where they have gone.
 */
static bool is_attracting(efi_rates *rates)
{
    const int messages = 2 * rates->network->spouts;
    double moved = 0.0;
    keep_messages(rates->kept_message, rates->message, messages);
    for (int k = 0; k < messages; k++)
        if (rates->message[k] < INFINITY) {
            const double by = EFI_MOVED * (1.0 + rates->message[k]);
            rates->message[k] += by;
            moved = by > moved ? by : moved;
        }
    sweep_gently(rates, EFI_ROUNDS_BACK);
    double distance = 0.0;
    for (int k = 0; k < messages; k++)
        if (rates->kept_message[k] < INFINITY) {
            const double off = fabs(rates->message[k] - rates->kept_message[k]);
            distance = off > distance ? off : distance;
        }
    return distance <= moved;
}

/* An attracting fixed point, else the last found at all, else what slow steps lead to. False when nothing
 * settles. */
static bool solve_accelerated(efi_rates *rates)
{
    bool has_found = false;
    for (int attempt = 0; attempt < EFI_ATTEMPTS; attempt++) {
        if (sweep_accelerated(rates)) {
            has_found = true;
            if (is_attracting(rates))
                break;
        }
        sweep_gently(rates, EFI_ROUNDS_GENTLE);
    }
    if (!has_found)
        return sweep_slowly(rates);
    keep_messages(rates->message, rates->kept_message, 2 * rates->network->spouts);
    sweep(rates); /* for what stations are offered and accept */
    return true;
}

ef_status efi_rates_solve_eased(efi_rates *rates)
{
    const int messages = 2 * rates->network->spouts;
    for (int k = 0; k < messages; k++)
        rates->message[k] = INFINITY;
    if (rates->has_one_sweep)
        sweep(rates);
    else if (!sweep_plainly(rates) && !solve_accelerated(rates))
        return EF_NO_ANSWER;
    read_flows(rates);
    return EF_OK;
}

static ef_status solve_anew(efi_rates *rates)
{
    if (rates->has_loops)
        efi_rates_tighten(rates);
    EF_TRY(efi_rates_solve_eased(rates));
    if (rates->has_loops)
        efi_rates_ease(rates);
    return EF_OK;
}

ef_status efi_rates_solve(efi_rates *rates)
{
    const size_t stations = (size_t)rates->network->stations;
    size_t slot;
    if (rates->recall.slots == 0)
        return solve_anew(rates);
    if (efi_recall_find(&rates->recall, rates->question, rates->answer, &slot)) {
        memcpy(rates->ease, rates->solved_ease, stations);
        return EF_OK;
    }
    memcpy(rates->asked, rates->question, rates->question_words * sizeof *rates->asked);
    EF_TRY(solve_anew(rates));
    memcpy(rates->solved_ease, rates->ease, stations);
    efi_recall_keep(&rates->recall, slot, rates->asked, rates->answer);
    return EF_OK;
}
