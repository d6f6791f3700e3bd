/* SPDX-License-Identifier: GPL-3.0-or-later
 * What no plan can cost less than. */
#ifndef EFI_SEASON_BOUND_H
#define EFI_SEASON_BOUND_H

#include "shared/season/model.h"

/*
 * By term, and in all: no plan in which nothing is forbidden costs less. EF_OK, EF_MEMORY; memory from the
 * model's arena.
 */
ef_status efi_season_bound(const efi_season_model *model, efi_season_cost *bound);

/* What the parts of it share: the best that can become of a lot. */
typedef struct efi_season_hope {
    int64_t arrives_s; /* no sooner is it there */
    int64_t end_s;     /* no sooner does it end */
    int64_t due_s;   /* its due moment, or `end_s` if that is later; NONE: none, or being late has no price */
    int64_t work_s;  /* working time of a line that it takes at least, of the one station looked at, */
    int64_t clean_s; /* with that of its least cleaning after another lot, which is so much of it */
    int64_t late, wet; /* prices that it has at least, alone */
    bool is_free;      /* it is not fixed to a line, and so keeps its arrival and its turn */
} efi_season_hope;

/* Sorts moments and keeps at most `most` different ones, the last among them; returns how many. */
int efi_season_thin(int64_t *moment, int count, int most, int64_t *kept);

/* Working time of all lines before a second. */
int64_t efi_season_hours_before(const efi_season_model *model, int64_t second);

/* The end of a lot that starts at `start_w` on an empty, clean line that never pauses. */
int64_t efi_season_alone_end_w(const efi_season_model *model, int line, int lot, int64_t start_w);

/* What the raw stores hold together, of each no more than `most_kg`; stores by volume of the densest lot. */
int64_t efi_season_room_kg(const efi_season_model *model, int64_t most_kg);

/* The first lot of a line, or of a stretch of time on it, has been cleaned for before: so much of `work_s` is
 * not taken from the hours there at most, on all lines together. */
int64_t efi_season_first_clean_s(const efi_season_model *model, const efi_season_hope *hope);

/* The end of the calendar. */
int64_t efi_season_end_of_time(const efi_season_model *model);

/* Least price of cleaning over all orders. EF_OK, EF_MEMORY. */
ef_status efi_season_bound_cleaning(const efi_season_model *model, int64_t *bound);

/*
 * What is known of changeovers by class: a lot of class f costs `base`[f] at least, and `extra`[f] more when
 * another class came before it. The first lot of a line may cost less than its base: `less` in all. Shape
 * [setups], from the arena. EF_OK, EF_MEMORY.
 */
typedef struct efi_season_entries {
    int64_t *base, *extra;
    int64_t sum; /* of base over all lots, without `less` */
    int64_t less;
} efi_season_entries;

ef_status efi_season_find_entries(const efi_season_model *model, efi_season_entries *entries);

/* Lateness beyond what each lot has alone. EF_OK, EF_MEMORY. */
ef_status efi_season_bound_late(const efi_season_model *model, const efi_season_hope *hope, int64_t *bound);

/* Lateness as before together with cleaning. EF_OK, EF_MEMORY. */
ef_status efi_season_bound_changes(const efi_season_model *model, const efi_season_hope *hope,
                                   int64_t *bound);

/* Cleaning, lateness and wet lots together, and the same with raw material without room; 0 where there are
 * too many lots. EF_OK, EF_MEMORY. */
ef_status efi_season_bound_follow(const efi_season_model *model, const efi_season_hope *hope, int64_t *bound,
                                  int64_t *with_raw);

/* Product without room, and the same with lateness beyond what each lot has alone. EF_OK, EF_MEMORY. */
ef_status efi_season_bound_finished(const efi_season_model *model, const efi_season_hope *hope,
                                    int64_t *bound, int64_t *with_late);

/* Raw material without room. EF_OK, EF_MEMORY. */
ef_status efi_season_bound_raw(const efi_season_model *model, const efi_season_hope *hope, int64_t *bound);

#endif
