/* SPDX-License-Identifier: GPL-3.0-or-later
 * What the files that print a season share. */
#ifndef EFI_SEASON_VIEW_H
#define EFI_SEASON_VIEW_H

#include "base/pieces.h"
#include "report/paper.h"

#include <evenfeed/season.h>
#include <stdint.h>

typedef struct efi_season_view {
    const ef_season *season;
    ef_units units;
    double largest_t; /* of the lots */
    efi_display t;    /* of tonnes, where bushels are not asked for */
    efi_display money;
} efi_season_view;

efi_season_view efi_season_view_of(const ef_season *season, ef_units units);

/* ---- words and texts for all forms ----------------------------------------------------------------------
 */

/* In English; those of rates are messages of tongue.h. */
const char *efi_season_state_word(ef_season_state state);
const char *efi_season_holds_word(ef_season_holds holds);
const char *efi_season_rate_word(ef_season_rate_source source);
const char *efi_season_time_word(ef_season_time state);

/* "2026-09-01T06:00" by the plant's clock; nothing for EF_SEASON_NONE. */
void efi_season_add_moment(efi_text *out, int64_t moment);

/* The names of the stores in a list that -1 closes, with `between` between them. */
void efi_season_add_stores(efi_text *out, const ef_season *season, const int *stores, const char *between);

/* "wheat Tamar C1" */
void efi_season_add_kind(efi_text *out, const ef_season_lot *lot);

/* Does anything have to be cleaned before this run, and after the last run of this line? */
bool efi_season_is_cleaned(const ef_season_run *run);
bool efi_season_is_last_cleaned(const ef_season_line *line);

/* Kinds of trouble of a run, the worst first; the first four mean that the plan must not be followed. */
typedef enum efi_trouble {
    EFI_TROUBLE_FORBIDDEN, /* its changeover */
    EFI_TROUBLE_UNFIT,
    EFI_TROUBLE_MISSES,  /* its frozen start */
    EFI_TROUBLE_IN_VAIN, /* it waits for its first pass */
    EFI_TROUBLE_LATE,
    EFI_TROUBLE_WET,
    EFI_TROUBLE_NO_RAW,
    EFI_TROUBLE_NO_FINISHED,
    EFI_TROUBLES
} efi_trouble;

bool efi_season_has_trouble(const ef_season_run *run, efi_trouble what);

/* How many runs are in that trouble. */
int efi_season_count(const ef_season *season, efi_trouble what);

/* ---- for people -----------------------------------------------------------------------------------------
 */

/* "frozen", in the reader's language; the name of a line, or the word where it has none. */
const char *efi_season_state_said(ef_season_state state);
const char *efi_season_line_said(const ef_season *season, int line);

/* Said wherever somebody is sent to clean. */
const char *efi_season_cleaning_caution(void);

/* "Tue 09-01"; and "Tue 06:00" or "06:00" where the day follows from `beside` (within six days of it; the
 * same), else as efi_piece_when. */
efi_piece efi_season_short_day(int64_t moment);
efi_piece efi_season_near(int64_t moment, int64_t beside);

/* "Tue 09-01", and the time where it is not the end of that day; nothing for EF_SEASON_NONE. */
efi_piece efi_season_due(int64_t moment);

/* Tonnes of a bushel of a crop that has lots; 0 without. */
double efi_season_trade_weight(const ef_season *season, const char *crop);

/* A lot's tonnes in the unit of its crop; tonnes by themselves; money. */
efi_piece efi_season_amount(const efi_season_view *v, const ef_season_lot *lot, double amount_t);
efi_piece efi_season_mass(const efi_season_view *v, double amount_t);
efi_piece efi_season_sum(const efi_season_view *v, double money);

/* "2.4 d", "5 h": how late. */
efi_piece efi_season_days(double days);

/* The parts of the paper. */
void efi_season_add_trouble(efi_paper *paper, const efi_season_view *v);
void efi_season_add_order(efi_paper *paper, const efi_season_view *v);
void efi_season_add_chart(efi_paper *paper, const efi_season_view *v);
void efi_season_add_tables(efi_paper *paper, const efi_season_view *v);

void efi_season_add_costs(efi_paper *paper, const efi_season_view *v);

/* The verdict alone, for a reader of many answers; what the season costs, for who pays; the summary and all
 * tables but the order of work, and that order by rows with moments, for a spreadsheet. */
void efi_season_verdict_put(efi_paper *paper, const ef_season *season, ef_units units);
void efi_season_costs_put(efi_paper *paper, const ef_season *season, ef_units units);
void efi_season_sheet_put(efi_paper *paper, const ef_season *season, ef_units units);
void efi_season_work_put(efi_paper *paper, const ef_season *season);

/* All of it. */
void efi_season_paper(efi_paper *paper, const ef_season *season, ef_units units);
void efi_when_paper(efi_paper *paper, const ef_season_answer *answer, ef_units units);

#endif
