/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "files.h"

#include <dirent.h>
#include <errno.h>
#include <setjmp.h>
#include <spawn.h>
#include <stdarg.h>
#include <stdint.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/stat.h>
#include <sys/wait.h>
#include <unistd.h>

#include <cmocka.h>

extern char **environ;

static char *scratch_folder;

/* Reads `file` from its start to its end; NULL when that fails. */
static char *stream_read(FILE *file, size_t *length)
{
    if (fseek(file, 0, SEEK_END) != 0)
        return NULL;
    const long end = ftell(file);
    if (end < 0 || fseek(file, 0, SEEK_SET) != 0)
        return NULL;
    char *bytes = malloc((size_t)end + 1);
    if (!bytes)
        return NULL;
    if (fread(bytes, 1, (size_t)end, file) != (size_t)end) {
        free(bytes);
        return NULL;
    }
    bytes[end] = '\0';
    *length = (size_t)end;
    return bytes;
}

char *file_read(const char *path, size_t *length)
{
    FILE *file = fopen(path, "rb");
    if (!file)
        fail_msg("%s: %s", path, strerror(errno));
    size_t bytes = 0;
    char *result = stream_read(file, &bytes);
    fclose(file);
    if (!result)
        fail_msg("%s cannot be read", path);
    if (length)
        *length = bytes;
    return result;
}

void file_write(const char *path, const void *bytes, size_t length)
{
    FILE *file = fopen(path, "wb");
    if (!file)
        fail_msg("%s: %s", path, strerror(errno));
    const size_t written = length ? fwrite(bytes, 1, length, file) : 0;
    const int closed = fclose(file);
    if (written != length || closed != 0)
        fail_msg("%s cannot be written", path);
}

bool file_exists(const char *path)
{
    struct stat about;
    return lstat(path, &about) == 0;
}

/* "folder/name", to be freed. */
static char *path_join(const char *folder, const char *name)
{
    const size_t room = strlen(folder) + strlen(name) + 2;
    char *path = malloc(room);
    if (!path)
        fail_msg("out of memory");
    snprintf(path, room, "%s/%s", folder, name);
    return path;
}

/* Removes `path` and all below it; symbolic links are removed, not followed. */
static void tree_remove(const char *path)
{
    struct stat about;
    if (lstat(path, &about) != 0)
        return;
    DIR *folder = S_ISDIR(about.st_mode) ? opendir(path) : NULL;
    if (!folder) {
        unlink(path);
        return;
    }
    for (const struct dirent *entry = readdir(folder); entry; entry = readdir(folder)) {
        if (strcmp(entry->d_name, ".") == 0 || strcmp(entry->d_name, "..") == 0)
            continue;
        char *below = path_join(path, entry->d_name);
        tree_remove(below);
        free(below);
    }
    closedir(folder);
    rmdir(path);
}

static pid_t scratch_owner;

static void scratch_remove(void)
{
    if (getpid() == scratch_owner)
        tree_remove(scratch_folder);
    free(scratch_folder);
    scratch_folder = NULL;
}

char *scratch_path(const char *name)
{
    if (!scratch_folder) {
        const char *base = getenv("TMPDIR");
        scratch_folder = path_join(base && *base ? base : "/tmp", "evenfeed-test-XXXXXX");
        if (!mkdtemp(scratch_folder))
            fail_msg("%s: %s", scratch_folder, strerror(errno));
        scratch_owner = getpid();
        atexit(scratch_remove);
    }
    return path_join(scratch_folder, name);
}

/* Starts the program with the three files as its standard streams and returns its exit code; -1 without a
 * start. */
static int command_wait(const char *const *arguments, FILE *in, FILE *out, FILE *err)
{
    posix_spawn_file_actions_t streams;
    if (posix_spawn_file_actions_init(&streams) != 0)
        return -1;
    pid_t child = 0;
    int failed = posix_spawn_file_actions_adddup2(&streams, fileno(in), STDIN_FILENO);
    failed |= posix_spawn_file_actions_adddup2(&streams, fileno(out), STDOUT_FILENO);
    failed |= posix_spawn_file_actions_adddup2(&streams, fileno(err), STDERR_FILENO);
    if (!failed) {
        char *const *argv;
        memcpy(&argv, &arguments, sizeof argv); /* posix_spawnp leaves them alone, its type does not say so */
        failed = posix_spawnp(&child, arguments[0], &streams, NULL, argv, environ);
    }
    posix_spawn_file_actions_destroy(&streams);
    int status = 0;
    if (failed || waitpid(child, &status, 0) != child)
        return -1;
    return WIFEXITED(status) ? WEXITSTATUS(status) : 128 + WTERMSIG(status);
}

command_result command_run(const char *const *arguments, const char *input)
{
    command_result result = {.exit_code = -1};
    FILE *in = tmpfile();
    FILE *out = tmpfile();
    FILE *err = tmpfile();
    if (in && out && err && (!input || fputs(input, in) >= 0) && fflush(in) == 0) {
        rewind(in);
        result.exit_code = command_wait(arguments, in, out, err);
        result.out = stream_read(out, &result.out_length);
        result.err = stream_read(err, &result.err_length);
    }
    if (in)
        fclose(in);
    if (out)
        fclose(out);
    if (err)
        fclose(err);
    if (result.exit_code < 0 || !result.out || !result.err) {
        command_result_free(&result);
        fail_msg("%s could not be run", arguments[0]);
    }
    return result;
}

void command_result_free(command_result *result)
{
    free(result->out);
    free(result->err);
    *result = (command_result){0};
}

const char *program_path(void)
{
    return getenv("EF_PROGRAM");
}
