/* SPDX-License-Identifier: GPL-3.0-or-later
 * Writing a file or a folder of results: all of it or nothing. */
#include "base/file.h"
#include "base/memory.h"
#include "base/text.h"
#include "cli/cli.h"

#include <dirent.h>
#include <errno.h>
#include <evenfeed/report.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/stat.h>
#include <unistd.h>

enum {
    MOST_TABLES = 16 /* of an answer */
};

int cli_write_file(const char *path, const char *text, bool force)
{
    const ef_status status = efi_file_put(path, text, strlen(text), force);
    if (status == EF_FILE && errno == EEXIST) {
        fprintf(stderr, "evenfeed: %s is there already; --force replaces it\n", path);
        return ef_status_exit_code(EF_FILE);
    }
    return status == EF_OK ? 0 : cli_fail(status, path);
}

static ef_status write_text(const char *path, const char *text)
{
    FILE *stream = fopen(path, "wb");
    const size_t length = strlen(text);
    bool good = stream && fwrite(text, 1, length, stream) == length;
    good = stream && fclose(stream) == 0 && good;
    return good ? EF_OK : EF_FILE;
}

static int write_file(const char *folder, const cli_file *file)
{
    efi_text path = {0};
    efi_text_addf(&path, "%s/%s", folder, file->name);
    ef_status status = path.failed ? EF_MEMORY : EF_OK;
    if (status == EF_OK)
        status = file->text ? write_text(efi_text_get(&path), file->text)
                            : file->write(file->context, efi_text_get(&path));
    const int code = status == EF_OK ? 0 : cli_fail(status, efi_text_get(&path));
    efi_text_free(&path);
    return code;
}

/* Removes a folder that we made: it holds files only. */
static bool remove_folder(const char *path)
{
    DIR *folder = opendir(path);
    if (!folder)
        return errno == ENOENT;
    bool good = true;
    for (const struct dirent *entry = readdir(folder); entry; entry = readdir(folder)) {
        if (strcmp(entry->d_name, ".") == 0 || strcmp(entry->d_name, "..") == 0)
            continue;
        good = unlinkat(dirfd(folder), entry->d_name, 0) == 0 && good;
    }
    (void)closedir(folder);
    return rmdir(path) == 0 && good;
}

/* ---- a folder that is there already ---------------------------------------------------------------------
 */

/* Where a file lies while a folder is being changed: ready, in its place, or its forerunner kept aside. */
typedef struct spot {
    efi_text ready;
    efi_text place;
    efi_text aside;
    bool is_placed, is_kept;
} spot;

static bool find_spot(spot *s, const char *folder, const char *beside, const char *name)
{
    efi_text_addf(&s->ready, "%s/%s", beside, name);
    efi_text_addf(&s->place, "%s/%s", folder, name);
    efi_text_addf(&s->aside, "%s/old-%s", beside, name);
    return !s->ready.failed && !s->place.failed && !s->aside.failed;
}

/* Puts one file in its place; with `force` one that is there goes aside. */
static int place(spot *s, bool force)
{
    const char *path = efi_text_get(&s->place);
    struct stat found;
    const bool is_there = lstat(path, &found) == 0;
    if (is_there && !force) {
        fprintf(stderr, "evenfeed: %s is there already; --force replaces it\n", path);
        return ef_status_exit_code(EF_FILE);
    }
    if (is_there && !S_ISREG(found.st_mode)) {
        fprintf(stderr, "evenfeed: %s is there already and is no plain file; remove it first\n", path);
        return ef_status_exit_code(EF_FILE);
    }
    if (is_there && rename(path, efi_text_get(&s->aside)) != 0)
        return cli_fail(EF_FILE, path);
    s->is_kept = is_there;
    if (rename(efi_text_get(&s->ready), path) != 0)
        return cli_fail(EF_FILE, path);
    s->is_placed = true;
    return 0;
}

/* As it was. */
static void take_back(const spot *s)
{
    if (s->is_placed)
        (void)unlink(efi_text_get(&s->place));
    if (s->is_kept)
        (void)rename(efi_text_get(&s->aside), efi_text_get(&s->place));
}

/* Moves the finished files into the folder that is there, or none of them; others in it stay. */
static int move_into_folder(const char *beside, const char *path, const cli_file *files, int count,
                            bool force)
{
    spot *spots = efi_new((size_t)count, sizeof *spots);
    int code = spots ? 0 : cli_fail(EF_MEMORY, NULL);
    int done = 0;
    for (; code == 0 && done < count; done++)
        code = find_spot(&spots[done], path, beside, files[done].name) ? place(&spots[done], force)
                                                                       : cli_fail(EF_MEMORY, NULL);
    for (int i = 0; i < done; i++) {
        if (code != 0)
            take_back(&spots[i]);
        efi_text_free(&spots[i].ready);
        efi_text_free(&spots[i].place);
        efi_text_free(&spots[i].aside);
    }
    efi_free(spots);
    (void)remove_folder(beside);
    return code;
}

/* ---- the whole ------------------------------------------------------------------------------------------
 */

int cli_write_folder(const char *path, const cli_file *files, int count, bool force)
{
    struct stat found;
    efi_text beside = {0};
    size_t length = strlen(path);
    while (length > 1 && path[length - 1] == '/')
        length--;
    const bool is_there = stat(path, &found) == 0 && S_ISDIR(found.st_mode);
    efi_text_addf(&beside, is_there ? "%.*s/.new-XXXXXX" : "%.*s.new-XXXXXX", (int)length, path);
    if (beside.failed || !mkdtemp(beside.bytes) || chmod(beside.bytes, 0755) != 0) {
        const int code = cli_fail(beside.failed ? EF_MEMORY : EF_FILE, path);
        efi_text_free(&beside);
        return code;
    }
    int code = 0;
    for (int i = 0; i < count && code == 0; i++)
        code = write_file(beside.bytes, &files[i]);
    if (code == 0 && is_there)
        code = move_into_folder(beside.bytes, path, files, count, force);
    else if (code == 0 && rename(beside.bytes, path) != 0)
        code = cli_fail(EF_FILE, path);
    if (code != 0)
        (void)remove_folder(beside.bytes);
    efi_text_free(&beside);
    return code;
}

/* ---- tables ---------------------------------------------------------------------------------------------
 */

int cli_check_comma(const cli_call *call, bool writes_tables)
{
    if (cli_value(call, "decimal-comma") && !writes_tables)
        return cli_usage(call->command, "--decimal-comma is about tables, so it goes with --csv");
    return 0;
}

ef_status cli_table(const cli_call *call, ef_status made, char **table)
{
    if (made != EF_OK || !cli_value(call, "decimal-comma"))
        return made;
    char *with_comma = NULL;
    const ef_status status = ef_report_csv_with_comma(*table, &with_comma);
    ef_report_free(*table);
    *table = with_comma;
    return status;
}

int cli_write_tables(const cli_call *call, cli_table_name *name, cli_table_maker *make, const void *answer)
{
    cli_file files[MOST_TABLES] = {{.name = NULL}};
    char *text[MOST_TABLES] = {NULL};
    int count = 0;
    ef_status status = EF_OK;
    for (; status == EF_OK && count < MOST_TABLES && name(count); count++) {
        status = cli_table(call, make(answer, count, &text[count]), &text[count]);
        files[count] = (cli_file){.name = name(count), .text = text[count]};
    }
    int code = status == EF_OK ? 0 : cli_fail(status, NULL);
    if (code == 0)
        code = cli_write_folder(cli_value(call, "csv"), files, count, cli_value(call, "force") != NULL);
    for (int i = 0; i < count; i++)
        ef_report_free(text[i]);
    return code;
}
