/* SPDX-License-Identifier: GPL-3.0-or-later
 * What the files of the verifier of a balance share: one crop under examination. */
#ifndef EFI_VERIFY_BALANCE_H
#define EFI_VERIFY_BALANCE_H

#include "shared/verify/differences.h"
#include "shared/verify/reference.h"

#include <evenfeed/balance.h>

/* A flow below this share of the intake is rounding. */
#define EFI_VERIFY_ROUNDING_SHARE 1e-12

/* By this much a least purity may be missed: the answer allows itself the first, and chosen shares may use it
 * up to the last digit, so that rounding needs a little more. */
#define EFI_VERIFY_PURITY_SLACK        1e-8
#define EFI_VERIFY_PURITY_SLACK_CHOSEN 2e-8

typedef struct efi_verify {
    efi_differences *list;
    efi_arena *arena;
    ef_balance_aim aim;
    const ef_balance_crop *claim;
    efi_reference reference;
    int *claimed_at;     /* shape [station of the scenario]: position among the claimed stations, or -1 */
    int *station;        /* shape [claimed station]: station of the scenario */
    double *rate_tph;    /* shape [intake]: claimed */
    double *feed_tph;    /* shape [station][material]: recomputed for those rates */
    double floor_tph;    /* below it a flow is rounding */
    double purity_slack; /* by this much a least purity may be missed */
    bool chosen; /* shares were chosen by the answer: they are taken as claimed, within least and most */
} efi_verify;

/* Recomputed feed of a station of the scenario, shape [material]; its sum, t/h; its volume, m3/h. */
const double *efi_verify_feed(const efi_verify *verify, int station);
double efi_verify_total(const efi_verify *verify, const double *material_tph);
double efi_verify_volume(const efi_verify *verify, const double *material_tph);

/* Compares a claimed stream with its materials, shape [material]. */
void efi_verify_stream(const efi_verify *verify, const char *what, ef_stream claimed,
                       const double *material_tph);

/* Number of the station with this name, -1 when there is none. */
int efi_verify_find(const efi_verify *verify, const char *name);

/* A value by crop, of `count` machines together. */
efi_value efi_verify_value(const efi_verify *verify, const efi_value *by_crop, int count);

/*
 * What the mean feed of `count` machines of a station may be: the capacity, less what moisture and trash of
 * the receipt take (a tenth is left at the least), divided by the peak factor.
 */
efi_value efi_verify_capacity(const efi_verify *verify, const efi_station *station, int count);

/* The capacity of `count` machines as given, or as it follows from buckets, screw or belt by the formulas of
 * docs/scenario.md, m3/h; not given when it follows from nothing. */
efi_value efi_verify_nominal(const efi_verify *verify, const efi_station *station, int count);

/* What moisture and trash leave of a station's capacity, 0.1 to 1, and its peak factor. */
double efi_verify_derating(const efi_verify *verify, const efi_station *station);
double efi_verify_peak(const efi_station *station);

/* Power of all stations together before a tonne passes, kW. */
double efi_verify_idle(const efi_verify *verify);

/* What the power limit leaves above that, kW; 0 when it is no more than rounding. There must be a limit. */
double efi_verify_power_left(const efi_verify *verify);

/* Energy of a station for each tonne, kWh/t; price of an outlet or of the receipt, money per t; 0 when
 * absent. */
double efi_verify_energy(const efi_verify *verify, const efi_station *station);
double efi_verify_price(const efi_verify *verify, const efi_station *outlet);

/* Splits: which, by what rule, with what shares. Puts chosen shares into the reference, before it is solved.
 * EF_OK or EF_MEMORY. */
ef_status efi_verify_splits(efi_verify *verify);

/* Power, air, people and money of one station or outlet, and of the crop. */
void efi_verify_station_means(const efi_verify *verify, const ef_balance_station *claim, int station);
void efi_verify_outlet_means(const efi_verify *verify, const ef_balance_outlet *claim, int station);
void efi_verify_crop_means(const efi_verify *verify);

/* Machines, bins, spouts: what each gets and has to do. EF_OK or EF_MEMORY. */
ef_status efi_verify_stations(const efi_verify *verify);
ef_status efi_verify_spouts(const efi_verify *verify);
ef_status efi_verify_bins(const efi_verify *verify);

/* Whether the rates are the greatest that capacities and least rates allow, what capacities are worth, and
 * why least rates cannot be met. EF_OK or EF_MEMORY. */
ef_status efi_verify_limits(const efi_verify *verify);

#endif
