/* SPDX-License-Identifier: GPL-3.0-or-later
 * Writing a file or a folder of results: all of it or nothing. */
#include "base/file.h"
#include "base/text.h"
#include "cli/cli.h"

#include <dirent.h>
#include <errno.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/stat.h>
#include <unistd.h>

int cli_write_file(const char *path, const char *text, bool force)
{
    const ef_status status = efi_file_put(path, text, strlen(text), force);
    if (status == EF_FILE && errno == EEXIST) {
        fprintf(stderr, "evenfeed: %s is there already; --force replaces it\n", path);
        return ef_status_exit_code(EF_FILE);
    }
    return status == EF_OK ? 0 : cli_fail(status, path);
}

static int write_file(const char *folder, const cli_file *file)
{
    efi_text path = {0};
    efi_text_addf(&path, "%s/%s", folder, file->name);
    FILE *stream = path.failed ? NULL : fopen(efi_text_get(&path), "wb");
    const size_t length = strlen(file->text);
    bool good = stream && fwrite(file->text, 1, length, stream) == length;
    good = stream && fclose(stream) == 0 && good;
    const int code = good ? 0 : cli_fail(EF_FILE, efi_text_get(&path));
    efi_text_free(&path);
    return code;
}

/* Removes a folder that holds files only. */
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

/* Puts the finished folder in its place; with `force` the old one goes first. */
static int move_into_place(const char *beside, const char *path, bool force)
{
    struct stat found;
    if (stat(path, &found) == 0) {
        if (!force) {
            fprintf(stderr, "evenfeed: %s is there already; --force replaces it\n", path);
            return ef_status_exit_code(EF_FILE);
        }
        if (!S_ISDIR(found.st_mode) || !remove_folder(path))
            return cli_fail(EF_FILE, path);
    }
    return rename(beside, path) == 0 ? 0 : cli_fail(EF_FILE, path);
}

int cli_write_folder(const char *path, const cli_file *files, int count, bool force)
{
    efi_text beside = {0};
    size_t length = strlen(path);
    while (length > 1 && path[length - 1] == '/')
        length--;
    efi_text_addf(&beside, "%.*s.new-XXXXXX", (int)length, path);
    if (beside.failed || !mkdtemp(beside.bytes) || chmod(beside.bytes, 0755) != 0) {
        const int code = cli_fail(beside.failed ? EF_MEMORY : EF_FILE, path);
        efi_text_free(&beside);
        return code;
    }
    int code = 0;
    for (int i = 0; i < count && code == 0; i++)
        code = write_file(beside.bytes, &files[i]);
    if (code == 0)
        code = move_into_place(beside.bytes, path, force);
    if (code != 0)
        (void)remove_folder(beside.bytes);
    efi_text_free(&beside);
    return code;
}
