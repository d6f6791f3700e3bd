/* SPDX-License-Identifier: GPL-3.0-or-later
 * Settings kept in a file: `--set @FILE`. */
#include "base/memory.h"
#include "cli/cli.h"
#include "model/beside.h"

#include <errno.h>
#include <stdlib.h>
#include <string.h>

/* Cuts the text into lines; those with a setting go to the call. */
static int take_lines(cli_call *call, char *text)
{
    for (char *line = text; line && *line;) {
        char *end = strchr(line, '\n');
        if (end)
            *end = '\0';
        size_t length = strlen(line);
        while (length > 0 &&
               (line[length - 1] == '\r' || line[length - 1] == ' ' || line[length - 1] == '\t'))
            line[--length] = '\0';
        while (*line == ' ' || *line == '\t')
            line++;
        if (*line && *line != '#') {
            if (call->setting_count == CLI_MOST_SETTINGS)
                return cli_usage(call->command, "more than %d settings", CLI_MOST_SETTINGS);
            call->settings[call->setting_count++] = line;
        }
        line = end ? end + 1 : NULL;
    }
    return 0;
}

int cli_settings_from(cli_call *call, const char *path)
{
    char *bytes = NULL;
    size_t length = 0;
    errno = 0;
    const ef_status status = efi_file_read(path, &bytes, &length);
    if (status != EF_OK)
        return cli_fail(status, path);
    char *text = malloc(length + 1); /* the settings point into it */
    if (text) {
        memcpy(text, bytes, length);
        text[length] = '\0';
    }
    efi_free(bytes);
    if (!text)
        return cli_fail(EF_MEMORY, path);
    if (strlen(text) != length || call->setting_texts == CLI_MOST_SETTING_FILES) {
        free(text);
        return cli_usage(call->command, "%s is not a file of settings, or there are too many of them", path);
    }
    call->setting_text[call->setting_texts++] = text;
    return take_lines(call, text);
}

void cli_call_free(cli_call *call)
{
    for (int i = 0; i < call->setting_texts; i++)
        free(call->setting_text[i]);
}
