/* SPDX-License-Identifier: GPL-3.0-or-later
 * What the files of `evenfeed shift` share. */
#ifndef EF_CLI_SHIFT_H
#define EF_CLI_SHIFT_H

#include "cli/cli.h"

/* `evenfeed shift --lots`: the lots of the scenario one after the other. Returns the exit code. */
int cli_shift_lots(const cli_call *call, const ef_scenario *scenario);

/* One line about a list that cannot be run, with the reason (NULL: none), which is freed; returns the exit
 * code. `status` is not EF_OK. */
int cli_cannot_run_list(ef_status status, char *reason);

/* The lots in the order of the plan that --plan names, for the caller to free with free(); NULL without. The
 * plant must be of one line. Returns 0 or the exit code. */
int cli_plan_order(const cli_call *call, const ef_scenario *scenario, int **lots, int *count);

#endif
