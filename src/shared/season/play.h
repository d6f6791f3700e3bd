/* SPDX-License-Identifier: GPL-3.0-or-later
 * Lots of several lines played side by side, as lots that wait for others ask for. */
#ifndef EFI_SEASON_PLAY_H
#define EFI_SEASON_PLAY_H

#include "shared/season/model.h"

/* The lots of one line that are played. */
typedef struct efi_season_part {
    const int *lot; /* shape [count] */
    int count;
    int from;                /* the first that is played; those before are done */
    efi_season_state *state; /* shape [count]: after each lot; those before `from` are read */
    efi_season_depth *depth; /* the same; NULL on a line without stations */
} efi_season_part;

typedef struct efi_season_play {
    const efi_season_model *model;
    efi_season_part part[EFI_SEASON_MOST_LINES];
    bool *pending;             /* shape [lots], all false before and after */
    efi_season_moment *moment; /* shape [lots] */
    efi_season_run *run;       /* shape [lots], or NULL */
    int64_t limit;
    int vain;      /* lots that wait in vain, of those played */
    int64_t value; /* of all lines, their last changeovers and those lots */
} efi_season_play;

/*
 * Plays all parts: each line goes on until its next lot waits for one that is still to come; where none can
 * go on, the first of them runs its lot without waiting, which counts as forbidden. False as soon as the
 * value passes the limit.
 */
bool efi_season_play_all(efi_season_play *play);

#endif
