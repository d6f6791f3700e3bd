/* SPDX-License-Identifier: GPL-3.0-or-later
 * Totals of scales on the network of one crop: what the parts of balancing them share. */
#ifndef EFI_LEARN_TOTALS_H
#define EFI_LEARN_TOTALS_H

#include "answers/learn/learn.h"
#include "shared/line/line.h"

/* One scale: where it stands on the line, and what it usually shows. */
typedef struct efi_point {
    int station;      /* of the line; -1: the crop does not come here */
    int spout;        /* of a discharge; -1: what comes into the station */
    double typical_t; /* the median of its totals that are not 0; 0 when all are */
} efi_point;

/* Totals by interval and scale, and what they become. */
typedef struct efi_totals {
    efi_learn_run *run;
    efi_line line;
    efi_point *points;      /* shape [scales] */
    ef_learn_scale *scales; /* of the answer */
    int scale_count;
    ef_learn_interval *intervals; /* of the answer */
    int interval_count;
    double *measured_t; /* shape [interval][scale]; NAN without */
    double *adjusted_t; /* the same */
    double *flow_t;     /* shape [interval][spout] */
    double *received_t; /* shape [interval][intake] */
    double *gain_t;     /* shape [interval][station of the scenario] */
    double *full_t;     /* shape [station of the line]: of bins that can hold something; 0 for others */
    bool *known;        /* shape [interval][spout]: the scales fix what flows there */
    bool *feed_known;   /* shape [interval][station of the line]: the same of what comes into a station */
} efi_totals;

/* What comes into a station of the line in an interval, by the flows. */
double efi_totals_feed(const efi_totals *totals, int interval, int station);

/* Is this a station whose discharges have shares to be learned: several, and no bin? */
bool efi_totals_shares(const efi_totals *totals, int station);

/* Finds for each interval which flows its scales fix, and which scales the others check (observe.c). */
ef_status efi_totals_observe(efi_totals *totals);

/* Adjusts the totals least so that all balances hold (reconcile.c). */
ef_status efi_totals_reconcile(efi_totals *totals);

/* Shares with limits, and those of the scenario (shares.c). */
ef_status efi_totals_give_shares(efi_totals *totals);

/* Rates of scales, and which seem off (scales.c). */
ef_status efi_totals_give_scales(efi_totals *totals);

#endif
