/* SPDX-License-Identifier: GPL-3.0-or-later
 * The steel of a bin: its dimensions, what of them is live volume for each crop, how it flows, what its
 * outlet passes. Plain results of the answer about bins.
 *
 * Structural loads are not computed here: they belong to EN 1991-4 or ANSI/ASAE EP433 and a licensed
 * engineer.
 */
#ifndef EVENFEED_STEEL_H
#define EVENFEED_STEEL_H

#include <stdbool.h>

#ifdef __cplusplus
extern "C" {
#endif

/* Inside dimensions of a bin, m. */
typedef struct ef_steel_size {
    const char *shape;    /* "round" or "rectangular" */
    const char *hopper;   /* "cone", "pyramid", "wedge" or "flat" */
    const char *standard; /* name of the standard bin it is; NULL: made to measure */
    double width_m;       /* diameter, or the side across the length */
    double length_m;      /* diameter, or the side along the length */
    double wall_m;        /* height of the vertical walls */
    double hopper_m;      /* height of the hopper, 0 for a flat floor */
    double hopper_deg;    /* its flattest side, from level; 0 for a flat floor */
    double valley_deg;    /* where two sides meet: flatter than both; hopper_deg where there are no valleys */
    double outlet_m;      /* diameter, or the side across the length */
    double outlet_length_m; /* diameter, or the side along the length */
    bool side_gate;         /* the outlet stands upright in a wall */
    double inlet_offset_m;  /* fill point to the centre line, along the length */
    double inlet_across_m;  /* the same across the length; 0 for a round bin */
    double freeboard_m;     /* top of the walls to the peak of the heap */
    double clearance_m;     /* floor to the outlet */
    double height_m;        /* floor to the top of the walls: clearance, hopper and walls */
    double headroom_m;      /* what there is for it; valid when has_headroom */
    bool has_headroom;
    double steel_m2; /* inside area of walls and hopper, without roof */
    double level_m3; /* filled level to the top of the walls: what a dealer calls its volume */
} ef_steel_size;

/* How the material moves when it is drawn off. */
typedef enum ef_steel_flow {
    EF_STEEL_FLOW_UNKNOWN, /* no wall friction is given, or no limit is known for it */
    EF_STEEL_FLOW_MASS,    /* all of it moves: first in, first out */
    EF_STEEL_FLOW_FUNNEL   /* a core moves: first in is not first out, and the lot segregates */
} ef_steel_flow;

/* What a bin does with one crop. */
typedef struct ef_steel_crop {
    const char *crop;
    int number;           /* of the crop */
    double repose_deg;    /* when filling */
    double emptying_deg;  /* when emptying */
    double asked_m3;      /* live volume asked of it; 0: none */
    double live_m3;       /* filled less dead */
    double filled_m3;     /* what lies in the bin when the heap is full, what stays behind included */
    double headspace_m3;  /* empty above the heap: level_m3 less filled_m3 */
    double dead_m3;       /* stays behind when the outlet runs empty */
    double off_centre_m3; /* live volume lost because it is filled off-centre */
    bool cleans_out;      /* the hopper, valleys included, is steeper than the material rests on it */
    double wall_deg;      /* friction angle on the wall; valid when has_wall */
    bool has_wall;
    double margin_deg; /* hopper (valley) angle less what it must exceed; below 0: material stays behind */
    ef_steel_flow flow;
    double mass_from_deg; /* hopper angle from which mass flow is to be expected; 90: none. When has_wall */
    bool has_particle;    /* its particle size is given, and with it what stands below */
    double particle_mm;
    double outlet_tph;      /* the most that the outlet passes, side gate counted at its low end */
    double outlet_high_tph; /* the same at the high end of the side gate; else outlet_tph */
    bool outlet_in_range;   /* the outlet is wide enough for the law that gives these rates */
    double asked_tph;       /* what the station after the bin takes; 0: not known */
    double least_outlet_m;  /* against arching, as a multiple of the particle size */
    bool arches;            /* the outlet is smaller than that */
} ef_steel_crop;

/* Why there is no bin of steel for a live volume. */
typedef enum ef_steel_why {
    EF_STEEL_FITS,
    EF_STEEL_NO_REPOSE,   /* a crop has no angle of repose, so what it fills is not known */
    EF_STEEL_NO_HEADROOM, /* a bin that holds it is higher than the headroom */
    EF_STEEL_NO_WIDTH,    /* a bin that holds it is wider than the most width */
    EF_STEEL_TOO_SMALL,   /* the dimensions that are given hold less */
    EF_STEEL_NO_STANDARD, /* of the standard bins none that fits holds it */
    EF_STEEL_CONTRADICT   /* what is given goes together in no bin: an outlet wider than the bin, say */
} ef_steel_why;

/* One bin in steel. */
typedef struct ef_steel {
    const char *station;
    ef_steel_why why; /* EF_STEEL_FITS: what stands below from `size` on is valid, else what stands before */

    const char *crop;  /* the crop for which it does not fit */
    double asked_m3;   /* live volume asked of it */
    double most_m3;    /* the most that would fit; 0: nothing, or not known */
    double needed_m;   /* EF_STEEL_NO_HEADROOM: the least height that a bin needs */
    double at_width_m; /* the diameter or width of that bin */
    double there_m;    /* headroom or most width */

    ef_steel_size size;
    bool found;                 /* the bin was found for a live volume; else it is the scenario's own */
    bool chose_hopper;          /* its hopper angle was chosen here, by common practice */
    bool chose_outlet;          /* so was its outlet */
    bool chose_freeboard;       /* so was its freeboard */
    const ef_steel_crop *crops; /* shape [crop_count]: those that pass */
    int crop_count;

    const char *const
        *cautions; /* shape [caution_count]: always to be shown with a bin, whether it fits or not */
    int caution_count;
} ef_steel;

#ifdef __cplusplus
}
#endif
#endif
