/* SPDX-License-Identifier: GPL-3.0-or-later
 * Lines that are cleaned station by station: which stations lie in series on the way of the seed, how long
 * each works on a lot, and what is cleaned where. */
#ifndef EFI_ANSWERS_SEASON_STATIONS_H
#define EFI_ANSWERS_SEASON_STATIONS_H

#include "answers/season/rates.h"

/* How one crop passes the stations of a line that are cleaned. */
typedef struct efi_crop_way {
    bool is_known;                           /* some lot is of it, and it passes the line */
    double share[EFI_SEASON_MOST_STATIONS];  /* of the hours of a lot that the station works: its load in the
                                                balance over that of the slowest of them, which has 1 */
    double room_t[EFI_SEASON_MOST_STATIONS]; /* intake that fits into the bins between it and the next */
    int slowest;
} efi_crop_way;

typedef struct efi_line_way {
    const char *cleared;                   /* why the line is cleared instead; "" when it is not */
    const char *cleared_by, *cleared_why;  /* a name, and the message with %s for it, of which that is made */
    int count;                             /* 0: cleared */
    int station[EFI_SEASON_MOST_STATIONS]; /* of the scenario, along the way */
    double delay_h[EFI_SEASON_MOST_STATIONS];
    efi_crop_way *crop; /* shape [crop] */
} efi_line_way;

/*
 * The way along one line. Stations are those that rules for the line name. They are in series when for every
 * crop of the line no seed comes from an intake to a product without each of them, in the same order. Between
 * two of them all bins count through which all seed passes, empty, and the conveyors of the longest way.
 * EF_OK, EF_MEMORY.
 */
ef_status efi_season_find_way(const efi_season_rates *rates, efi_arena *arena, int line, efi_line_way *way);

/* Hours that a rule (NULL: none) has the station at `place` of the way cleaned before a lot of a crop: what
 * it says of the station; of a rule that names none of the line's what it takes, at the slowest. Not below
 * the least time of lock-out and entry, unless 0. */
double efi_season_station_hours(const ef_scenario *scenario, const efi_line_way *way,
                                const efi_changeover *rule, int crop, int place);

#endif
