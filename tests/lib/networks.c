/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "networks.h"

#include "base/random.h"

#include <math.h>
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdlib.h>
#include <cmocka.h>

#define ENDS 16

/* A stream that leads nowhere yet. */
typedef struct loose_end {
    int from;
    double share;
    bool is_limited; /* something limits it since the last store */
} loose_end;

typedef struct maker {
    networks_plant *plant;
    efi_random random;
    const networks_wish *wish;
    loose_end end[ENDS];
    int ends;
    int stations;
    int spouts;
} maker;

static double between(maker *m, double low, double high)
{
    return low + (high - low) * efi_random_uniform(&m->random);
}

/* True once in `of` times. */
static bool once_in(maker *m, uint32_t of)
{
    return efi_random_below(&m->random, of) == 0;
}

static int one_of(maker *m, int count)
{
    return (int)efi_random_below(&m->random, (uint32_t)count);
}

static efi_network_station *add_station(maker *m, efi_network_kind kind)
{
    efi_network_station *station = &m->plant->station[m->stations];
    *station = (efi_network_station){
        .kind = kind, .key = (uint64_t)m->stations, .capacity_tph = INFINITY, .machines = 1};
    m->stations++;
    return station;
}

static int add_spout(maker *m, int from, int to, double share)
{
    m->plant->spout[m->spouts] = (efi_network_spout){.from = from, .to = to, .share = share};
    return m->spouts++;
}

static efi_distribution random_distribution(maker *m, double mean)
{
    switch (one_of(m, 5)) {
    case 0:
        return (efi_distribution){EFI_FIXED, mean, 0.0};
    case 1:
        return (efi_distribution){EFI_WEIBULL, mean, between(m, 0.7, 3.0)};
    case 2:
        return (efi_distribution){EFI_LOGNORMAL, log(mean), between(m, 0.2, 1.2)};
    case 3:
        return (efi_distribution){EFI_GAMMA, mean / 2.0, 2.0};
    default:
        return (efi_distribution){EFI_EXPONENTIAL, mean, 0.0};
    }
}

static void add_modes(maker *m, efi_network_station *station, int most)
{
    static const double clock_times_h[] = {9.0, 12.5, 22.0};
    if (!m->wish->has_stops)
        return;
    const int modes = one_of(m, most + 1);
    station->mode = &m->plant->mode[m->plant->modes];
    for (int k = 0; k < modes && m->plant->modes < NETWORKS_MODES; k++) {
        efi_stop_mode *mode = &m->plant->mode[m->plant->modes++];
        *mode = (efi_stop_mode){.cause = (efi_stop_cause)one_of(m, EFI_CAUSES),
                                .counting = (efi_counting)one_of(m, 3),
                                .duration = random_distribution(m, between(m, 0.05, 1.0)),
                                .lockout_h = once_in(m, 3) ? 0.1 : 0.0,
                                .has_first = once_in(m, 4),
                                .first = between(m, 0.0, 4.0)};
        mode->gap = random_distribution(m, between(m, 1.0, 20.0));
        mode->every = between(m, 1.5, 12.0);
        mode->schedule = (efi_stop_schedule)one_of(m, 3);
        if (mode->schedule == EFI_STOPS_AT) {
            mode->counting = EFI_COUNT_CLOCK;
            mode->at_h = clock_times_h;
            mode->ats = 3;
            mode->period_h = 24.0;
        }
        station->modes++;
    }
}

static loose_end take_end(maker *m, int index)
{
    const loose_end end = m->end[index];
    m->end[index] = m->end[--m->ends];
    return end;
}

static void leave_end(maker *m, int from, double share, bool is_limited)
{
    m->end[m->ends++] = (loose_end){from, share, is_limited};
}

/* Ends that meet at the new station `to`; bins take limited ones only. False when there is none. */
static bool join_ends(maker *m, int to, bool only_limited)
{
    int wanted = m->wish->has_branches && once_in(m, 3) ? 2 + one_of(m, 2) : 1;
    bool has_one = false;
    for (int k = 0; k < m->ends && wanted > 0;) {
        if (only_limited && !m->end[k].is_limited) {
            k++;
            continue;
        }
        const loose_end end = take_end(m, k);
        add_spout(m, end.from, to, end.share);
        has_one = true;
        wanted--;
    }
    return has_one;
}

/* The station a return may lead to: an earlier bin, machine or conveyor, or -1. */
static int earlier_station(maker *m, int before)
{
    for (int tries = 0; tries < 8; tries++) {
        const int i = one_of(m, before);
        const efi_network_kind kind = m->plant->station[i].kind;
        if (kind == EFI_NETWORK_BIN || kind == EFI_NETWORK_MACHINE || kind == EFI_NETWORK_CONVEYOR)
            return i;
    }
    return -1;
}

static void add_outlet(maker *m, int from, double share, bool must_limit)
{
    efi_network_station *outlet = add_station(m, EFI_NETWORK_OUTLET);
    if (must_limit || (m->wish->has_branches && once_in(m, 4))) {
        outlet->capacity_tph = between(m, 4.0, 16.0);
        add_modes(m, outlet, 1);
    }
    add_spout(m, from, m->stations - 1, share);
}

/* A steady feed behind its own bin. */
static void make_steady(maker *m, int machine, int bin)
{
    efi_network_station *station = &m->plant->station[machine];
    station->steady = (efi_network_steady){.is_steady = true, .band_share = 0.02, .warm_spout = -1};
    if (m->plant->station[bin].bin.restart_t > m->plant->station[bin].bin.empty_t)
        station->steady.least_tph = once_in(m, 2) ? 0.7 * station->capacity_tph : 0.0;
}

static void add_machine(maker *m)
{
    if (m->ends == 0)
        return;
    const bool is_conveyor = once_in(m, 4);
    efi_network_station *station = add_station(m, is_conveyor ? EFI_NETWORK_CONVEYOR : EFI_NETWORK_MACHINE);
    const int i = m->stations - 1;
    const int first_in = m->spouts;
    station->capacity_tph = between(m, 5.0, 15.0);
    if (is_conveyor && m->wish->has_delays && !once_in(m, 3)) {
        station->delay_h = once_in(m, 4) ? between(m, 0.2, 1.5) : between(m, 0.005, 0.1);
    } else if (once_in(m, 5)) {
        station->machines = 2 + one_of(m, 2);
        station->capacity_tph /= station->machines;
    }
    add_modes(m, station, 2);
    join_ends(m, i, false);
    const int bin = m->plant->spout[first_in].from;
    if (m->wish->has_latches && !is_conveyor && m->spouts == first_in + 1 &&
        m->plant->station[bin].kind == EFI_NETWORK_BIN && once_in(m, 2))
        make_steady(m, i, bin);
    else if (m->wish->has_batches && !is_conveyor && station->machines == 1 && once_in(m, 5))
        station->batch = (efi_network_batch){.is_used = true,
                                             .charge_t = between(m, 0.1, 2.0),
                                             .work_h = once_in(m, 4) ? 0.0 : between(m, 0.02, 0.3),
                                             .discharge_tph = between(m, 5.0, 30.0)};
    double left = 1.0;
    int spare = -1;
    if (!is_conveyor && once_in(m, 2)) {
        const double share = between(m, 0.01, 0.15);
        spare = m->spouts;
        add_outlet(m, i, share, false);
        left -= share;
    }
    if (m->wish->has_returns && !is_conveyor && once_in(m, 2)) {
        const int to = earlier_station(m, i + 1);
        const double share = between(m, 0.05, 0.3);
        if (to >= 0 && to != i) {
            spare = add_spout(m, i, to, share);
            left -= share;
        }
    }
    if (station->steady.is_steady && spare >= 0 && once_in(m, 2)) {
        station->steady.warm_up_h = between(m, 0.02, 0.2);
        station->steady.warm_spout = spare;
    }
    if (m->wish->has_branches && !is_conveyor && m->ends + 2 < ENDS && once_in(m, 4)) {
        const double share = left * between(m, 0.2, 0.6);
        leave_end(m, i, share, true);
        left -= share;
    }
    leave_end(m, i, left, true);
}

static void add_bin(maker *m)
{
    int limited = 0;
    for (int k = 0; k < m->ends; k++)
        limited += m->end[k].is_limited;
    if (limited == 0)
        return;
    efi_network_station *station = add_station(m, EFI_NETWORK_BIN);
    const int i = m->stations - 1;
    join_ends(m, i, true);
    const double size_t_ = once_in(m, 8) ? 0.0 : between(m, 0.2, 8.0);
    const double empty_t = once_in(m, 4) ? 0.1 * size_t_ : 0.0;
    station->bin = (efi_network_bin){.empty_t = empty_t,
                                     .full_t = size_t_,
                                     .start_t = once_in(m, 3) ? empty_t : between(m, empty_t, size_t_),
                                     .restart_t = empty_t,
                                     .refill_t = size_t_};
    if (m->wish->has_latches && once_in(m, 2))
        station->bin.restart_t = between(m, empty_t, size_t_);
    if (m->wish->has_latches && once_in(m, 3))
        station->bin.refill_t = between(m, empty_t, size_t_);
    leave_end(m, i, 1.0, false);
}

static void add_split(maker *m)
{
    if (m->ends == 0 || m->ends + 3 > ENDS)
        return;
    efi_network_station *split = add_station(m, EFI_NETWORK_SPLIT);
    const int i = m->stations - 1;
    const loose_end end = take_end(m, one_of(m, m->ends));
    add_spout(m, end.from, i, end.share);
    split->split = (efi_network_split)one_of(m, 3);
    const int branches = 2 + one_of(m, 2);
    double left = 1.0;
    for (int k = 0; k < branches; k++) {
        const double share = k + 1 == branches ? left : left * between(m, 0.3, 0.7);
        leave_end(m, i, share, end.is_limited);
        left -= share;
    }
}

/* On duty in turns of some hours, on the grid, sometimes without a break. */
static void add_duty(maker *m, int c)
{
    double at_h = once_in(m, 2) ? 0.0 : (double)one_of(m, 5);
    for (int k = 0; k < NETWORKS_DUTIES; k++) {
        const double to_h = at_h + 1.0 + 0.5 * one_of(m, 16);
        m->plant->duty[c][k] = (efi_interval){at_h, to_h};
        at_h = to_h + 0.25 * one_of(m, 20);
    }
}

static void add_crews(maker *m)
{
    networks_plant *plant = m->plant;
    plant->network.crews = 1 + one_of(m, NETWORKS_CREWS);
    plant->network.crew = plant->crew;
    for (int c = 0; c < plant->network.crews; c++) {
        plant->crew[c] = (efi_network_crew){.teams = 1 + one_of(m, 2),
                                            .is_unlimited = once_in(m, 6),
                                            .has_duty = once_in(m, 2),
                                            .intervals = NETWORKS_DUTIES,
                                            .duty = plant->duty[c],
                                            .breaks_off = once_in(m, 2)};
        add_duty(m, c);
    }
    for (int k = 0; k < plant->modes; k++) {
        plant->mode[k].has_crew = !once_in(m, 4);
        plant->mode[k].crew = one_of(m, plant->network.crews);
    }
}

static void finish(maker *m)
{
    networks_plant *plant = m->plant;
    while (m->ends > 0) {
        const loose_end end = take_end(m, m->ends - 1);
        add_outlet(m, end.from, end.share, !end.is_limited);
    }
    for (int i = 0; i < m->stations; i++) {
        int ins = 0;
        for (int e = 0; e < m->spouts; e++)
            ins += plant->spout[e].to == i;
        if (ins > 1) /* a return has come to it since */
            plant->station[i].steady.least_tph = 0.0;
    }
    plant->network = (efi_network){
        .stations = m->stations, .station = plant->station, .spouts = m->spouts, .spout = plant->spout};
    if (m->wish->has_crews)
        add_crews(m);
    assert_int_equal(efi_network_mark_returns(&plant->network, plant->spout), EF_OK);
    efi_trouble trouble;
    const ef_status status = efi_network_check(&plant->network, &trouble);
    if (status != EF_OK)
        fail_msg("a random plant is no plant: %s, station %d, spout %d", efi_trouble_text(trouble.kind),
                 trouble.stations > 0 ? trouble.station[0] : -1, trouble.spout);
}

void networks_make(networks_plant *plant, uint64_t seed, const networks_wish *wish)
{
    *plant = (networks_plant){.modes = 0};
    maker m = {.plant = plant, .random = efi_random_stream(seed, 77, 1), .wish = wish};
    const int intakes = wish->has_branches && !wish->has_one_intake ? 1 + one_of(&m, 3) : 1;
    for (int k = 0; k < intakes; k++) {
        efi_network_station *intake = add_station(&m, EFI_NETWORK_INTAKE);
        intake->capacity_tph = between(&m, 6.0, 14.0);
        add_modes(&m, intake, 1);
        leave_end(&m, m.stations - 1, 1.0, true);
    }
    for (int step = 0; step < wish->steps && m.stations + 8 < NETWORKS_STATIONS / 2; step++) {
        switch (one_of(&m, wish->has_branches ? 6 : 5)) {
        case 0:
        case 1:
            add_bin(&m);
            break;
        case 5:
            add_split(&m);
            break;
        default:
            if (m.ends < ENDS - 3)
                add_machine(&m);
            break;
        }
    }
    finish(&m);
}

void networks_make_series(networks_plant *plant, uint64_t seed)
{
    static const networks_wish stops = {.steps = 9, .has_stops = true};
    static const networks_wish latches = {.steps = 12, .has_stops = true, .has_latches = true};
    networks_make(plant, seed, seed % 2 == 0 ? &stops : &latches);
    for (int i = 0; i < plant->network.stations; i++)
        plant->station[i].steady.warm_up_h = 0.0;
}
