/* SPDX-License-Identifier: GPL-3.0-or-later
 * `evenfeed language`: the reference of the scenario language; and the man page. */
#include "cli/cli.h"

#include <evenfeed/report.h>
#include <stdlib.h>

static int run_language(const cli_call *call)
{
    (void)call;
    char *text;
    const ef_status status = ef_report_language(&text);
    if (status != EF_OK)
        return cli_fail(status, NULL);
    const int code = cli_print(text, 0);
    ef_report_free(text);
    return code;
}

static const cli_option no_options[] = {{NULL, NULL, NULL}};

const cli_command cli_language = {
    .name = "language",
    .operands = "",
    .summary = "the reference of the scenario language: every key, its units, its meaning",
    .about =
        "Prints the reference of the scenario language as Markdown, from the same table that reads the file.",
    .options = no_options,
    .example = "language",
    .run = run_language,
};

static int run_manpage(const cli_call *call)
{
    (void)call;
    char *text = cli_manpage_text();
    if (!text)
        return cli_fail(EF_MEMORY, NULL);
    const int code = cli_print(text, 0);
    free(text);
    return code;
}

const cli_command cli_manpage = {
    .name = "manpage",
    .operands = "",
    .summary = "the manual page, for the installation",
    .about = "Prints the manual page in roff.",
    .options = no_options,
    .example = "manpage",
    .run = run_manpage,
    .hidden = true,
};
