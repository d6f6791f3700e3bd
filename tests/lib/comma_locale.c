/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "comma_locale.h"

#include "files.h"

#include <locale.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

static bool prints_comma(void)
{
    char text[16];
    (void)snprintf(text, sizeof text, "%.1f", 1.5);
    return strcmp(text, "1,5") == 0;
}

bool comma_locale_begin(void)
{
    static const char *const names[] = {"de_DE.UTF-8", "de_DE.utf8", "fr_FR.UTF-8", "de_DE"};
    for (size_t i = 0; i < sizeof names / sizeof names[0]; i++)
        if (setlocale(LC_NUMERIC, names[i]) && prints_comma())
            return true;
    char *folder = scratch_path("locale-de_DE.UTF-8");
    const char *const arguments[] = {"localedef", "--no-archive", "-i", "de_DE", "-f", "UTF-8", folder, NULL};
    command_result made = command_run(arguments, NULL);
    bool found = false;
    if (made.exit_code == 0) {
        *strrchr(folder, '/') = '\0';
        setenv("LOCPATH", folder, 1);
        found = setlocale(LC_NUMERIC, "locale-de_DE.UTF-8") && prints_comma();
    }
    command_result_free(&made);
    free(folder);
    return found;
}

void comma_locale_end(void)
{
    setlocale(LC_ALL, "C");
    unsetenv("LOCPATH");
}
