/* SPDX-License-Identifier: GPL-3.0-or-later
 * --picture, --of and --svg: one picture of an answer into a file. */
#include "base/text.h"
#include "cli/cli.h"

#include <evenfeed/report.h>
#include <stdio.h>
#include <string.h>

/* Names of the pictures of an answer, with commas. */
static void add_names(efi_text *words, ef_picture_answer answer)
{
    const char *between = "";
    for (int i = 0; ef_picture_at(i); i++) {
        if (ef_picture_at(i)->answer != answer)
            continue;
        efi_text_addf(words, "%s%s", between, ef_picture_at(i)->name);
        between = ", ";
    }
}

static int refuse_name(const cli_call *call, ef_picture_answer answer, const char *name)
{
    efi_text names = {0};
    add_names(&names, answer);
    const int code = cli_usage(call->command, "--picture is one of: %s; not \"%s\"", efi_text_get(&names),
                               name);
    efi_text_free(&names);
    return code;
}

int cli_picture(const cli_call *call, ef_picture_answer answer, const ef_picture **picture)
{
    const char *name = cli_value(call, "picture");
    *picture = NULL;
    if (!cli_value(call, "svg"))
        return name ? cli_usage(call->command, "--picture goes into a file; say which with --svg FILE") : 0;
    if (name) {
        *picture = ef_picture_find(name);
        if (!*picture || (*picture)->answer != answer) {
            *picture = NULL;
            return refuse_name(call, answer, name);
        }
        return 0;
    }
    for (int i = 0; !*picture && ef_picture_at(i); i++)
        *picture = ef_picture_at(i)->answer == answer ? ef_picture_at(i) : NULL;
    return 0;
}

/* One line with the names of all parts. */
static int ask_for_part(const cli_call *call, const ef_picture *picture, const ef_picture_source *source,
                        const char *asked)
{
    efi_text names = {0};
    char *name;
    for (int i = 0; ef_picture_part(picture, source, i, &name) == EF_OK; i++) {
        efi_text_addf(&names, "%s\"%s\"", i > 0 ? ", " : "", name);
        ef_report_free(name);
    }
    const int code = asked ? cli_usage(call->command,
                                       "there is no picture \"%s\" of \"%s\"; there is one of %s",
                                       picture->name, asked, efi_text_get(&names))
                           : cli_usage(call->command,
                                       "\"%s\" is a picture for each %s; say which with --of: %s",
                                       picture->name, picture->parts, efi_text_get(&names));
    efi_text_free(&names);
    return code;
}

/* Number of the part that --of names, 0 where there is one alone, -1. */
static int part_of(const ef_picture *picture, const ef_picture_source *source, const char *asked)
{
    char *name;
    if (!asked)
        return ef_picture_parts(picture, source) == 1 ? 0 : -1;
    for (int i = 0; ef_picture_part(picture, source, i, &name) == EF_OK; i++) {
        const bool same = strcmp(name, asked) == 0;
        ef_report_free(name);
        if (same)
            return i;
    }
    return -1;
}

int cli_draw(const cli_call *call, const ef_picture *picture, const ef_picture_source *source, ef_units units,
             const char *asked)
{
    if (!picture)
        return 0;
    if (ef_picture_parts(picture, source) == 0) {
        fprintf(stderr, "evenfeed: there is nothing to draw as \"%s\" here\n", picture->name);
        return ef_status_exit_code(EF_NO_ANSWER);
    }
    const int part = part_of(picture, source, asked);
    if (part < 0)
        return ask_for_part(call, picture, source, asked);
    char *svg;
    const ef_status status = ef_picture_svg(picture, source, part, units, &svg);
    if (status != EF_OK)
        return cli_fail(status, NULL);
    const int code = cli_write_file(cli_value(call, "svg"), svg, cli_value(call, "force") != NULL);
    ef_report_free(svg);
    return code;
}
