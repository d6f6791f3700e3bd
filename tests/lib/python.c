/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "python.h"

#include "files.h"

#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>

#include <cmocka.h>

enum {
    LACKING = 77,    /* exit code of a script without its package */
    NOT_THERE = 127, /* of a program that is not there */
    MOST = 512
};

json_t *python_json(const char *const *arguments)
{
    /* the first python3 need not be the system's, whose packages are meant */
    static const char *const pythons[] = {"python3", "/usr/bin/python3"};
    const char *command[MOST] = {NULL};
    for (int i = 0; arguments[i]; i++) {
        assert_true(i + 2 < MOST);
        command[i + 1] = arguments[i];
    }
    for (size_t p = 0; p < sizeof pythons / sizeof pythons[0]; p++) {
        command[0] = pythons[p];
        command_result result = command_run(command, NULL);
        const bool lacking = result.exit_code == LACKING || result.exit_code == NOT_THERE;
        json_error_t error;
        json_t *found = result.exit_code == 0 ? json_loads(result.out, 0, &error) : NULL;
        if (!lacking && !found)
            fail_msg("%s: %s", arguments[0], result.err);
        command_result_free(&result);
        if (found)
            return found;
    }
    return NULL;
}
