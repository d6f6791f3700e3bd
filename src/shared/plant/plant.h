/* SPDX-License-Identifier: GPL-3.0-or-later
 * A plant as the event engine runs it: the line of one crop at its steady rates, as a flat network with stops
 * and bins. */
#ifndef EFI_PLANT_H
#define EFI_PLANT_H

#include "shared/engine/network.h"
#include "shared/line/line.h"

#include <stdint.h>

/*
 * What becomes of the scenario:
 *   shares      a spout takes, of all that its station takes, the share that it has in the steady balance;
 * what the balance sends nothing through is left out capacity    as given, after derating, in t/h at the
 * composition of the balance; the peak factor is left out, since peaks are there. A steady-feed station runs
 * at its set rate, which is its feed in the balance bins        their live volume in t; without one they hold
 * nothing. Half full at the start unless the scenario says splits      fixed and free ones by the shares of
 * the balance, `first with room` in order least feed  where the bin right before the station has a restart
 * level warm-up     the product goes to the return of the station, else to its smallest discharge
 */
/* What the calendar stops stations for. */
typedef enum efi_plant_time {
    EFI_PLANT_CLOSED,
    EFI_PLANT_BREAK,
    EFI_PLANT_MAINTENANCE
} efi_plant_time;

enum {
    EFI_PLANT_TIMES = 3
};

/* Recorded stops of a station, of one sort. */
typedef struct efi_plant_recorded {
    const efi_interval *list; /* shape [count], h from hour 0 */
    const char **name;        /* shape [count] */
    int count;
    int mode; /* of the station */
} efi_plant_recorded;

typedef struct efi_plant_network {
    const efi_line *line;
    efi_network network;
    efi_network_station *stations; /* shape [network.stations] */
    efi_network_spout *spouts;     /* shape [network.spouts] */
    int *line_station;             /* shape [network.stations]: station of the line */
    int *line_spout;               /* shape [network.spouts]: spout of the line */
    int *of_line;     /* shape [line stations]: station of the network, -1 where nothing passes */
    double *t_per_m3; /* shape [network.stations]: t of what is in the station, 0 without density */
    int *own_modes;   /* shape [network.stations]: the first so many of its modes are its own stops, then come
                         recorded ones, then those of the calendar */
    const char ***mode_name; /* shape [network.stations][modes] */
    int64_t from_s;          /* hour 0, see efi_plant_options */
    int anybody;             /* the crew that sees to stops which name none while the plant is open; -1 */
    efi_plant_recorded (*recorded)[2];           /* shape [network.stations]: random ones, planned ones */
    const efi_interval *common[EFI_PLANT_TIMES]; /* what the calendar stops the whole plant for; NULL */
    int commons[EFI_PLANT_TIMES];                /* shape of those */
} efi_plant_network;

/*
 * Hours and the calendar: hour h of the engine is the second from_s + 3600 h of the calendar, which counts
 * from 00:00 of its start date (calendar.h). from_s may be anything, also negative, for warm-up before a
 * shift: a shift that begins at s with w hours before it is from_s = s - 3600 w, hours = w + its length.
 * efi_calendar_next_work finds where work begins. Clock times of stops are laid from from_s in any case.
 *
 * Recorded stops of the scenario are modes by clock too, the random ones first, where the scenario has any
 * that end after hour 0; without_stops leaves them out.
 *
 * Crews of the scenario are the network's first, in their order.
 *
 * With on_calendar
 *   - every intake, machine, conveyor and outlet has, after its own stops, modes by clock whose cause is
 *     EFI_CAUSE_CLOSED (outside shifts and overtime), EFI_CAUSE_BREAK (breaks at which all stop; in staggered
 *     ones the work goes on) and EFI_CAUSE_PLANNED (maintenance, of the whole plant or of this station), as
 * far as there are any in the stretch; they never overlap;
 *   - planned stops `every` so many hours by the clock count the hours in which the plant is not closed;
 *   - crews have their hours; stops that name no crew are seen to at once by a crew of the plant's own
 *     (`anybody`), which breaks off while the plant is closed; stops at clock times and recorded ones go on.
 * While all is closed, levels stay and running hours stand still; random times that count the clock go on.
 * After `hours` nothing of the calendar stops any more. A scenario that gives no calendar has the usual one
 * shift (model/calendar.h), so set on_calendar only where scenario->calendar->is_given.
 */
typedef struct efi_plant_options {
    bool without_stops;    /* everything runs, whatever its own stops; the calendar still holds */
    bool without_receipts; /* material is always there */
    bool batches_as_rates; /* batch machines take all the time what their batches make of it in the mean */
    bool start_empty;      /* bins are empty at the start, not half full, unless the scenario says a level */
    bool on_calendar;      /* closed times, breaks and maintenance stop the stations concerned */
    int64_t from_s;        /* second of the calendar at hour 0 */
    double hours;          /* on_calendar: how far it is laid out, 0 < hours <= 876,000 */
    const double
        *live_m3; /* shape [line stations]: of bins, in place of what the scenario says; NULL: as it says */
    const double *set_share; /* shape [line stations]: set rate of a steady-feed station over its feed in the
                                balance; NULL: all of it */
} efi_plant_options;

/*
 * Builds the network in `arena` from a line and its steady feeds (shape [station][material], t/h). The line
 * must outlive it. `options` NULL: stops and receipts as the scenario says, no calendar. EF_OK or EF_MEMORY.
 */
ef_status efi_plant_build(efi_plant_network *plant, efi_arena *arena, const efi_line *line,
                          const double *feed_tph, const efi_plant_options *options);

/* The number of a station by its name that its random streams go by; it keeps it when other stations come and
 * go. */
uint64_t efi_plant_key(const char *name);

/* A random time of the scenario with this mean, as the engine draws it: Weibull's scale is mean / gamma(1 +
 * 1/shape), the gamma distribution's mean / shape, lognormal's mu ln(mean) - sigma^2 / 2. */
efi_distribution efi_plant_distribution(efi_form form, double mean, double shape);

/* The stop mode of the engine for a random or planned stop of the scenario, not one at clock times, for a
 * crop. */
efi_stop_mode efi_plant_stop_mode(const efi_stop *stop, int crop);

/*
 * What a stop of a mode is called in the scenario: the name of the stop, the cause or name of its record; of
 * the calendar "closed", or the name of the break or maintenance. `at_h` is the hour at which it begins or,
 * without `begins`, ends.
 */
const char *efi_plant_stop_name(const efi_plant_network *plant, int station, int mode, double at_h,
                                bool begins);

/* The time of the calendar that a mode stands for where it is that of the whole plant, else -1. */
int efi_plant_common_time(const efi_plant_network *plant, int station, int mode);

#endif
