/* SPDX-License-Identifier: GPL-3.0-or-later
 * What the files of `evenfeed report` share. */
#ifndef EF_CLI_REPORT_H
#define EF_CLI_REPORT_H

#include "base/memory.h"
#include "cli/cli.h"

#include <evenfeed/report.h>

enum {
    CLI_REPORT_RUNGS = 4,          /* of the ladder */
    CLI_REPORT_STEPS = 1000000,    /* of the search for an order of lots: some seconds */
    CLI_REPORT_ROUNDS = 1000000000 /* of that search: its steps end it */
};

/* What was asked, and the answers so far. */
typedef struct cli_report_work {
    const cli_call *call;
    const ef_scenario *scenario;
    int crop; /* -1: all */
    ef_units units;
    uint64_t seed;
    int threads;
    long long runs;   /* 0: what a shift takes when not told */
    long long traces; /* 0: what bins take when not told */
    bool remedies;
    long long steps;      /* of the search for an order of lots */
    ef_season_plan *plan; /* taken up; NULL: none */
    bool has_at;
    int64_t at;
    ef_balance *balance;
    ef_bins *bins;
    ef_shift **shifts; /* shape [shift_count], room for all crops */
    int shift_count;
    ef_season *season;
    ef_report_missing *missing; /* shape [missing_count]; texts in the arena */
    int missing_count;
    size_t missing_room;
    efi_arena *arena;
} cli_report_work;

/* Adds the folder to write into: that of --out, else one named after the scenario. */
void cli_report_folder(const cli_call *call, efi_text *out);

/* Writes all files, or none, and says where they are. Returns 0 or the exit code. */
int cli_report_write(const cli_report_work *w);

#endif
