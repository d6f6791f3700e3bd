/* SPDX-License-Identifier: GPL-3.0-or-later
 * Folders of fixtures, each a file of bytes and beside it the text that must come of it, for tests: whatever
 * goes wrong here fails the running test. With GOLDEN=write in the environment texts are rewritten instead of
 * compared. */
#ifndef TESTS_FIXTURES_H
#define TESTS_FIXTURES_H

#include <stdbool.h>

enum {
    FIXTURES_MOST = 1000,
    FIXTURES_PATH = 300
};

/* Does the file hold this text? The difference is printed. */
bool fixture_text(const char *path, const char *text);

/* Path of a fixture in a folder; the folder ends with a slash. */
void fixture_path(char path[FIXTURES_PATH], const char *folder, const char *name, const char *ending);

/* The names, without ending, of all files of the folder with this ending, sorted; how many. */
int fixtures_list(const char *folder, const char *ending, char *names[FIXTURES_MOST]);
void fixtures_free(char *names[], int count);

/* Fails unless all of them hold, and there are `least`; what is wrong with one it prints itself. */
void fixtures_hold(const char *folder, const char *ending, int least,
                   bool (*holds)(const void *context, const char *name), const void *context);

/* Fails, printing which, unless each diagnostic name for which `is_wanted` has a fixture. */
void fixtures_are_there(const char *folder, const char *ending, bool (*is_wanted)(const char *name));

#endif
