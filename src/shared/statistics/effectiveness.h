/* SPDX-License-Identifier: GPL-3.0-or-later
 * Availability, performance, quality and their product. */
#ifndef EFI_EFFECTIVENESS_H
#define EFI_EFFECTIVENESS_H

/* Shares. */
typedef struct efi_effectiveness {
    double availability;
    double performance;
    double quality;
    double product;
} efi_effectiveness;

/*
 * Overall equipment effectiveness.
 *
 *   availability = running / planned,  performance = made / (rate running),  quality = good / made
 *
 * planned_h   time in which it was meant to run, h (closed times and breaks left out), >= 0
 * running_h   of that, running, h, 0 .. planned
 * rate        what it would make in an hour of running, any unit an hour
 * made, good  what it made, and of that what was good, in that unit
 * Where a divisor is 0 the share is 0. Source: ISO 22400-2 (from memory). Checked in
 * tests/outside/test_shift_cases.c against printed examples.
 */
static inline efi_effectiveness efi_effectiveness_of(double planned_h, double running_h, double rate,
                                                     double made, double good)
{
    efi_effectiveness e = {0};
    e.availability = planned_h > 0.0 ? running_h / planned_h : 0.0;
    e.performance = rate * running_h > 0.0 ? made / (rate * running_h) : 0.0;
    e.quality = made > 0.0 ? good / made : 0.0;
    e.product = e.availability * e.performance * e.quality;
    return e;
}

#endif
