/* SPDX-License-Identifier: GPL-3.0-or-later
 * How fast each crop runs on each line, what becomes of it, and how much that varies from shift to shift. */
#ifndef EFI_SEASON_RATES_H
#define EFI_SEASON_RATES_H

#include "answers/season/season.h"

/* What is known of one crop. */
typedef struct efi_crop_rate {
    bool is_wanted;               /* some lot is of it */
    double plant_tph;             /* intake an hour of work, all lines together; 0: cannot run */
    ef_season_rate_source source; /* of that: simulated, balance or none */
    double product_share;         /* product over intake; 1 where the balance has no answer */
    double balance_tph;           /* intake of the steady balance; 0 without */
    double *load;                 /* shape [stations]: feed over capacity in that balance; 0: not known */
    double *m3ph;                 /* the same: its feed by volume */
    double *line_share;           /* shape [lines]: of the plant's rate; they add up to 1, or are all 0 */
    bool *passes;                 /* shape [lines]: it passes stations of the line */
    double *factor;               /* shape [factors]: tonnes of simulated shifts over their mean */
    int factors;
    double shift_h; /* hours of work in one of them */
    double spread;  /* standard deviation of the factors */
} efi_crop_rate;

typedef struct efi_season_rates {
    const ef_scenario *scenario;
    int lines;
    efi_crop_rate *crop; /* shape [crop] */
} efi_season_rates;

/*
 * The rates of all crops that have lots, and of `crop` (-1: no other). Shifts are simulated on their own,
 * without the calendar and without remedies: `runs` of them, with the seed of the season.
 *
 * A line's share of the plant's rate is what its entry stations take in the steady balance in which all lines
 * run: its intakes, and what comes to its stations from stations outside it, returns aside; over the sum of
 * that for all lines. EF_OK, EF_MEMORY, EF_INTERNAL.
 */
ef_status efi_season_rates_build(efi_season_rates *rates, efi_arena *arena, const ef_scenario *scenario,
                                 const ef_season_settings *settings, int crop);

/* The planning rate of a lot on a line, t of intake an hour of work, and where it comes from: the lot's own,
 * else the season's for its crop, else simulated or of the balance. 0: the line cannot or must not run it. */
double efi_season_rate(const efi_season_rates *rates, const efi_scenario_lot *lot, int line,
                       ef_season_rate_source *source);

/* The same for any lot of a crop that gives no rate and no lines of its own. */
double efi_season_crop_rate(const efi_season_rates *rates, int crop, int line, ef_season_rate_source *source);

#endif
