/* SPDX-License-Identifier: GPL-3.0-or-later
 * The stores of a plan that changes a little at a time: a change is put away anew from the first lot that it
 * moves until all that now lies elsewhere has left, which is when the stores stand as they stood. */
#ifndef EFI_SEASON_KEEP_H
#define EFI_SEASON_KEEP_H

#include "shared/season/stores.h"

enum {
    EFI_SEASON_MARK_LOTS = 8, /* between two marks */
    EFI_SEASON_MARK_MORE = 64 /* spots of shared stores a mark has room for; one that would need more is
                                 passed over */
};

/* The stores as they stand before a lot. */
typedef struct efi_season_mark {
    int64_t *until_s;       /* shape [singles]: free from then on */
    efi_season_spot *queue; /* shape [spots]: of shared stores */
    int spots;              /* -1: too many */
    int64_t price;          /* of all lots before */
} efi_season_mark;

typedef struct efi_season_keep {
    efi_season_hold *hold;
    int *order;            /* shape [lots]: by when they come */
    int *place;            /* shape [lots]: of each lot in it */
    int64_t *key;          /* shape [lots]: when each comes */
    efi_season_put *put;   /* shape [lots]: where each lies */
    efi_season_mark *mark; /* shape [lots / MARK_LOTS + 1] */
    int64_t value;
    /* what comes of a change */
    int *trial_order;          /* shape [lots]: of places from .. until - 1 */
    efi_season_put *trial_put; /* shape [lots]: of places from .. stop - 1 */
    int from, until, stop;
    int64_t trial_value;
    /* lots that a change touches: the first and last place, the first and last that come anew */
    int first, last, soonest, latest;
    int64_t soonest_s, latest_s;
} efi_season_keep;

/* Memory from the model's arena. EF_OK, EF_MEMORY. */
ef_status efi_season_keep_build(efi_season_keep *keep, const efi_season_model *model, bool finished);

/* Puts all away from the beginning. */
void efi_season_keep_begin(efi_season_keep *keep, const efi_season_moment *moment);

/* A change begins; it touches a lot; and what it costs is worked out: false when that is above `limit`. */
void efi_season_keep_open(efi_season_keep *keep);
void efi_season_keep_touch(efi_season_keep *keep, const efi_season_moment *moment, int lot);
bool efi_season_keep_try(efi_season_keep *keep, const efi_season_moment *moment, int64_t limit);

/* Takes over what was tried last. */
void efi_season_keep_take(efi_season_keep *keep, const efi_season_moment *moment);

#endif
