/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "outside_solver.h"
#include "files.h"

#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <stdlib.h>
#include <string.h>
#include <unistd.h>

#include <cmocka.h>

static const char program[] = "clp";

bool outside_solver_is_there(void)
{
    const char *const arguments[] = {"sh", "-c", "command -v clp", NULL};
    command_result result = command_run(arguments, NULL);
    const bool is_there = result.exit_code == 0;
    command_result_free(&result);
    return is_there;
}

/*
 * The objective from the file of -saveSolution: two 4-byte integers (rows, columns), then doubles, the
 * objective first. The text output has 8 digits only.
 */
static bool objective_read(const char *path, double *objective)
{
    size_t length = 0;
    char *bytes = file_read(path, &length);
    const bool is_long_enough = length >= 8 + sizeof *objective;
    if (is_long_enough)
        memcpy(objective, bytes + 8, sizeof *objective);
    free(bytes);
    return is_long_enough;
}

outside_result outside_solver_run(const char *mps_path)
{
    outside_result result = {OUTSIDE_UNCLEAR, 0.0};
    char *solution = scratch_path("outside_solution.bin");
    (void)unlink(solution);
    /* The primal simplex, because it tells infeasible (first phase) from unbounded (second). */
    const char *const arguments[] = {program,         mps_path, "-presolve", "off", "-primalsimplex",
                                     "-saveSolution", solution, "-quit",     NULL};
    command_result said = command_run(arguments, NULL);
    if (said.exit_code == 0 && strstr(said.out, "Optimal - objective value") && file_exists(solution) &&
        objective_read(solution, &result.objective))
        result.outcome = OUTSIDE_OPTIMAL;
    else if (strstr(said.out, "Primal infeasible"))
        result.outcome = OUTSIDE_INFEASIBLE;
    else if (strstr(said.out, "Dual infeasible"))
        result.outcome = OUTSIDE_UNBOUNDED;
    if (result.outcome == OUTSIDE_UNCLEAR)
        print_message("%s: %s%s", mps_path, said.out, said.err);
    command_result_free(&said);
    (void)unlink(solution);
    free(solution);
    return result;
}
