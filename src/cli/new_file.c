/* SPDX-License-Identifier: GPL-3.0-or-later
 * Files beside the usual output: a new file written whole or not at all, and settings kept in a file. */
#include "base/memory.h"
#include "base/text.h"
#include "cli/cli.h"
#include "model/beside.h"

#include <errno.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <unistd.h>

/* Everything in a file of a name of its own; false with errno. */
static bool write_beside(char *name, const char *text)
{
    const int descriptor = mkstemp(name);
    if (descriptor < 0)
        return false;
    FILE *stream = fdopen(descriptor, "wb");
    if (!stream) {
        (void)close(descriptor);
        return false;
    }
    const size_t length = strlen(text);
    const bool written = fwrite(text, 1, length, stream) == length;
    return fclose(stream) == 0 && written;
}

int cli_write_new(const char *path, const char *text)
{
    efi_text beside = {0};
    efi_text_addf(&beside, "%s.new-XXXXXX", path);
    if (beside.failed) {
        efi_text_free(&beside);
        return cli_fail(EF_MEMORY, path);
    }
    errno = 0;
    bool good = write_beside(beside.bytes, text);
    /* a link fails where there is a file already, and never shows half of one */
    good = good && link(beside.bytes, path) == 0;
    const int reason = errno;
    (void)unlink(beside.bytes);
    efi_text_free(&beside);
    if (good)
        return 0;
    if (reason == EEXIST) {
        fprintf(stderr,
                "evenfeed: %s: there is a file of that name, which is never replaced; give another name\n",
                path);
        return ef_status_exit_code(EF_FILE);
    }
    errno = reason;
    return cli_fail(EF_FILE, path);
}

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
