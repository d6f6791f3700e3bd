/* SPDX-License-Identifier: GPL-3.0-or-later
 * Volumes of a bin from its dimensions: what a heap at the angle of repose fills, what stays behind. */
#ifndef EFI_BIN_SHAPE_H
#define EFI_BIN_SHAPE_H

#include <stdbool.h>

/*
 * Inside dimensions, m. Heights are counted from the outlet up. x runs along the length, y along the width;
 * the outlet lies in the middle, x = y = 0.
 *
 * The hopper's sides are planes (a cone in a round bin) that rise from the edge of the outlet: `slope_x` is
 * the slope, height over run, of the two sides that face the length, `slope_y` of the two that face the
 * width; INFINITY where there is none (the upright ends of a wedge; both of a flat floor).
 */
typedef struct efi_bin_shape {
    bool is_round;
    bool is_flat;       /* no hopper: slopes and hopper_m are not used */
    double length_m;    /* diameter, or the side along x, > 0 */
    double width_m;     /* diameter, or the side along y, > 0 */
    double wall_m;      /* height of the upright walls, >= 0 */
    double hopper_m;    /* height of the hopper, >= 0 */
    double slope_x;     /* > 0; of a cone the slope */
    double slope_y;     /* > 0; of a cone the slope */
    double outlet_x_m;  /* half length of the outlet; of a round one the radius */
    double outlet_y_m;  /* half width */
    double inlet_x_m;   /* fill point, within the walls */
    double inlet_y_m;   /* 0 for a round bin */
    double freeboard_m; /* top of the walls down to the peak of the heap, >= 0 */
} efi_bin_shape;

typedef struct efi_bin_volumes {
    double level_m3;  /* filled level to the top of the walls */
    double filled_m3; /* under the heap */
    double live_m3;   /* of it, what runs out */
    double dead_m3;   /* of it, what stays behind */
} efi_bin_volumes;

/* Slope of the valley between two of its sides (the flattest way down):
 * 1 / valley^2 = 1 / slope_x^2 + 1 / slope_y^2. Source: plane geometry. Of a cone or wedge the slope itself.
 */
double efi_bin_valley(const efi_bin_shape *shape);

/* Inside area of walls and hopper, or flat floor, without roof, less the outlet, m2. Source: solid geometry.
 */
double efi_bin_area(const efi_bin_shape *shape);

/* Filled level to the top of the walls, m3: prism or cylinder on a frustum. Source: solid geometry. */
double efi_bin_level(const efi_bin_shape *shape);

/*
 * The volumes of a bin with a heap.
 *
 *   heap      z = top - freeboard - tan(repose) |p - inlet|
 *   hopper    z = the greatest of 0, slope_x (|x| - outlet_x), slope_y (|y| - outlet_y)
 *   left over z = tan(emptying) (distance to the outlet), where the hopper does not clean out
 *
 * filled = integral over the plan of max(0, heap - hopper); live = the same above what is left over. The
 * heap is concave, what lies below it convex: along a ray from the outlet the part between them is one
 * stretch, over which the integral is exact; over the direction of the ray it is Gauss-Kronrod, halved until
 * it stands to 1e-9 of the volume. A round bin filled in the middle is exact to rounding.
 *
 * `repose_deg`, `emptying_deg` in [0, 90): when filling and when emptying. `cleans_out`: nothing stays
 * behind. Limits: the heap has one peak and an even surface; wind, spreaders, fines and a moving spout change
 * it. Source: solid geometry; the centred cylinder's lost headspace (2/3) pi r^3 tan(repose) is published.
 */
efi_bin_volumes efi_bin_fill(const efi_bin_shape *shape, double repose_deg, double emptying_deg,
                             bool cleans_out);

#endif
