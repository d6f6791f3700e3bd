/* SPDX-License-Identifier: GPL-3.0-or-later
 * What conveyors move, from their size. */
#ifndef EFI_CONVEYING_H
#define EFI_CONVEYING_H

#include "model/bind.h"

/*
 * Bucket elevator: Q = v B f n / a.
 *
 *   v speed of the belt, m/h; B volume of a bucket, m3; f fill, share; a spacing, m; n rows.
 * Returns Q, m3/h. Source: the form L = 3600 v B f / (1000 t) of cement engineers' handbooks (v m/s, B l, t
 * m), one row. Limits: buckets rated level full; centrifugal discharge at a speed that suits them.
 */
double efi_buckets_m3ph(const efi_buckets *buckets);

/*
 * Screw conveyor: Q = pi/4 (D^2 - d^2) P N f i.
 *
 *   D diameter, d shaft, P pitch, m; N turns per h; f trough loading, share, 0.45 when absent; i what the
 * incline leaves: 1 up to 10 degrees, 0.80 up to 20, 0.60 up to 30. Returns Q, m3/h; 0 above 30 degrees,
 * where no rule is known. Source: CEMA practice as described in trade guides (CEMA 350 itself not at hand),
 * for the incline the lower ends of the ranges of a trade guide (10-20 degrees 80-90 %, 20-30 degrees 60-70
 * %). Limits: free-flowing grain, standard flights; within 2.5 % of the table of CEMA 350 (from memory).
 */
double efi_screw_m3ph(const efi_screw *screw);

/* Belt conveyor: Q = A v, m3/h, from the load's cross-section A, m2, and the speed v, m/h. Source:
 * definition. */
double efi_belt_m3ph(const efi_belt *belt);

/* The capacity, shape [crop], that follows from a station's buckets, screw or belt; NULL when it has none,
 * they are incomplete, or memory is short. */
const efi_value *efi_conveying_capacity(efi_binder *b, const efi_station *station);

/*
 * The capacity, shape [crop], of a machine that works batch by batch: C = m / (m / f + w + m / d), t/h, from
 * the charge m, t, the fill rate f, t/h, the work w, h, and the discharge rate d, t/h. Source: definition.
 * NULL when the block is incomplete or memory is short; a crop without charge has none.
 */
const efi_value *efi_batch_capacity(efi_binder *b, const efi_station *station);

#endif
