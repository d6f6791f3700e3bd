/* SPDX-License-Identifier: GPL-3.0-or-later
 * The part of the language that describes the crews that see to stops. */
#include "model/language_table.h"

static void prepare_crew(void *item)
{
    efi_crew *crew = item;
    crew->teams = 1;
    crew->days = (efi_when){.value = EFI_WEEKDAYS_WORK, .given = true};
}

static const efi_field crew_fields[] = {
    {.key = "teams",
     .type = EFI_FIELD_COUNT,
     .slot = SLOT(efi_crew, teams),
     .fallback = "1",
     .meaning = "To how many stops it can see at the same time.",
     .example = "2"},
    {.key = "days",
     .type = EFI_FIELD_WEEKDAYS,
     .slot = SLOT(efi_crew, days),
     .fallback = "mon-fri",
     .meaning = "For a crew with hours of its own: the days on which they begin, but for holidays.",
     .example = "mon-sat"},
    {.key = "from",
     .type = EFI_FIELD_CLOCK,
     .slot = SLOT(efi_crew, from),
     .fallback = "it works while the plant is open, in breaks too",
     .meaning = "When its own hours begin.",
     .example = "07:00"},
    {.key = "to",
     .type = EFI_FIELD_CLOCK,
     .slot = SLOT(efi_crew, to),
     .meaning = "When its own hours end; at or before `from` means the next day.",
     .example = "15:30"},
    {.key = "on call",
     .type = EFI_FIELD_FLAG,
     .slot = SLOT(efi_crew, on_call),
     .fallback = "no",
     .meaning = "Does it come at all hours, when the plant is closed too?",
     .example = "yes"},
    {.key = "stays",
     .type = EFI_FIELD_FLAG,
     .slot = SLOT(efi_crew, stays),
     .fallback = "no: what is in hand rests until its hours begin again",
     .meaning = "Does it end what it has in hand when its hours are over?",
     .example = "yes"},
    NOTE(efi_crew, "the electrician comes from outside"),
};

const efi_block efi_language_crew = {
    .title = "crews",
    .intro =
        "Who sees to stops, by name. A stop that names a crew begins when it is due, but its length begins "
        "when a team comes; stops wait in the order in which they began. Hours need a calendar; without one "
        "a "
        "crew is always there.",
    FIELDS(crew_fields),
    .size = sizeof(efi_crew),
    .names = EFI_NAMES_CREWS,
    .most = 50,
    .prepare = prepare_crew};
