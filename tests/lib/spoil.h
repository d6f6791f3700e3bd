/* SPDX-License-Identifier: GPL-3.0-or-later
 * Makes the fields of an answer wrong, one at a time, for tests of what must notice that: a table of fields
 * says where they are and what they hold. */
#ifndef TESTS_SPOIL_H
#define TESTS_SPOIL_H

#include "base/base.h"

#include <stdbool.h>
#include <stddef.h>

typedef enum spoil_kind {
    SPOIL_NUMBER,    /* double */
    SPOIL_STREAM,    /* ef_stream */
    SPOIL_COUNT,     /* int that says how many there are of something in the plant */
    SPOIL_LENGTH,    /* int that says how long an array is */
    SPOIL_FLAG,      /* bool */
    SPOIL_WORDS,     /* const char * */
    SPOIL_PLACE,     /* ef_place */
    SPOIL_OPTION,    /* words that may be absent */
    SPOIL_OTHERWISE, /* left to the test: an array that is walked on its own, say */
    SPOIL_NEVER      /* nothing to compare with: how a search went */
} spoil_kind;

typedef struct spoil_field {
    const char *name;
    size_t offset;
    size_t bytes;
    spoil_kind kind;
} spoil_field;

#define SPOIL_FIELD(type, member, kind)                                                                      \
    {                                                                                                        \
#type "." #member, offsetof(type, member), sizeof(((type *)0)->member), SPOIL_##kind                 \
    }

/* Who looks at the answer, and how many wrong ones there were. */
typedef struct spoil_bench {
    bool (*is_noticed)(const void *context);
    const void *context;
    int materials; /* of a stream */
    int tried;
    int missed; /* each is printed */
} spoil_bench;

/* Makes each field of a struct wrong in every way of its kind; it is as it was afterwards. */
void spoil(spoil_bench *bench, const spoil_field *fields, size_t count, void *item);

/* The same of each item of an array. */
#define SPOIL_EACH(bench, fields, array, count)                                                              \
    do {                                                                                                     \
        for (int item = 0; item < (count); item++)                                                           \
            spoil((bench), (fields), EF_COUNT(fields), (void *)(uintptr_t) & (array)[item]);                 \
    } while (0)

/* Fails the running test unless every field of a struct of so many bytes is in its table: between fields
 * there may only be the gap that the next one needs. */
void spoil_check_table(const spoil_field *fields, size_t count, size_t bytes);

/* A copy that may be written, freed with free; SPOIL_OWN puts one in the place of an array. */
void *spoil_copy(const void *items, int count, size_t bytes);
#define SPOIL_OWN(pointer, count) ((pointer) = spoil_copy((pointer), (count), sizeof *(pointer)))
#define SPOIL_DISOWN(pointer)     free((void *)(uintptr_t)(pointer))

#endif
