/* SPDX-License-Identifier: GPL-3.0-or-later
 * Reads pictures back: their elements, their words and where these stand. Knows nothing of how they were
 * drawn. */
#ifndef DRAWING_H
#define DRAWING_H

#include <stdbool.h>
#include <stddef.h>

enum {
    DRAWING_CLASS = 64,
    DRAWING_WORDS = 256
};

/* Words of a <text>, and the box that they take by an estimate of the width of their letters. */
typedef struct drawing_text {
    char classes[DRAWING_CLASS];
    char words[DRAWING_WORDS];
    double left, top, right, bottom;
} drawing_text;

/* A <rect>, with its <title>. */
typedef struct drawing_rect {
    char classes[DRAWING_CLASS];
    char title[DRAWING_WORDS];
    double x, y, width, height;
} drawing_rect;

typedef struct drawing {
    double width, height; /* of the sheet */
    drawing_text *text;
    int texts;
    drawing_rect *rect;
    int rects;
} drawing;

/*
 * Reads a picture and fails the test where it is not well-formed XML with one <svg> as root, role="img" and a
 * <title> and <desc> as its first children; where an id is used, or a number is not finite, or a size
 * negative; where words leave the sheet or overlap other words. `name` says which picture in messages. Free
 * it with drawing_free.
 */
drawing drawing_read(const char *svg, const char *name);
void drawing_free(drawing *of);

/* The first rectangle from number `from` on whose class is, or begins with, `classes`: its number, -1. */
int drawing_find_rect(const drawing *of, int from, const char *classes);

/* The first text whose words begin like that, NULL. */
const drawing_text *drawing_find_text(const drawing *of, const char *words);

#endif
