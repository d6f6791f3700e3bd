/* SPDX-License-Identifier: GPL-3.0-or-later
 * Files, scratch paths and other programs, for tests: whatever goes wrong here fails the running test. */
#ifndef TESTS_FILES_H
#define TESTS_FILES_H

#include <stdbool.h>
#include <stddef.h>

/* The whole file with a closing NUL; its bytes go to `length` unless that is NULL. The caller frees with
 * free. */
char *file_read(const char *path, size_t *length);

/* Writes a file of these bytes in place of what was there; `bytes` may be NULL when `length` is 0. */
void file_write(const char *path, const void *bytes, size_t length);

/* Is there anything of this name? */
bool file_exists(const char *path);

/*
 * Path of `name` in this process's own scratch folder (made under TMPDIR on first use and removed with all it
 * holds when the process ends). The same name gives the same path. The caller frees with free.
 */
char *scratch_path(const char *name);

/* What a program came back with. */
typedef struct command_result {
    int exit_code; /* of the program; 128 + signal when one ended it */
    char *out;     /* standard output and error, each with a closing NUL */
    char *err;
    size_t out_length; /* bytes, without the closing NUL */
    size_t err_length;
} command_result;

/*
 * Runs arguments[0] (looked up in PATH unless it holds a slash) with these arguments (NULL closes them),
 * `input` as its standard input (NULL: empty), and waits for its end. No shell is involved.
 */
command_result command_run(const char *const *arguments, const char *input);

/* Frees what a result holds. */
void command_result_free(command_result *result);

/* Path of the built program, from EF_PROGRAM, as the test runner sets it; NULL when there is none. */
const char *program_path(void);

#endif
