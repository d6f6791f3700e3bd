/* SPDX-License-Identifier: GPL-3.0-or-later
 * The steady rates of one crop: the linear program of its line, and the choice of shares at free splits. */
#ifndef EFI_STEADY_H
#define EFI_STEADY_H

#include "shared/line/line.h"
#include "shared/lp/lp.h"

#include <evenfeed/balance.h>

/*
 * The linear program of one crop, in the intake rates and the changes of shares alone.
 *
 *   sets       s stations of the line, m materials of the receipt, i intakes, b branches of splits whose
 *              shares are to be chosen (they are spouts too), o outlets
 *   variables  R[i] >= 0      intake rate, t/h
 *              d[b]           change of a branch's share against its present share a[b] (0 when solved
 * exactly) e[o] >= 0      shortfall of a least rate, t/h (0 unless the program is elastic; then dear) feeds
 * x[s,m] = sum_i U[i,s,m] R[i] + sum_b V[b,s,m] d[b] maximise   rate:  sum_i R[i] value: sum_o price[o] sum_m
 * x[o,m] - paid sum_i R[i] - energy price sum_s kWh/t[s] sum_m x[s,m] capacity[s]    sum_m x[s,m] <= C[s]
 * (t/h),  or  sum_m x[s,m] / density[m] <= V[s]  (m3/h) least[o]       sum_m x[o,m] + e[o] >= L[o] purity[o]
 * sum over wanted m of x[o,m] >= p[o] sum_m x[o,m] power          sum_s kWh/t[s] sum_m x[s,m] <= limit - idle
 *   shares[split]  sum over its b of d[b] = 0
 *
 * U[i,s,m] is the feed that one t/h of intake i causes at the shares a: exact, since feeds are linear in the
 * rates at given shares (line.h). V[b,s,m] is the feed that a stream like that into the split, at the present
 * rates, causes where it enters the station that b leads to. With d = 0 the program is exact for those
 * shares; with d free it is its first-order model around them, which the successive linear programs of
 * choose.c step along. It has as many rows as there are limits and a handful of columns, however long the
 * line is, and the solver cannot spoil the flows, which it never sees.
 */
typedef struct efi_steady_model {
    efi_line *line;
    ef_balance_aim aim;
    efi_lp *lp;
    int *rate;         /* shape [intake]: column; one after another */
    int *change;       /* shape [spout]: column of d, -1 for a spout that is no free branch */
    int *capacity_row; /* shape [station], -1 without capacity */
    int *least_row;    /* shape [station], -1 without least rate */
    int *short_column; /* shape [station]: column of e, -1 without least rate */
    int *purity_row;   /* shape [station], -1 without least purity */
    int power_row;     /* -1 without limit */
    double *rates;     /* shape [intake]: intake rates at the present shares */
    double *feeds;     /* shape [station][material]: feeds at the present shares */
    double correction; /* share by which the rates of the solver were put right; 0 for rounding */
    int room_column;   /* share of their capacity that stations after splits are to keep free; else fixed at 0
                        */
    int aim_row;       /* what the aim must keep meanwhile; else free */
    bool *shared_out;  /* shape [station]: its feed depends on shares, by the last efi_steady_make_room */
    int branch_count;
    int *branches;            /* shape [branch]: spouts */
    double *of_rate;          /* shape [intake][station][material]: U */
    double *of_change;        /* shape [branch][station][material]: V */
    efi_line_source *sources; /* shape [intake or branch], scratch */
    efi_lp_entry *entries;    /* shape [intake + branch + 1], scratch */
} efi_steady_model;

/* Builds it; its arrays in `arena`. The lp is freed with efi_lp_free, also after a failure. */
ef_status efi_steady_build(efi_steady_model *model, efi_arena *arena, efi_line *line, ef_balance_aim aim);

/* Money per hour for the power that the stations draw before a tonne passes: part of the value, but not of
 * the aim, since no rate changes it. */
double efi_steady_idle_cost(const efi_line *line);

/* What one t/h of intake, and one t/h into a station, adds to the aim of itself. */
double efi_steady_worth_of_rate(const efi_line *line, ef_balance_aim aim);
double efi_steady_worth_of_feed(const efi_line *line, int station, ef_balance_aim aim);

/* More than a tonne of anything can bring, for the price of a missed least rate. */
double efi_steady_penalty(const efi_line *line);

/* A least purity counts as met when no more than this share is missing. */
#define EFI_STEADY_PURITY_SLACK 1e-8
/* Where shares are chosen, a least rate counts as met when no more than this share of it is missing. */
#define EFI_STEADY_RATE_SLACK 1e-8

/* Puts the line's present shares into the program, changes fixed at 0. */
ef_status efi_steady_reshare(efi_steady_model *model);

/* Solves a program as it stands, finely; afresh when the basis of earlier shares leads nowhere, and once more
 * from the basis that was found when the answer is off by more than rounding. As efi_lp_solve. */
ef_status efi_steady_optimise(efi_lp *lp, efi_lp_result *result);

/*
 * Solves at the present shares. EF_OK with the outcome in `outcome` and, when it is optimal, the aim in
 * `value`, and the exact rates and feeds in the model; EF_MEMORY, EF_INTERNAL.
 */
ef_status efi_steady_solve(efi_steady_model *model, efi_lp_outcome *outcome, double *value);

/* Sets rates, and the feeds that go with them at the present shares, whether or not limits are kept. */
void efi_steady_stand(const efi_steady_model *model, const double *rates);

/* Lets the changes of the shares go up to `trust` either way, within least and most, around the present rates
 * and feeds. Demands are asked for in full, or with what may be missing of them. */
ef_status efi_steady_loosen(efi_steady_model *model, double trust, bool in_full);

/*
 * Loosens the shares of `free` splits, and asks for the most room instead of the aim, which must keep
 * `least`: for the largest t such that every station whose feed depends on the shares takes no more than 1 -
 * t of its capacity. efi_steady_reshare ends that.
 */
ef_status efi_steady_make_room(efi_steady_model *model, double trust, double least);

/* The t/h of product at the solution of the program as it stands, solved. */
double efi_steady_product(const efi_steady_model *model);

/* Maximises what one outlet of the line gets, at the present shares. */
ef_status efi_steady_aim(efi_steady_model *model, int outlet);

/* Lets least rates be missed, each tonne at a price above all that it could bring; or not. */
ef_status efi_steady_elastic(efi_steady_model *model, bool elastic);

/* How a search over the shares of free splits ended. */
typedef struct efi_steady_search {
    int starts;
    int steps;
} efi_steady_search;

/*
 * Chooses the shares of the free splits for the aim of the model: successive linear programs from several
 * starts, then the order of `first with room`. Leaves line and model at the best shares, solved. Without free
 * splits it only solves. EF_OK with the outcome, EF_MEMORY, EF_INTERNAL.
 */
ef_status efi_steady_choose(efi_steady_model *model, efi_arena *arena, efi_lp_outcome *outcome, double *value,
                            efi_steady_search *search);

/* The same from the present shares alone, and without any order: a local best near them. */
ef_status efi_steady_improve(efi_steady_model *model, efi_arena *arena, efi_lp_outcome *outcome,
                             double *value);

/*
 * The same program with every flow written out, for those who want to read it, and its relaxation.
 *
 *   variables  R[i] as above; x[s,m] >= 0 feed of a station, t/h; e[o] as above
 *              f[b,m] >= 0    what a branch carries (only in the relaxation)
 *   flow[s,m]      x[s,m] - sum over spouts k into s of share[k,m] x[from(k),m] - [s = i] receipt[m] R[i] = 0
 *                  (where `from` turns material into other, sum over j of turns[from,j,m] x[from,j] for x)
 *   and the rows of limits and demands above
 *
 * In the relaxation a branch may pick materials apart: flow rows take f[b,m] instead of a[b] x[s,m], with
 * sum_b f[b,m] = x[s,m], and the least and most shares hold for totals. Its optimum is never below the true
 * one.
 */
typedef enum efi_steady_form {
    EFI_STEADY_EXACT,
    EFI_STEADY_RELAXED
} efi_steady_form;

typedef struct efi_steady_whole {
    const efi_line *line;
    efi_steady_form form;
    ef_balance_aim aim;
    efi_lp *lp;
    int *rate; /* shape [intake]: column */
    int *feed; /* shape [station][material]: column, -1 for a material that the receipt does not hold */
    int *capacity_row; /* these as in efi_steady_model */
    int *least_row;
    int *short_column;
    int power_row;
} efi_steady_whole;

/* Builds it at the present shares of the line; its arrays in `arena`. The lp is freed with efi_lp_free, also
 * after a failure. */
ef_status efi_steady_whole_build(efi_steady_whole *whole, efi_arena *arena, const efi_line *line,
                                 efi_steady_form form, ef_balance_aim aim);

/* Maximises the aim (outlet < 0) or what one outlet of the line gets. */
ef_status efi_steady_whole_aim(efi_steady_whole *whole, int outlet);

/* As efi_steady_elastic. */
ef_status efi_steady_whole_elastic(efi_steady_whole *whole, bool elastic);

/* A capacity or the power limit binds when what is left is at most this share of it. */
#define EFI_STEADY_LIMIT_SHARE 1e-7

#endif
