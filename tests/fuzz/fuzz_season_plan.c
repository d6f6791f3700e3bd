/* SPDX-License-Identifier: GPL-3.0-or-later
 * Any bytes as a plan file of the plant of tests/bad/plans: findings can be printed, a plan comes out exactly
 * when there is no error, and holds no lot twice. */
#include "answers/season/season.h"

#include <evenfeed/report.h>
#include <stddef.h>
#include <stdint.h>
#include <stdlib.h>

int LLVMFuzzerTestOneInput(const uint8_t *data, size_t size);

enum {
    MOST_LOTS = 100
};

static ef_scenario *load_plant(void)
{
    ef_scenario *scenario = NULL;
    ef_diags *diags = ef_diags_new();
    if (!diags || ef_scenario_load("tests/bad/plans/plant.yaml", NULL, 0, diags, &scenario) != EF_OK)
        abort();
    ef_diags_free(diags);
    return scenario;
}

static void check_plan(const ef_scenario *scenario, const ef_season_plan *plan)
{
    bool named[MOST_LOTS] = {false};
    if (plan->line_count != scenario->line_count)
        abort();
    for (int l = 0; l < plan->line_count; l++) {
        for (int i = 0; i < plan->lines[l].count; i++) {
            const int lot = plan->lines[l].lots[i].lot;
            if (lot < 0 || lot >= scenario->lot_count || lot >= MOST_LOTS || named[lot])
                abort();
            named[lot] = true;
        }
    }
}

int LLVMFuzzerTestOneInput(const uint8_t *data, size_t size)
{
    static ef_scenario *scenario;
    if (!scenario)
        scenario = load_plant();
    ef_diags *diags = ef_diags_new();
    ef_season_plan *plan = NULL;
    char *text = NULL;
    if (!diags)
        return 0;
    const ef_status status = ef_season_plan_read(scenario, "p.csv", (const char *)data, size, diags, &plan);
    if ((status == EF_OK) != (ef_diags_count_of(diags, EF_ERROR) == 0) || (status == EF_OK) != (plan != NULL))
        abort();
    if (ef_report_findings(diags, &text) != EF_OK)
        abort();
    if (plan)
        check_plan(scenario, plan);
    ef_report_free(text);
    ef_season_plan_free(plan);
    ef_diags_free(diags);
    return 0;
}
