/* SPDX-License-Identifier: GPL-3.0-or-later
 * The words for the terms of the cost. */
#include "base/base.h"
#include "base/tongue.h"

#include <evenfeed/season.h>

static const struct {
    const char *word;
    const char *meaning;
} terms[EF_SEASON_TERMS] = {
    [EF_SEASON_CLEANING] = {EFI_TR("clean-downs"),
                            EFI_TR("labour, flushed seed and other cost of cleaning between lots")},
    [EF_SEASON_LATE] = {EFI_TR("late lots"), EFI_TR("days after the due date, each at its lot's price")},
    [EF_SEASON_WET] = {EFI_TR("wet lots"), EFI_TR("days after the latest start of lots that do not keep")},
    [EF_SEASON_OVERTIME] = {EFI_TR("overtime"), EFI_TR("hours worked outside the shifts")},
    [EF_SEASON_RAW] = {EFI_TR("no raw room"), EFI_TR("tonnes and days without room before the run")},
    [EF_SEASON_FINISHED] = {EFI_TR("no finished room"), EFI_TR("tonnes and days without room after the run")},
    [EF_SEASON_MOVES] = {EFI_TR("moved lots"), EFI_TR("lots that an earlier plan had in another place")}};

const char *ef_season_term_word(ef_season_term term)
{
    return terms[term].word;
}

const char *ef_season_term_meaning(ef_season_term term)
{
    return terms[term].meaning;
}
