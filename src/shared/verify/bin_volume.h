/* SPDX-License-Identifier: GPL-3.0-or-later
 * The volume of a bin, computed again by adding up small columns. */
#ifndef EFI_VERIFY_BIN_VOLUME_H
#define EFI_VERIFY_BIN_VOLUME_H

#include "model/scenario.h"
#include "shared/verify/differences.h"

/* How far the sum of columns may be from the true volume, as a share of the box around the bin. */
#define EFI_COLUMNS_SHARE 1e-4

/* A bin and what lies in it: half sizes, heights from the outlet up, m, and slopes. */
typedef struct efi_columns {
    bool is_round;
    double half_x, half_y; /* of the plan */
    double open_x, open_y; /* of the outlet; of a wedge open_x is half_x */
    double hopper_m;       /* 0: a flat floor */
    double wall_m;
    double peak_m;     /* of the heap */
    double heap, rest; /* slope of the heap, of what stays behind (0: nothing does) */
    double inlet_x, inlet_y;
} efi_columns;

/* The volume between heap and hopper or left-overs, m3. Method: columns on a grid over the plan (of a round
 * bin over radius and direction), each as high as the heap stands above what is below it; none of the
 * loader's geometry is used. `*slack_m3`: how far it may be off. */
double efi_columns_add_up(const efi_columns *bin, double *slack_m3);

/* Slope of the flattest line down the hopper; 0 for a flat floor. */
double efi_columns_flattest(const efi_columns *bin);

/* The slope from which a crop slides off a wall, by the friction that the bin gives. */
double efi_columns_slides(const efi_steel *steel, const efi_crop *crop, int number);

/*
 * Live volume of a bin with a crop, m3: as the file gives it, else by columns from the bin's dimensions.
 * False, and 0, when neither is known. `*slack_m3`: how far it may be off, 0 when the file gives it.
 */
bool efi_verify_live_m3(const efi_station *bin, const efi_crop *crop, int number, double *live_m3,
                        double *slack_m3);

/* Tells in `list` when a full bin does not hold its live volume of a crop (number of the scenario), at
 * `t_per_m3`. `floor_t`: rounding, t. */
void efi_verify_full(efi_differences *list, const ef_scenario *scenario, const efi_station *bin, int crop,
                     double full_t, double t_per_m3, double floor_t);

#endif
