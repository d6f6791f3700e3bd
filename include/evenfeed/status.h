/* SPDX-License-Identifier: GPL-3.0-or-later
 * What a library function can come back with, and the words for it. */
#ifndef EVENFEED_STATUS_H
#define EVENFEED_STATUS_H

#ifdef __cplusplus
extern "C" {
#endif

/* name, exit code of the program, words */
#define EF_STATUS_LIST(X)                                                                                    \
    X(EF_OK, 0, "answered")                                                                                  \
    X(EF_NO_ANSWER, 1, "no feasible answer")                                                                 \
    X(EF_USAGE, 2, "the call or the command line is wrong")                                                  \
    X(EF_SCENARIO, 3, "the scenario has errors")                                                             \
    X(EF_FILE, 4, "a file could not be read or written")                                                     \
    X(EF_MEMORY, 4, "out of memory")                                                                         \
    X(EF_INTERNAL, 5, "internal error")                                                                      \
    X(EF_STOPPED, 130, "interrupted")

typedef enum ef_status {
#define EF_STATUS_ENUM(name, code, words) name,
    EF_STATUS_LIST(EF_STATUS_ENUM)
#undef EF_STATUS_ENUM
} ef_status;

/* Words for a status, for people; never NULL. Any thread. */
const char *ef_status_text(ef_status status);

/* The exit code with which the program ends after `status`. Any thread. */
int ef_status_exit_code(ef_status status);

#ifdef __cplusplus
}
#endif
#endif
