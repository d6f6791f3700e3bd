/* SPDX-License-Identifier: GPL-3.0-or-later
 * The lines that a season is planned for. */
#include "answers/season/season.h"

int efi_season_lines(const ef_scenario *scenario)
{
    return scenario->line_count > 0 ? scenario->line_count : 1;
}

const char *efi_season_line_name(const ef_scenario *scenario, int line)
{
    return scenario->line_count > 0 ? scenario->lines[line].name : "line";
}
