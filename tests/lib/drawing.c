/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "drawing.h"

#include <ctype.h>
#include <math.h>
#include <setjmp.h>
#include <stdarg.h>
#include <stdint.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include <cmocka.h>

#define TOUCH 1.0 /* px: boxes may share so much, and stand out of the sheet by so much */
enum {
    MOST_DEPTH = 16
};

/* One opening tag: its name, and its attributes as they stand. */
typedef struct tag {
    const char *name;
    size_t name_length;
    const char *begin, *end; /* between the name and > or /> */
    bool is_closing, is_empty;
} tag;

/* ---- XML ------------------------------------------------------------------------------------------------
 */

static const char *const entities[][2] = {{"&amp;", "&"}, {"&lt;", "<"}, {"&gt;", ">"}, {"&quot;", "\""}};

/* The character of the entity at the start of a text, and how many bytes it takes; fails on an unknown one.
 */
static char entity(const char *text, size_t *bytes, const char *name)
{
    for (size_t i = 0; i < 4; i++) {
        *bytes = strlen(entities[i][0]);
        if (strncmp(text, entities[i][0], *bytes) == 0)
            return entities[i][1][0];
    }
    fail_msg("%s: an unknown entity: %.20s", name, text);
    return ' ';
}

/* Copies text with entities resolved, as much as there is room for. */
static void resolve(const char *from, const char *end, char *to, size_t room, const char *name)
{
    size_t length = 0;
    while (from < end) {
        size_t bytes = 1;
        const char c = *from == '&' ? entity(from, &bytes, name) : *from;
        from += bytes;
        if (length + 1 < room)
            to[length++] = c;
    }
    to[length] = '\0';
}

static tag read_tag(const char **at, const char *name)
{
    const char *c = *at + 1;
    tag t = {.is_closing = *c == '/'};
    c += t.is_closing;
    t.name = c;
    t.name_length = strcspn(c, " />\n");
    if (t.name_length == 0)
        fail_msg("%s: a tag without name: %.30s", name, *at);
    t.begin = c + t.name_length;
    const char *end = t.begin;
    bool quoted = false;
    while (*end && (quoted || *end != '>')) {
        quoted = *end == '"' ? !quoted : quoted;
        if (*end == '<')
            fail_msg("%s: < within a tag: %.30s", name, *at);
        end++;
    }
    if (!*end)
        fail_msg("%s: a tag is not closed: %.30s", name, *at);
    t.is_empty = end[-1] == '/';
    t.end = end - t.is_empty;
    *at = end + 1;
    return t;
}

static bool is_tag(const tag *t, const char *name)
{
    return strlen(name) == t->name_length && strncmp(t->name, name, t->name_length) == 0;
}

/* The value of an attribute, NULL; not longer than DRAWING_WORDS, cut there. */
static bool attribute(const tag *t, const char *key, char *value, size_t room, const char *name)
{
    char wanted[40];
    (void)snprintf(wanted, sizeof wanted, " %s=\"", key);
    const size_t length = strlen(wanted);
    for (const char *c = t->begin; c + length < t->end; c++) {
        if (strncmp(c, wanted, length) != 0)
            continue;
        resolve(c + length, strchr(c + length, '"'), value, room, name);
        return true;
    }
    return false;
}

static double number(const tag *t, const char *key, const char *name)
{
    char value[40];
    char *end;
    if (!attribute(t, key, value, sizeof value, name))
        fail_msg("%s: <%.*s> without %s", name, (int)t->name_length, t->name, key);
    const double found = strtod(value, &end);
    if (end == value || *end || !isfinite(found))
        fail_msg("%s: %s=\"%s\" is no number", name, key, value);
    return found;
}

/* ---- what must hold of any element ----------------------------------------------------------------------
 */

/* Coordinates of a path are finite: nothing but numbers and letters of steps. */
static void check_path(const tag *t, const char *name)
{
    const char *d = NULL;
    for (const char *c = t->begin; c + 4 < t->end && !d; c++)
        d = strncmp(c, " d=\"", 4) == 0 ? c + 4 : NULL;
    if (!d)
        fail_msg("%s: a path without way", name);
    for (const char *c = d; c && *c != '"'; c++)
        if (!strchr("MLHVCQAZlhv0123456789.- ", *c))
            fail_msg("%s: \"%c\" in a path: %.40s", name, *c, d);
    if (d && *d == '"')
        fail_msg("%s: an empty path", name);
}

static void check_tag(const tag *t, const char *name)
{
    static const char *const sizes[] = {"width", "height", "r", "stroke-width"};
    char value[DRAWING_WORDS];
    if (attribute(t, "id", value, sizeof value, name))
        fail_msg("%s: the id \"%s\" could stand twice on a page", name, value);
    if (is_tag(t, "path"))
        check_path(t, name);
    for (size_t i = 0; i < 4; i++)
        if (attribute(t, sizes[i], value, sizeof value, name) && !strchr(value, '%') &&
            !(number(t, sizes[i], name) >= 0.0))
            fail_msg("%s: %s=\"%s\"", name, sizes[i], value);
}

/* ---- words ----------------------------------------------------------------------------------------------
 */

/* Width of a letter over the size, of common sans-serif faces on the wide side; estimated, from memory. */
static double letter(unsigned char c)
{
    if (strchr("ijl.,:;|!'", c))
        return 0.31;
    if (strchr("ftrI()[]-/ ", c))
        return 0.38;
    if (strchr("mwMW%@", c))
        return 0.90;
    return isupper(c) ? 0.69 : 0.62;
}

static double size_of(const char *classes)
{
    static const char *const known[] = {"title", "name", "label", "inside",
                                        "count", "note", "rate",  "legend"};
    static const double sizes[] = {16.0, 13.0, 12.0, 12.0, 12.0, 11.0, 11.0, 11.0};
    for (size_t i = 0; i < 8; i++)
        if (strstr(classes, known[i]))
            return sizes[i];
    fail_msg("words of the unknown class \"%s\"", classes);
    return 0.0;
}

static void place(drawing_text *text, double x, double y, const char *anchor)
{
    const double size = size_of(text->classes);
    const bool bold = strstr(text->classes, "title") || strstr(text->classes, "name") ||
                      strstr(text->classes, "strong");
    double width = 0.0;
    for (const char *c = text->words; *c; c++)
        width += ((unsigned char)*c & 0xc0) == 0x80 ? 0.0 : letter((unsigned char)*c);
    width *= size * (bold ? 1.08 : 1.0);
    text->left = strcmp(anchor, "start") == 0 ? x : strcmp(anchor, "end") == 0 ? x - width : x - 0.5 * width;
    text->right = text->left + width;
    text->top = y - 0.76 * size;
    text->bottom = y + 0.14 * size;
}

static void check_words(const drawing *of, const char *name)
{
    for (int i = 0; i < of->texts; i++) {
        const drawing_text *a = &of->text[i];
        if (a->left < -TOUCH || a->right > of->width + TOUCH || a->top < -TOUCH ||
            a->bottom > of->height + TOUCH)
            fail_msg("%s: \"%s\" leaves the sheet", name, a->words);
        for (int j = 0; j < i; j++) {
            const drawing_text *b = &of->text[j];
            if (a->left + TOUCH < b->right && b->left + TOUCH < a->right && a->top + TOUCH < b->bottom &&
                b->top + TOUCH < a->bottom)
                fail_msg("%s: \"%s\" and \"%s\" overlap at %.0f, %.0f", name, a->words, b->words, a->left,
                         a->top);
        }
    }
}

/* ---- the whole ------------------------------------------------------------------------------------------
 */

typedef struct reader {
    const char *name;
    drawing *of;
    char open[MOST_DEPTH][16];
    int depth;
    int titles, descs; /* children of the root */
    int roots;
    drawing_text *text; /* being read */
    drawing_rect *rect; /* the last one opened and not closed */
} reader;

static void open_text(reader *r, const tag *t)
{
    char anchor[16] = "start";
    r->of->text = realloc(r->of->text, (size_t)(r->of->texts + 1) * sizeof *r->of->text);
    r->text = &r->of->text[r->of->texts++];
    memset(r->text, 0, sizeof *r->text);
    (void)attribute(t, "class", r->text->classes, sizeof r->text->classes, r->name);
    (void)attribute(t, "text-anchor", anchor, sizeof anchor, r->name);
    const char *end = strchr(t->end, '<');
    resolve(strchr(t->end, '>') + 1, end, r->text->words, sizeof r->text->words, r->name);
    if (r->text->words[0] == '\0')
        fail_msg("%s: empty words", r->name);
    place(r->text, number(t, "x", r->name), number(t, "y", r->name), anchor);
}

static void open_rect(reader *r, const tag *t)
{
    char value[40];
    if (attribute(t, "width", value, sizeof value, r->name) && strchr(value, '%'))
        return;
    r->of->rect = realloc(r->of->rect, (size_t)(r->of->rects + 1) * sizeof *r->of->rect);
    r->rect = &r->of->rect[r->of->rects++];
    *r->rect = (drawing_rect){.x = number(t, "x", r->name),
                              .y = number(t, "y", r->name),
                              .width = number(t, "width", r->name),
                              .height = number(t, "height", r->name)};
    (void)attribute(t, "class", r->rect->classes, sizeof r->rect->classes, r->name);
    if (r->rect->x < -TOUCH || r->rect->x + r->rect->width > r->of->width + TOUCH || r->rect->y < -TOUCH ||
        r->rect->y + r->rect->height > r->of->height + TOUCH)
        fail_msg("%s: a rectangle of class \"%s\" leaves the sheet", r->name, r->rect->classes);
    if (t->is_empty)
        r->rect = NULL;
}

static void open_root(reader *r, const tag *t)
{
    char role[16] = "";
    r->roots++;
    (void)attribute(t, "role", role, sizeof role, r->name);
    assert_string_equal(role, "img");
    r->of->width = number(t, "width", r->name);
    r->of->height = number(t, "height", r->name);
    assert_true(r->of->width > 0.0 && r->of->height > 0.0);
}

static void open_tag(reader *r, const tag *t)
{
    check_tag(t, r->name);
    if (is_tag(t, "svg"))
        open_root(r, t);
    else if (is_tag(t, "text"))
        open_text(r, t);
    else if (is_tag(t, "rect"))
        open_rect(r, t);
    else if (is_tag(t, "title") && r->rect)
        resolve(strchr(t->end, '>') + 1, strchr(t->end, '<'), r->rect->title, sizeof r->rect->title, r->name);
    if (r->depth == 1 && is_tag(t, "title")) {
        assert_int_equal(r->of->texts + r->of->rects + r->descs, 0);
        assert_true(strchr(t->end, '<') > strchr(t->end, '>') + 1);
        r->titles++;
    }
    if (r->depth == 1 && is_tag(t, "desc")) {
        assert_true(strchr(t->end, '<') > strchr(t->end, '>') + 1);
        r->descs++;
    }
    if (t->is_empty)
        return;
    assert_true(r->depth < MOST_DEPTH && t->name_length < sizeof r->open[0]);
    memcpy(r->open[r->depth], t->name, t->name_length);
    r->open[r->depth++][t->name_length] = '\0';
}

static void close_tag(reader *r, const tag *t)
{
    if (r->depth == 0 || !is_tag(t, r->open[r->depth - 1]))
        fail_msg("%s: </%.*s> closes nothing", r->name, (int)t->name_length, t->name);
    r->depth--;
    if (is_tag(t, "rect"))
        r->rect = NULL;
}

drawing drawing_read(const char *svg, const char *name)
{
    drawing of = {0};
    reader r = {.name = name, .of = &of};
    const char *at = svg;
    while (*at) {
        if (*at != '<') {
            if (*at == '>' || ((unsigned char)*at < 0x20 && *at != '\n'))
                fail_msg("%s: a stray \"%c\": %.30s", name, *at, at);
            if (r.depth == 0 && !isspace((unsigned char)*at))
                fail_msg("%s: something outside <svg>: %.30s", name, at);
            char word[2];
            if (*at == '&')
                resolve(at, strchr(at, ';') ? strchr(at, ';') + 1 : at + 1, word, sizeof word, name);
            at++;
            continue;
        }
        const tag t = read_tag(&at, name);
        if (t.is_closing)
            close_tag(&r, &t);
        else
            open_tag(&r, &t);
    }
    assert_int_equal(r.depth, 0);
    assert_int_equal(r.roots, 1);
    assert_int_equal(r.titles, 1);
    assert_int_equal(r.descs, 1);
    check_words(&of, name);
    return of;
}

void drawing_free(drawing *of)
{
    free(of->text);
    free(of->rect);
    *of = (drawing){0};
}

int drawing_find_rect(const drawing *of, int from, const char *classes)
{
    for (int i = from; i < of->rects; i++)
        if (strncmp(of->rect[i].classes, classes, strlen(classes)) == 0)
            return i;
    return -1;
}

const drawing_text *drawing_find_text(const drawing *of, const char *words)
{
    for (int i = 0; i < of->texts; i++)
        if (strncmp(of->text[i].words, words, strlen(words)) == 0)
            return &of->text[i];
    return NULL;
}
