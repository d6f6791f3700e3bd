/* SPDX-License-Identifier: GPL-3.0-or-later
 * What has to be cleaned between two lots, and what that costs. */
#ifndef EFI_LOTS_RULES_H
#define EFI_LOTS_RULES_H

#include "model/scenario.h"

/* What a rule makes of one changeover. */
typedef struct efi_clean_down {
    const efi_changeover *rule; /* NULL: none matches, nothing is cleaned */
    bool never;                 /* the lots must not follow one another */
    double clean_h;             /* not below the least time of lock-out and entry, unless 0 */
    double flush_t;
    double people;
    double cost; /* money: people x hours x price of labour, flushed seed, and the rule's own */
} efi_clean_down;

/*
 * Between two lots on a line; `from` NULL: before the first, `to` NULL: after the last, not both. The first
 * rule that matches counts; those for lots by name go before all others. Nothing before a lot that has run
 * already is cleaned any more (the caller's business).
 *
 * A rule matches when it holds for the line, what it names changes, and what it says of the lots before and
 * after is true. Absent is a value of its own. A variety belongs to its crop, so that another crop is another
 * variety too. A class is the lower the later it stands in the season's `classes`; one that does not stand
 * there, or none, is the lowest. `from` and `to` of rules that name nothing in particular (anything, first,
 * last) may be a crop, any trait, or the name of a lot; `none` is a lot without the trait.
 *
 * Of the whole line: where the season cleans station by station and a rule says nothing for the whole line,
 * it takes until the teams have cleaned all its stations one after the other. That is what a line takes that
 * is cleared after all, and what labour is paid for; for each station see stations.h.
 *
 * Flushed seed is of the lot that follows, after the last lot of that lot, at the price of the product of
 * that crop where an outlet for product gives one, else of its receipt.
 */
efi_clean_down efi_season_clean_down(const ef_scenario *scenario, const efi_scenario_lot *from,
                                     const efi_scenario_lot *to, int line);

/* Is there a rule that holds for some lines only? */
bool efi_season_rules_by_line(const ef_scenario *scenario);

#endif
