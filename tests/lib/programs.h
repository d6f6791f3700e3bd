/* SPDX-License-Identifier: GPL-3.0-or-later
 * Linear programs for tests: built a column and a row at a time, solved, and some that several tests use.
 * Whatever goes wrong here fails the running test. */
#ifndef TESTS_PROGRAMS_H
#define TESTS_PROGRAMS_H

#include "shared/lp/lp.h"

/* Add a column (one that must be whole), or a row of `count` entries; its number comes back. */
int program_column(efi_lp *lp, efi_lp_bounds bounds, double objective);
int program_integer_column(efi_lp *lp, efi_lp_bounds bounds, double objective);
int program_row(efi_lp *lp, efi_lp_bounds bounds, const efi_lp_entry *entries, int count);

/* The same of entries written out: PROGRAM_ROW(lp, efi_lp_at_most(4.0), {x, 1.0}, {y, 2.0}). */
#define PROGRAM_ROW(lp, bounds, ...)                                                                         \
    program_row(lp, bounds, (const efi_lp_entry[]){__VA_ARGS__},                                             \
                (int)(sizeof((const efi_lp_entry[]){__VA_ARGS__}) / sizeof(efi_lp_entry)))

/* Solves; `options` may be NULL. */
efi_lp_result program_solve(efi_lp *lp, const efi_lp_options *options);

/* The default options, but for these two. */
efi_lp_options program_options(efi_lp_method method, efi_lp_presolve presolve);

/*
 * Two products, three plants: maximise 3x + 5y, x <= 4, 2y <= 12, 3x + 2y <= 18. Optimum 36 at (2, 6), duals
 * 0, 3/2, 1. Source: Hillier & Lieberman, Introduction to Operations Research (from memory; the duals follow
 * from 3 = 3 y3 and 5 = 2 y2 + 2 y3).
 */
efi_lp *program_two_products(void);

/* A chain: x_k <= x_(k-1) + 1, x_0 <= 1, maximise the sum; x_k = k + 1. */
efi_lp *program_chain(int length);

/* Unbounded: max x + y, -1 <= x - y <= 1. */
efi_lp *program_runaway(void);

/* Neither the program nor its dual has a feasible point: max x + y, x - y = 1, y - x = 1. */
efi_lp *program_infeasible_both_ways(void);

/* For the end of a group of tests: releases what the solver keeps for this thread. */
int program_leave_solver(void **state);

#endif
