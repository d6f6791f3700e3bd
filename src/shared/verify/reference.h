/* SPDX-License-Identifier: GPL-3.0-or-later
 * What a crop does on a line for 1 t/h at each intake, computed without the line code that answers use. */
#ifndef EFI_VERIFY_REFERENCE_H
#define EFI_VERIFY_REFERENCE_H

#include "model/scenario.h"

#include <stdbool.h>

/* All by station of the scenario. */
typedef struct efi_reference {
    const ef_scenario *scenario;
    int crop;
    int stations;
    int materials;
    bool *reached;        /* shape [station]: does the crop come here? */
    int *first_discharge; /* shape [station + 1]: discharges before those of a station */
    const double **share; /* shape [discharge]: shape [material], what it takes */
    int *intake;          /* shape [intake_count]: stations, in the order of the scenario */
    int intake_count;
    double *unit_tph; /* shape [station][material][intake]: feed for 1 t/h at that intake alone */
    double *m3_per_t; /* shape [material], 0 where the density is unknown */
    bool has_density; /* of every material received or made */
} efi_reference;

/* Sets up all but the unit feeds, in `arena`. The shares are those of the scenario; where an answer chooses
 * them they are put in before the next step. EF_OK or EF_MEMORY. */
ef_status efi_reference_prepare(efi_reference *reference, efi_arena *arena, const ef_scenario *scenario,
                                int crop);

/*
 * Computes the unit feeds. EF_OK; EF_MEMORY; EF_INTERNAL when a material has no way out (a checked scenario
 * has none such).
 *
 *   x[s] = b[s] + sum_p share[p,s] x[p]   s, p materials at stations, b what comes in at s
 *
 * Method: the nodes are taken out one by one, those with the fewest neighbours first. What came into the
 * node s taken out goes on to each q that s feeds, in the proportion share[s,q] / sum_q share[s,q], q
 * other than s; so share[p,q] += share[p,s] share[s,q] / sum_q share[s,q], and b likewise. The feeds follow
 * in the reverse order. There is no subtraction, so nothing cancels, however little a loop lets go (state
 * reduction: Grassmann, Taksar and Heyman, "Regenerative analysis and steady state distributions for Markov
 * chains", Operations Research 33, 1985). Where a machine turns j into k, share[(p,j),(s,k)] is the share
 * turned times the share of k that goes there. Cost for each material: stations times the square of the
 * neighbours, which are few in a line.
 */
ef_status efi_reference_solve(efi_reference *reference, efi_arena *arena);

/* What a discharge takes, shape [material]. */
const double *efi_reference_share(const efi_reference *reference, int station, int discharge);

/* Unit feed of a station, shape [intake], of one material. */
const double *efi_reference_unit(const efi_reference *reference, int station, int material);

#endif
