/* SPDX-License-Identifier: GPL-3.0-or-later
 * Replays inputs through a fuzzer's entry point without a fuzzing engine: the empty input and each file named
 * on the command line, each in a process of its own with a time limit. Names the inputs that end badly. */
#include <signal.h>
#include <stdint.h>
#include <stdio.h>
#include <stdlib.h>
#include <sys/wait.h>
#include <unistd.h>

enum {
    LIMIT_S = 10,
    LARGEST_INPUT = 1 << 24
};

int LLVMFuzzerTestOneInput(const uint8_t *data, size_t size);

/* One input, in the child; `path` NULL is the empty one. Returns the exit code. */
static int input_run(const char *path)
{
    size_t size = 0;
    uint8_t *data = NULL;
    if (path) {
        FILE *file = fopen(path, "rb");
        data = malloc(LARGEST_INPUT);
        if (file && data)
            size = fread(data, 1, LARGEST_INPUT, file);
        const int unread = !file || !data || ferror(file) || !feof(file);
        if (file)
            fclose(file);
        if (unread) {
            fprintf(stderr, "%s cannot be read\n", path);
            free(data);
            return EXIT_FAILURE;
        }
    }
    /* Exactly as large as the input, so that a read past its end is noticed. */
    uint8_t *exact = realloc(data, size ? size : 1);
    if (!exact) {
        free(data);
        return EXIT_FAILURE;
    }
    alarm(LIMIT_S);
    const int code = LLVMFuzzerTestOneInput(exact, size);
    free(exact);
    return code == 0 ? EXIT_SUCCESS : EXIT_FAILURE;
}

/* Runs one input in a child; returns whether that ended well, and says so if it did not. */
static int input_passes(const char *path)
{
    fflush(NULL);
    const pid_t child = fork();
    if (child == 0)
        exit(input_run(path));
    int status = 0;
    if (child < 0 || waitpid(child, &status, 0) != child)
        return 0;
    if (WIFEXITED(status) && WEXITSTATUS(status) == 0)
        return 1;
    if (WIFSIGNALED(status))
        printf("# %s: ended by signal %d%s\n", path ? path : "the empty input", WTERMSIG(status),
               WTERMSIG(status) == SIGALRM ? ", the time limit" : "");
    else
        printf("# %s: exit code %d\n", path ? path : "the empty input", WEXITSTATUS(status));
    return 0;
}

int main(int argc, char **argv)
{
    int failed = !input_passes(NULL);
    for (int i = 1; i < argc; i++)
        failed += !input_passes(argv[i]);
    printf("%s 1 - %d inputs and the empty one\n", failed ? "not ok" : "ok", argc - 1);
    return failed ? EXIT_FAILURE : EXIT_SUCCESS;
}
