/* SPDX-License-Identifier: GPL-3.0-or-later
 * One crop of the answer about bins: what its files share while it is worked out. */
#ifndef EFI_BINS_CROP_H
#define EFI_BINS_CROP_H

#include "answers/bins/net.h"
#include "answers/bins/path.h"
#include "answers/bins/sizing.h"
#include "shared/engine/engine.h"
#include "shared/plant/plant.h"

#include <evenfeed/bins.h>

/* One steady-feed station of the crop. */
typedef struct efi_bins_feed {
    int station; /* of the network */
    int line_station;
    efi_path path; /* at the set rate */
    efi_path_lines lines;
    efi_sizing_bin *choice; /* shape [bins of the path] */
    efi_sizing sizing;
    efi_sizing_search *search;
    double *volume_t;     /* shape [bins of the path]: chosen, of the measure */
    double *engine_h;     /* scratch, shape [traces] */
    double excess_t;      /* shortfall of a trace aimed at, beyond what is unavoidable */
    double unavoidable_t; /* of a trace */
    bool in_net;          /* sized with others by the program of the network */
    ef_bins_feed *out;
} efi_bins_feed;

/* The steady-feed stations of a crop whose way is no plain series, sized together; volumes in t of each bin.
 */
typedef struct efi_bins_net {
    int feeds; /* 0: none */
    efi_net net;
    efi_net_traces *traces;
    int trace_count;
    efi_sizing_bin *choice; /* shape [bins of the net] */
    efi_sizing sizing;
    efi_sizing_search *search;
    double full_tph; /* a full-feed hour of one of them, t of the measure */
    double excess_t; /* of all together, as in efi_bins_feed */
    double unavoidable_t;
} efi_bins_net;

typedef struct efi_bins_crop {
    const ef_bins_settings *settings;
    const ef_bins *bins; /* shift, rule and so on */
    efi_arena *arena;
    int threads;
    int number; /* of the crop */
    efi_line line;
    const double *feeds_tph; /* shape [line stations][materials]: the balance */
    double *set_share;       /* shape [line stations]: set rate over the balance */
    double *start_m3;        /* shape [line stations]: volumes to follow paths with; 0: no bin */
    double *now_m3;          /* shape [line stations]: as the scenario says, 0 where it says nothing */
    double *rule_m3;         /* the same with holding bins by the rule */
    double *needed_m3;       /* the same with what this crop needs */
    efi_plant_network plant; /* with start_m3 */
    double *flow_tph;        /* shape [stations of the network]: taken in the balance */
    bool *is_product;        /* the same: outlets of product */
    efi_bins_feed *feed;
    int feed_count;
    efi_bins_net net;
    ef_bins_bin *bin; /* shape [bin_count] */
    int *bin_line;    /* shape [bin_count]: station of the line */
    int bin_count;
    ef_bins_note *note;
    size_t note_count, note_room; /* of the arena: a fixed room */
    ef_bins_crop *out;
    bool (*go_on)(void *context); /* from the answer: progress and interruption */
    void *context;
} efi_bins_crop;

enum {
    EFI_BINS_NOTES_MOST = 64
};

/* Adds a note, unless it is there already or there are too many. */
void efi_bins_note(efi_bins_crop *crop, ef_bins_note note);

/* The bin at a station of the network, NULL when it is none. */
ef_bins_bin *efi_bins_bin_of(const efi_bins_crop *crop, int network_station);

/* A full-feed hour of a feed, t of its path's measure. */
static inline double efi_bins_full_feed_tph(const efi_bins_feed *feed)
{
    return feed->path.net_tph * feed->path.rate_share;
}

/* Balance, network, set rates, paths and traces of a crop. EF_OK also when `out` says that there is nothing
 * to size; EF_MEMORY, EF_INTERNAL, EF_STOPPED. */
ef_status efi_bins_prepare(efi_bins_crop *crop, const ef_scenario *scenario);

/* The line of this crop cannot run: says why in its answer. EF_OK or EF_MEMORY. */
ef_status efi_bins_tell_trouble(efi_bins_crop *crop, const efi_network *network, const efi_trouble *trouble);

/* What the search of a feed aims at. */
efi_sizing_aim efi_bins_aim(const efi_bins_crop *crop, const efi_bins_feed *feed);

/* A bin of which nothing else is said holds at most what passes in this time, h. */
#define EFI_BINS_MOST_HOURS 24.0

/* What its place in the line says about a bin. */
typedef struct efi_bins_place {
    int station;               /* of the network */
    double m3_per_t;           /* of a tonne of the program's measure */
    double flow_tph;           /* what passes, of the measure */
    bool matters, parts_lines; /* as in efi_path_bin */
} efi_bins_place;

/* What may be chosen about a bin, as the scenario says. EF_OK or EF_MEMORY. */
ef_status efi_bins_choose(efi_bins_crop *crop, const efi_bins_place *place, efi_sizing_bin *out);

/* Takes the volumes of a feed's path into its bins and describes the path. EF_OK or EF_MEMORY. */
ef_status efi_bins_keep(efi_bins_crop *crop, efi_bins_feed *feed);

/* Which feeds are sized by the program of the network, and that program. Afterwards in_net is set. */
ef_status efi_bins_prepare_net(efi_bins_crop *crop);

/* Sizes the feeds of the network together; does nothing where there are none. */
ef_status efi_bins_size_net(efi_bins_crop *crop);

/* What the search of the network aims at. */
efi_sizing_aim efi_bins_net_aim(const efi_bins_crop *crop);

/* All volumes of the network that are chosen, m3. */
double efi_bins_net_volume(const efi_bins_crop *crop, const double *volume_t);

/* Volumes of least cost, of each feed and of each bin, into needed_m3; curve and reasons too. */
ef_status efi_bins_size(efi_bins_crop *crop);

/* The trade-off between volume and shortfall of a feed that has been sized. */
ef_status efi_bins_curve(efi_bins_crop *crop, efi_bins_feed *feed);

/* Aims lower where fresh traces miss the aim, until they meet it or it cannot be lowered. */
ef_status efi_bins_tighten(efi_bins_crop *crop);

/* Runs present, rule's and recommended volumes (shape [line stations], m3) on fresh traces. */
ef_status efi_bins_confirm(efi_bins_crop *crop, const double *recommended_m3);

/* What sets the volume of each bin of a feed; see ef_bins_reason. */
ef_status efi_bins_explain(efi_bins_crop *crop, efi_bins_feed *feed);

/* Frees what does not live in the arena. */
void efi_bins_crop_free(efi_bins_crop *crop);

/* ---- the event engine ---- */

/* Accounts of fresh shifts of one feed; shape [runs][shifts] each. */
typedef struct efi_bins_shifts {
    double *short_h;
    double *out_h;
    double *lost_t;
} efi_bins_shifts;

/*
 * Runs the network of the crop with these volumes (shape [line stations], m3): replications `first` and on,
 * shift by shift from the levels at the start. `shifts` has shape [feeds]. EF_OK; EF_NO_ANSWER when the
 * network cannot run (crop->out->trouble says why); EF_MEMORY, EF_INTERNAL.
 */
ef_status efi_bins_simulate(efi_bins_crop *crop, const double *live_m3, uint64_t first,
                            efi_bins_shifts *shifts);

/* Room for them in the arena; EF_OK or EF_MEMORY. */
ef_status efi_bins_shifts_take(const efi_bins_crop *crop, efi_bins_shifts *shifts);

/* The measure of the aim over fresh shifts, full-feed hours a shift: their mean, or that of the worst. */
double efi_bins_measure(const efi_bins_crop *crop, const efi_bins_shifts *shifts);

#endif
