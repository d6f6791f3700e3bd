/* SPDX-License-Identifier: GPL-3.0-or-later
 * What the files that put a balance on a paper share: how the quantities of one crop are shown. */
#ifndef EFI_BALANCE_VIEW_H
#define EFI_BALANCE_VIEW_H

#include "base/pieces.h"
#include "report/report.h"
#include "report/paper.h"

#include <evenfeed/balance.h>

enum {
    EFI_BALANCE_TABLES = 9 /* tables beside the scenario that get a number of their own */
};

/* How the quantities of one crop are shown. */
typedef struct efi_balance_view {
    const ef_balance *balance;
    const ef_balance_crop *crop;
    ef_units units;
    double tpbu;          /* trade weight, 0 without */
    efi_display mass;     /* rates by weight */
    efi_display intake;   /* the intake's and the product's, to three digits */
    efi_display volume;   /* rates by volume */
    efi_display tonnes;   /* amounts by weight */
    efi_display bin_mass; /* what a bin holds */
    efi_display bin_m3;
    const char *tables[EFI_BALANCE_TABLES]; /* files beside the scenario that stations or outlets stand in */
    int table_count;
} efi_balance_view;

/* A balance as a paper: verdicts first, then tables. */
void efi_balance_put(efi_paper *paper, const ef_balance *balance, ef_units units);

/* "line 33", "stations.csv line 4" or "--set". */
const char *efi_balance_place(efi_paper *paper, const efi_balance_view *v, const ef_place *place);

/* The name of a file without its folders, within `path`. */
const char *efi_balance_file_name(const char *path);

/* A rate in the unit of the others, to three digits of its own; a quantity chosen for itself. */
efi_piece efi_balance_rate(const efi_balance_view *v, double rate_tph);
efi_piece efi_balance_kind(const efi_balance_view *v, efi_kind kind, double value);

/* Stations, returns, outlets, bins (balance_tables.c). */
void efi_balance_add_stations(efi_paper *paper, const efi_balance_view *v);
void efi_balance_add_outlets(efi_paper *paper, const efi_balance_view *v);
void efi_balance_add_bins(efi_paper *paper, const efi_balance_view *v);

/* Chosen shares, power, people, money, the ladder (balance_means.c). Each adds nothing where there is nothing
 * to say. */
void efi_balance_add_splits(efi_paper *paper, const efi_balance_view *v);
void efi_balance_add_means(efi_paper *paper, const efi_balance_view *v);
void efi_balance_add_ladder(efi_paper *paper, const efi_balance_view *v);

#endif
