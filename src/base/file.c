/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "base/file.h"
#include "base/base.h"
#include "base/memory.h"

#include <errno.h>
#include <fcntl.h>
#include <stdio.h>
#include <string.h>
#include <unistd.h>

enum {
    MOST_TEMPORARY_NAMES = 100
};

/* Opens a new file beside `path`; its name, which the caller frees, to `name`. */
static ef_status beside_open(const char *path, char **name, FILE **file)
{
    const size_t room = strlen(path) + 16;
    char *wanted = efi_new(room, 1);
    if (!wanted)
        return EF_MEMORY;
    int descriptor = -1;
    for (int k = 0; descriptor < 0 && k < MOST_TEMPORARY_NAMES; k++) {
        (void)snprintf(wanted, room, "%s.part%d", path, k);
        descriptor = open(wanted, O_WRONLY | O_CREAT | O_EXCL | O_CLOEXEC, 0666);
        if (descriptor < 0 && errno != EEXIST)
            break;
    }
    *file = descriptor < 0 ? NULL : fdopen(descriptor, "w");
    if (*file) {
        *name = wanted;
        return EF_OK;
    }
    if (descriptor >= 0) {
        (void)close(descriptor);
        (void)unlink(wanted);
    }
    efi_free(wanted);
    return EF_FILE;
}

/* Gives the finished file its name; without `force` only where nothing bears it. 0, or -1 with errno set. */
static int put_in_place(const char *name, const char *path, bool force)
{
    if (force)
        return rename(name, path);
    if (link(name, path) == 0)
        return unlink(name);
    if (errno == EEXIST)
        return -1;
    /* A file system without links. */
    if (access(path, F_OK) == 0) {
        errno = EEXIST;
        return -1;
    }
    return rename(name, path);
}

ef_status efi_file_put(const char *path, const char *bytes, size_t length, bool force)
{
    if (!force && access(path, F_OK) == 0) {
        errno = EEXIST;
        return EF_FILE;
    }
    char *name = NULL;
    FILE *file = NULL;
    EF_TRY(beside_open(path, &name, &file));
    bool is_good = fwrite(bytes, 1, length, file) == length;
    is_good = fclose(file) == 0 && is_good;
    is_good = is_good && put_in_place(name, path, force) == 0;
    if (!is_good) {
        const int reason = errno;
        (void)unlink(name);
        errno = reason;
    }
    efi_free(name);
    return is_good ? EF_OK : EF_FILE;
}
