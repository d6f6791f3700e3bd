/* SPDX-License-Identifier: GPL-3.0-or-later
 * What the files of the verifier of a balance share: one crop under examination. */
#ifndef EFI_VERIFY_BALANCE_H
#define EFI_VERIFY_BALANCE_H

#include "shared/verify/differences.h"
#include "shared/verify/reference.h"

#include <evenfeed/balance.h>

/* A flow below this share of the intake is rounding. */
#define EFI_VERIFY_ROUNDING_SHARE 1e-12

typedef struct efi_verify {
    efi_differences *list;
    efi_arena *arena;
    const ef_balance_crop *claim;
    efi_reference reference;
    int *claimed_at;  /* shape [station of the scenario]: position among the claimed stations, or -1 */
    int *station;     /* shape [claimed station]: station of the scenario */
    double *rate_tph; /* shape [intake]: claimed */
    double *feed_tph; /* shape [station][material]: recomputed for those rates */
    double floor_tph; /* below it a flow is rounding */
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
 * the receipt take, divided by the peak factor. A tenth is left at the least.
 */
efi_value efi_verify_capacity(const efi_verify *verify, const efi_station *station, int count);

/* Machines, bins, spouts: what each gets and has to do. EF_OK or EF_MEMORY. */
ef_status efi_verify_stations(const efi_verify *verify);
ef_status efi_verify_spouts(const efi_verify *verify);
ef_status efi_verify_bins(const efi_verify *verify);

/* Whether the rates are the greatest that capacities and least rates allow, what capacities are worth, and
 * why least rates cannot be met. EF_OK or EF_MEMORY. */
ef_status efi_verify_limits(const efi_verify *verify);

#endif
