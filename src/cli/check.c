/* SPDX-License-Identifier: GPL-3.0-or-later
 * `evenfeed check`: is the scenario in order? */
#include "base/display.h"
#include "base/text.h"
#include "cli/cli.h"
#include "model/scenario.h"

#include <stdlib.h>

/* How many lots there are, and how much they bring together; nothing without lots. */
static void add_lots(efi_text *out, const ef_scenario *scenario)
{
    double amount_t = 0.0;
    if (scenario->lot_count == 0)
        return;
    for (int l = 0; l < scenario->lot_count; l++)
        amount_t += scenario->lots[l].amount_t.value;
    efi_text_addf(out, " and %d lot%s, ", scenario->lot_count, scenario->lot_count == 1 ? "" : "s");
    efi_display_add_alone(out, EFI_KIND_MASS, (ef_units)scenario->plant->units, amount_t, 0.0, NULL);
    efi_text_add(out, scenario->lot_count == 1 ? "" : " together");
}

static int run(const cli_call *call)
{
    ef_scenario *scenario;
    const int code = cli_load(call, &scenario);
    if (code != 0)
        return code;
    efi_text out = {0};
    efi_text_addf(&out, "%s: the scenario is in order; it has %d stations, %d materials, %d crop%s (",
                  ef_scenario_plant(scenario), ef_scenario_stations(scenario),
                  ef_scenario_materials(scenario), ef_scenario_crops(scenario),
                  ef_scenario_crops(scenario) == 1 ? "" : "s");
    for (int crop = 0; crop < ef_scenario_crops(scenario); crop++)
        efi_text_addf(&out, "%s%s", crop ? ", " : "", ef_scenario_crop(scenario, crop));
    efi_text_add(&out, ")");
    add_lots(&out, scenario);
    efi_text_add(&out, "\n");
    const int result = out.failed ? cli_fail(EF_MEMORY, NULL) : cli_print(efi_text_get(&out), 0);
    efi_text_free(&out);
    ef_scenario_free(scenario);
    return result;
}

static const cli_option options[] = {CLI_SET_OPTION, {NULL, NULL, NULL}};

const cli_command cli_check = {
    .name = "check",
    .operands = "FILE",
    .least_operands = 1,
    .most_operands = 1,
    .summary = "is the scenario in order? Prints all that is wrong with it in one run",
    .about = "Reads a scenario and reports everything that is wrong with it, each finding with its place, "
             "what was found, "
             "what is allowed and the likely fix. FILE may be - for standard input.",
    .options = options,
    .example = "check scenarios/cereal-seed.yaml",
    .run = run,
};
