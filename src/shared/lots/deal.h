/* SPDX-License-Identifier: GPL-3.0-or-later
 * Which lots run on which line of a plant of several. */
#ifndef EFI_LOTS_DEAL_H
#define EFI_LOTS_DEAL_H

#include "base/memory.h"
#include "model/scenario.h"

typedef struct efi_lots_deal {
    int lines;  /* of the scenario */
    int *first; /* shape [lines + 1]: the lots of a line are first[line] .. first[line + 1] - 1 */
    int *lots; /* shape [first[lines]]: numbers of the scenario, line by line, each in the order it runs in */
} efi_lots_deal;

/*
 * Puts lots on lines, in `arena`; a plant of several lines. `order` (shape [count]) are lots in their order,
 * NULL: those that wait, in the order of the scenario; those that are done are left out. `line_of` (shape
 * [count]) says the line of each of them; NULL: they are dealt out:
 *
 *   each in its turn goes to that of the lines which may and can run it where it would be done first, after
 *   the lots that line has been given already: by tonnes over the rate of the steady balance in which all
 *   lines run, and the hours of the clean-down before it; the first of several lines as good. A line whose
 *   last lot it must never follow comes after all others.
 *
 * A lot that no line can run is put on the first that may; running the list says what is wrong with it.
 * EF_OK; EF_NO_ANSWER with a reason as efi_lot_list_build where there is no lot; EF_MEMORY, EF_INTERNAL.
 */
ef_status efi_lots_deal_build(efi_lots_deal *deal, efi_arena *arena, const ef_scenario *scenario,
                              const int *order, const int *line_of, int count, char **reason);

#endif
