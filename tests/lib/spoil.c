/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "spoil.h"

#include <evenfeed/balance.h>
#include <math.h>
#include <setjmp.h>
#include <stdarg.h>
#include <stdint.h>
#include <stdlib.h>
#include <string.h>

#include <cmocka.h>

void *spoil_copy(const void *items, int count, size_t bytes)
{
    void *copy = malloc((size_t)count * bytes + 1);
    assert_non_null(copy);
    if (count > 0)
        memcpy(copy, items, (size_t)count * bytes);
    return copy;
}

static void expect_noticed(spoil_bench *b, const spoil_field *of, const char *how)
{
    b->tried++;
    if (b->is_noticed(b->context))
        return;
    print_error("%s made wrong (%s) was not noticed\n", of->name, how);
    b->missed++;
}

static void spoil_number(spoil_bench *b, const spoil_field *of, double *number)
{
    const double right = *number;
    *number = right + 1e-5 * fmax(1.0, fabs(right));
    expect_noticed(b, of, "a little more");
    *number = -1.0 - right;
    expect_noticed(b, of, "negative");
    *number = NAN;
    expect_noticed(b, of, "not a number");
    *number = right;
}

static void spoil_stream(spoil_bench *b, const spoil_field *of, ef_stream *stream)
{
    spoil_number(b, of, &stream->total_tph);
    const double *right = stream->material_tph;
    double *wrong = spoil_copy(right, b->materials, sizeof *wrong);
    stream->material_tph = wrong;
    for (int m = 0; m < b->materials; m++)
        spoil_number(b, of, &wrong[m]);
    stream->material_tph = right;
    free(wrong);
}

static void spoil_place(spoil_bench *b, const spoil_field *of, ef_place *place)
{
    const ef_place right = *place;
    place->line++;
    expect_noticed(b, of, "next line");
    *place = right;
    place->column++;
    expect_noticed(b, of, "next column");
    *place = right;
    place->end_column++;
    expect_noticed(b, of, "a column longer");
    *place = right;
    place->file = "nowhere";
    expect_noticed(b, of, "another file");
    *place = right;
}

static void spoil_words(spoil_bench *b, const spoil_field *of, const char **words)
{
    const char *right = *words;
    *words = "nobody";
    expect_noticed(b, of, "another name");
    *words = right;
}

static void spoil_option(spoil_bench *b, const spoil_field *of, const char **words)
{
    const char *right = *words;
    *words = "nobody";
    expect_noticed(b, of, "another name");
    *words = NULL;
    if (right)
        expect_noticed(b, of, "no name");
    *words = right;
}

static void spoil_integer(spoil_bench *b, const spoil_field *of, int *number)
{
    const int right = *number;
    if (of->kind == SPOIL_COUNT) {
        *number = right + 1;
        expect_noticed(b, of, "one more");
        *number = right;
    }
    if (right > 0) {
        *number = right - 1;
        expect_noticed(b, of, "one less");
        *number = right;
    }
}

static void spoil_flag(spoil_bench *b, const spoil_field *of, bool *flag)
{
    *flag = !*flag;
    expect_noticed(b, of, "turned round");
    *flag = !*flag;
}

void spoil(spoil_bench *b, const spoil_field *fields, size_t count, void *item)
{
    for (size_t f = 0; f < count; f++) {
        void *at = (char *)item + fields[f].offset;
        switch (fields[f].kind) {
        case SPOIL_NUMBER:
            spoil_number(b, &fields[f], at);
            break;
        case SPOIL_STREAM:
            spoil_stream(b, &fields[f], at);
            break;
        case SPOIL_COUNT:
        case SPOIL_LENGTH:
            spoil_integer(b, &fields[f], at);
            break;
        case SPOIL_FLAG:
            spoil_flag(b, &fields[f], at);
            break;
        case SPOIL_WORDS:
            spoil_words(b, &fields[f], at);
            break;
        case SPOIL_PLACE:
            spoil_place(b, &fields[f], at);
            break;
        case SPOIL_OPTION:
            spoil_option(b, &fields[f], at);
            break;
        case SPOIL_NEVER:
        case SPOIL_OTHERWISE:
            break;
        }
    }
}

void spoil_check_table(const spoil_field *fields, size_t count, size_t bytes)
{
    size_t end = 0;
    for (size_t f = 0; f < count; f++) {
        assert_true(fields[f].offset >= end);
        assert_true(fields[f].offset - end < 8);
        end = fields[f].offset + fields[f].bytes;
    }
    assert_true(bytes - end < 8);
}
