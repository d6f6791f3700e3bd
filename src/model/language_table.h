/* SPDX-License-Identifier: GPL-3.0-or-later
 * Short forms for the rows of the language table. */
#ifndef EFI_LANGUAGE_TABLE_H
#define EFI_LANGUAGE_TABLE_H

#include "model/language.h"

#define SLOT(type, member) offsetof(type, member)
#define OF(name)           EFI_KIND_SET(EFI_KIND_##name)
#define FIELDS(table)      .fields = (table), .count = (int)EF_COUNT(table)

/* A free remark, which every named thing may carry. */
#define NOTE(struct_, example_)                                                                              \
    {                                                                                                        \
        .key = "note", .type = EFI_FIELD_TEXT, .slot = SLOT(struct_, note),                                  \
        .meaning = "Anything worth saying.", .example = example_                                             \
    }

/* A number with a unit. */
#define QUANTITY(key_, kinds_, struct_, member, range_)                                                      \
    .key = key_, .type = EFI_FIELD_QUANTITY, .quantities = (kinds_), .slot = SLOT(struct_, member),          \
    .range = EFI_RANGE_##range_

/* What may be chosen about the volume of a bin (language_bins.c). */
extern const efi_block efi_language_bin_choice;

/* The steel of a bin, and a standard bin (language_steel.c). */
extern const efi_block efi_language_steel;
extern const efi_block efi_language_standard_bin;

/* The block of one station (language_station.c); one way of stopping, receipts in loads, batches and
 * recorded stops (language_stops.c); the calendar (language_calendar.c). */
extern const efi_block efi_language_station;
extern const efi_block efi_language_stop;
extern const efi_block efi_language_receipts;
extern const efi_block efi_language_record;
extern const efi_block efi_language_batch;
extern const efi_block efi_language_crew; /* language_crews.c */
extern const efi_block efi_language_calendar;
extern const efi_block efi_language_lot;    /* language_lots.c */
extern const efi_block efi_language_season; /* language_season.c */

#endif
