/* SPDX-License-Identifier: GPL-3.0-or-later
 * What the files that build a plant's network share. */
#ifndef EFI_PLANT_INSIDE_H
#define EFI_PLANT_INSIDE_H

#include "shared/plant/plant.h"

/* Intervals in which the calendar stops a station. */
typedef struct efi_plant_times {
    const efi_interval *list[EFI_PLANT_TIMES]; /* shape [count] each, h from hour 0 */
    int count[EFI_PLANT_TIMES];
} efi_plant_times;

typedef struct efi_plant_builder {
    efi_plant_network *plant;
    efi_arena *arena;
    const efi_line *line;
    const double *feed_tph;
    const efi_plant_options *options;
} efi_plant_builder;

/* Lays the calendar out over the stretch. EF_OK or EF_MEMORY. */
ef_status efi_plant_read_calendar(const efi_plant_builder *b);

/* Gives the network its crews, after the calendar has been read. EF_OK or EF_MEMORY. */
ef_status efi_plant_add_crews(const efi_plant_builder *b);

/* Gives loads the hours in which they come. EF_OK or EF_MEMORY. */
ef_status efi_plant_lay_receipts(const efi_plant_builder *b, const efi_receipts *receipts,
                                 efi_network_loads *loads);

/* Enough teams for every stop there can be. */
#define EFI_PLANT_TEAMS 1000000

/* Names the crew that sees to a stop in its mode: its own, else anybody where the plant is closed at times.
 */
void efi_plant_name_crew(const efi_plant_builder *b, const efi_stop *stop, efi_stop_mode *mode);

/* Gives station `n` of the network its own stops and those of the calendar. EF_OK or EF_MEMORY. */
ef_status efi_plant_add_stops(const efi_plant_builder *b, int n);

#endif
