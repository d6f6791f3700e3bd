/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "model/bin_flow.h"

#include "base/base.h"

#include <math.h>

#define GRAVITY_MPS2 9.80665 /* standard */
#define BEVERLOO_C   0.58
#define BEVERLOO_K   1.4

#define LEAST_KERNELS      6.0 /* across the outlet, for the law to hold and against bridging */
#define LEAST_KERNELS_SLOT 4.0
#define SLOT_LENGTH        3.0 /* widths; from here on an outlet is a slot */
#define RAD_PER_DEG        (EF_PI / 180.0)
#define S_PER_H            3600.0

double efi_outlet_tph(double length_m, double width_m, bool is_round, double particle_m, double density_tpm3)
{
    const double length = length_m - BEVERLOO_K * particle_m;
    const double width = width_m - BEVERLOO_K * particle_m;
    if (!(length > 0.0) || !(width > 0.0))
        return 0.0;
    const double area = is_round ? EF_PI / 4.0 * width * width : length * width;
    const double across = is_round ? width : 2.0 * length * width / (length + width);
    return 4.0 / EF_PI * BEVERLOO_C * density_tpm3 * sqrt(GRAVITY_MPS2 * across) * area * S_PER_H;
}

bool efi_outlet_in_range(double outlet_m, double bin_m, double particle_m)
{
    return outlet_m >= LEAST_KERNELS * particle_m && bin_m >= 2.5 * outlet_m &&
           bin_m >= outlet_m + 30.0 * particle_m;
}

double efi_outlet_least_m(double length_m, double width_m, double particle_m)
{
    const bool slot = length_m >= SLOT_LENGTH * width_m;
    return (slot ? LEAST_KERNELS_SLOT : LEAST_KERNELS) * particle_m;
}

double efi_mass_flow_from_deg(double internal_deg, double wall_deg)
{
    const double sin_e = sin(internal_deg * RAD_PER_DEG);
    const double sin_w = sin(wall_deg * RAD_PER_DEG);
    if (wall_deg >= internal_deg || !(1.0 - sin_e <= 2.0 * sin_e))
        return 90.0;
    const double turned = acos((1.0 - sin_e) / (2.0 * sin_e)) / RAD_PER_DEG;
    const double rubbed = wall_deg + asin(sin_w / sin_e) / RAD_PER_DEG;
    return fmin(90.0, (turned + rubbed) / 2.0);
}
