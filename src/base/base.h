/* SPDX-License-Identifier: GPL-3.0-or-later
 * The few macros every file of the library may use. */
#ifndef EFI_BASE_H
#define EFI_BASE_H

#include <assert.h>
#include <evenfeed/status.h>

/* Number of elements of an array (not of a pointer). */
#define EF_COUNT(array) (sizeof(array) / sizeof((array)[0]))

/* Pass a failure up: for functions that own nothing yet. */
#define EF_TRY(call)                                                                                         \
    do {                                                                                                     \
        const ef_status ef_try_status = (call);                                                              \
        if (ef_try_status != EF_OK)                                                                          \
            return ef_try_status;                                                                            \
    } while (0)

/* A condition believed never to hold: stops a debug build, is still handled in a release build. */
#define EF_NEVER(condition) (efi_never(condition))
static inline int efi_never(int condition)
{
    assert(!condition);
    return condition;
}

#if defined(__GNUC__)
#define EF_PRINTF(format_index, first_argument) __attribute__((format(printf, format_index, first_argument)))
#define EF_FORMAT_ARG(index)                    __attribute__((format_arg(index)))
#else
#define EF_PRINTF(format_index, first_argument)
#define EF_FORMAT_ARG(index)
#endif

#define EF_PI 3.14159265358979323846

#endif
