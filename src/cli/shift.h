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

/* Lots in the order of a plan, line by line. */
typedef struct cli_lot_order {
    int *lots;  /* shape [count]; NULL without a plan */
    int *lines; /* shape [count]: the line that runs each */
    int count;
} cli_lot_order;

/* The order of the plan that --plan names, to be freed with cli_lot_order_free. Returns 0 or the exit code.
 */
int cli_plan_order(const cli_call *call, const ef_scenario *scenario, cli_lot_order *order);
void cli_lot_order_free(cli_lot_order *order);

#endif
