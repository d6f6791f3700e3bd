/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "fixtures.h"

#include "files.h"

#include <dirent.h>
#include <evenfeed/diag.h>
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include <cmocka.h>

bool fixture_text(const char *path, const char *text)
{
    const char *golden = getenv("GOLDEN");
    if (golden && strcmp(golden, "write") == 0) {
        file_write(path, text, strlen(text));
        return true;
    }
    char *expected = file_exists(path) ? file_read(path, NULL) : NULL;
    const bool same = expected && strcmp(expected, text) == 0;
    free(expected);
    if (same)
        return true;
    char *found_path = scratch_path("found.txt");
    file_write(found_path, text, strlen(text));
    const char *const arguments[] = {"diff", "-uN", path, found_path, NULL};
    command_result difference = command_run(arguments, NULL);
    print_message("%s", difference.out);
    command_result_free(&difference);
    free(found_path);
    return false;
}

void fixture_path(char path[FIXTURES_PATH], const char *folder, const char *name, const char *ending)
{
    assert_true(snprintf(path, FIXTURES_PATH, "%s%s%s", folder, name, ending) < FIXTURES_PATH);
}

static int by_text(const void *a, const void *b)
{
    return strcmp(*(char *const *)a, *(char *const *)b);
}

int fixtures_list(const char *folder, const char *ending, char *names[FIXTURES_MOST])
{
    int count = 0;
    DIR *open = opendir(folder);
    assert_non_null(open);
    for (const struct dirent *entry = readdir(open); entry; entry = readdir(open)) {
        const size_t length = strlen(entry->d_name);
        if (length <= strlen(ending) || strcmp(entry->d_name + length - strlen(ending), ending) != 0)
            continue;
        assert_true(count < FIXTURES_MOST);
        names[count] = calloc(length + 1, 1);
        assert_non_null(names[count]);
        memcpy(names[count++], entry->d_name, length - strlen(ending));
    }
    (void)closedir(open);
    qsort(names, (size_t)count, sizeof *names, by_text);
    return count;
}

void fixtures_free(char *names[], int count)
{
    for (int i = 0; i < count; i++)
        free(names[i]);
}

void fixtures_hold(const char *folder, const char *ending, int least,
                   bool (*holds)(const void *context, const char *name), const void *context)
{
    char *names[FIXTURES_MOST] = {NULL};
    const int count = fixtures_list(folder, ending, names);
    int failed = 0;
    for (int i = 0; i < count; i++)
        failed += !holds(context, names[i]);
    fixtures_free(names, count);
    assert_true(count >= least);
    assert_int_equal(failed, 0);
}

void fixtures_are_there(const char *folder, const char *ending, bool (*is_wanted)(const char *name))
{
    int missing = 0;
    const char *name;
    for (int i = 0; (name = ef_diag_name(i, NULL, NULL)) != NULL; i++) {
        char path[FIXTURES_PATH];
        fixture_path(path, folder, name, ending);
        if (!is_wanted(name) || file_exists(path))
            continue;
        print_message("%s is missing\n", path);
        missing++;
    }
    assert_int_equal(missing, 0);
}
