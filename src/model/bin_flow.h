/* SPDX-License-Identifier: GPL-3.0-or-later
 * How material leaves a bin: what an outlet passes, when it arches, from which hopper angle all of it moves.
 */
#ifndef EFI_BIN_FLOW_H
#define EFI_BIN_FLOW_H

#include <stdbool.h>

/* What a gate that stands upright passes of the same opening laid flat, from and to. Source: Chang, Converse,
 * Steele, Transactions of the ASAE 34(4):1789-1796, 1991 (wheat, maize, sorghum, soybeans; 100-400 cm2). */
#define EFI_SIDE_GATE_LOW  0.37
#define EFI_SIDE_GATE_HIGH 0.50

/*
 * What a level outlet passes, Beverloo's law: W = C rho sqrt(g) (D - k d)^2.5.
 *
 *   rho bulk density, t/m3; D diameter, m; d size of a kernel (of the ball of the same volume), m; C = 0.58,
 * k = 1.4. An opening that is not round, sides l and b: W = (4/pi) C rho sqrt(g) A sqrt(H), where both sides
 * are first made smaller by k d, A is their area and H = 4 A / girth; a circle gives the law above. Returns
 * W, t/h; 0 where k d leaves no opening. It does not depend on the depth. Source: the law, and that bed depth
 * and width drop out, Mankoc et al., Granular Matter 9:407-414, 2007 (arXiv 0707.4550), after Beverloo,
 * Leniger, van de Velde, Chemical Engineering Science 15:260-269, 1961; C (0.55-0.65) and k (1.2-1.6,
 * balls 1.4) from memory; the hydraulic diameter for other shapes: rates of grain went by it in the paper on
 * side gates above. Range: see efi_outlet_in_range. Good to 15 % at best: a hopper steeper than 45 degrees
 * passes more, moist or trashy material less.
 */
double efi_outlet_tph(double length_m, double width_m, bool is_round, double particle_m, double density_tpm3);

/* Does the law hold: outlet at least 6 kernels wide (common practice), bin at least 2.5 outlets and the
 * outlet
 * + 30 kernels wide (the source above)? */
bool efi_outlet_in_range(double outlet_m, double bin_m, double particle_m);

/* The least outlet that kernels do not bridge, m: 6 kernels; 4 for a slot at least three times as long as
 * wide. Common practice. Dry, free-flowing seed: moist, matted or bearded material bridges wider outlets. */
double efi_outlet_least_m(double length_m, double width_m, double particle_m);

/*
 * The flattest cone, from level, in which all of the material moves (mass flow):
 *
 *   steepness from the vertical = 90 - acos((1 - sin e) / (2 sin e)) / 2 - (w + asin(sin w / sin e)) / 2
 *
 *   e effective angle of internal friction, w friction angle on the wall, degrees.
 * Returns 90 less that, degrees from level; 90 where no cone does (w >= e; or e below 19.47 degrees, where
 * the first term has no value). Source: Jenike's limit as in Leung et al., Journal of Pharmaceutical Sciences
 * 108(1):464-475, 2019, equations 5 and 6 (read in code that quotes them). A hint: usual practice keeps 3
 * degrees from it, and wedges need some 10 degrees less (common practice).
 */
double efi_mass_flow_from_deg(double internal_deg, double wall_deg);

#endif
