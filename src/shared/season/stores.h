/* SPDX-License-Identifier: GPL-3.0-or-later
 * Who lies in which store: lots are put away one after the other, in the order in which they come. */
#ifndef EFI_SEASON_STORES_H
#define EFI_SEASON_STORES_H

#include "shared/season/model.h"

enum {
    EFI_SEASON_SPOTS = EFI_SEASON_STORES_OF_LOT - 1 /* that one lot is put into */
};

/* What a lot takes of one store. */
typedef struct efi_season_spot {
    int64_t until_s; /* of a single store: until it is clean again */
    int64_t taken;   /* of a shared store: kg, or l where it is by volume; 0: a single store */
    int64_t kg;
    int at; /* single store, the smallest first; of a shared one its number */
} efi_season_spot;

/* Where a lot is put. */
typedef struct efi_season_put {
    efi_season_spot spot[EFI_SEASON_SPOTS]; /* shape [spots] */
    int spots;
    int64_t missing_kg;
    int64_t price; /* of that */
} efi_season_put;

/* The stores before or behind the lines at some moment: until when each single store is taken, and a queue of
 * what lies in the shared ones. */
typedef struct efi_season_hold {
    const efi_season_model *model;
    bool finished;
    const efi_season_single *single; /* shape [singles] */
    int singles;
    bool mixed;        /* by mass and by volume: in no order of size */
    int64_t kg_per_m3; /* of the lot that is being put away */
    int64_t now_s;
    int64_t until_s[EFI_SEASON_MOST_STORES]; /* shape [singles]: free from then on */
    int64_t taken[EFI_SEASON_MOST_STORES];   /* of shared stores: kg, or l where they are by volume */
    efi_season_spot queue[EFI_SEASON_MOST_LOTS * EFI_SEASON_STORES_OF_LOT]; /* shape [head..tail - 1]: of
                                                                shared stores, the first to leave first */
    int head, tail;
} efi_season_hold;

/* Nothing lies anywhere. */
void efi_season_hold_open(efi_season_hold *hold, const efi_season_model *model, bool finished);

/* What leaves until then leaves. */
void efi_season_hold_until(efi_season_hold *hold, int64_t now_s);

/* Takes up a spot. */
void efi_season_hold_take(efi_season_hold *hold, const efi_season_spot *spot);

/* Takes up how stores stand: single ones by `until_s` (shape [singles]), and spots of shared ones, the first
 * to leave first, where nothing lies yet. */
void efi_season_hold_load(efi_season_hold *hold, const int64_t *until_s, const efi_season_spot *spot,
                          int spots);

/* When a lot comes to the stores, `moment` (shape [lots]) being those of all lots. */
static inline int64_t efi_season_hold_key(const efi_season_hold *hold, const efi_season_moment *moment,
                                          int lot)
{
    const efi_season_problem *p = hold->model->problem;
    if (hold->finished)
        return moment[lot].end_s;
    return p->has_passes && p->lot[lot].after >= 0 ? moment[p->lot[lot].after].end_s : p->lot[lot].arrives_s;
}

/* Sorts lots by when they come, equal ones by number: fast where they nearly are. */
void efi_season_hold_sort(const efi_season_hold *hold, const efi_season_moment *moment, int *lot, int count);

/* Puts away the next lot. */
void efi_season_hold_put(efi_season_hold *hold, const efi_season_moment *moment, int lot,
                         efi_season_put *put);

/* Puts away all lots, nothing lying there yet; `order` (shape [lots]) is scratch that holds any order of
 * them, `run` (shape [lots]) gets the stores. The price of what finds no room. */
int64_t efi_season_hold_all(efi_season_hold *hold, const efi_season_moment *moment, int *order,
                            efi_season_run *run);

#endif
