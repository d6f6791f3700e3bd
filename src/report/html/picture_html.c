/* SPDX-License-Identifier: GPL-3.0-or-later
 * A picture inside a page: ids of its own, one style sheet for all, its words below it. */
#include "report/html/html.h"

#include <string.h>

static bool begins(const char *text, const char *with)
{
    return strncmp(text, with, strlen(with)) == 0;
}

void efi_html_picture_words(efi_text *out, const char *svg, const char *element)
{
    efi_text tag = {0};
    efi_text_addf(&tag, "<%s>", element);
    const char *from = tag.failed ? NULL : strstr(svg, efi_text_get(&tag));
    from = from ? from + tag.length : NULL;
    const char *to = from ? strchr(from, '<') : NULL;
    if (to)
        efi_text_add_bytes(out, from, (size_t)(to - from));
    out->failed = out->failed || tag.failed;
    efi_text_free(&tag);
}

/* A length in the head of a picture; 0 when it is not there. */
static double length_of(const char *svg, const char *attribute)
{
    const char *at = strstr(svg, attribute);
    const char *end = strchr(svg, '>');
    if (!at || !end || at > end)
        return 0.0;
    return efi_number_parse(at + strlen(attribute), strcspn(at + strlen(attribute), "\"")).value;
}

/* A picture higher than this, px, goes on from sheet to sheet on paper: on one it could not be read. */
#define LONG_HEIGHT 1900.0

bool efi_html_picture_is_tall(const char *svg)
{
    return length_of(svg, " height=\"") > 1.5 * length_of(svg, " width=\"");
}

/* Adds the style sheet in a picture, unless it is that of the pictures before. */
static void add_style(efi_page *page, const char *style, size_t length)
{
    const bool same = page->style.length == length && memcmp(page->style.bytes, style, length) == 0;
    if (same)
        return;
    page->style.length = 0;
    efi_text_add_bytes(&page->style, style, length);
    efi_text_add_bytes(page->out, style, length);
}

/* Ways in which the text of a picture speaks of ids; what follows is the id. */
static const char *const id_marks[] = {" id=\"", "url(#", "href=\"#"};

/* At a mark: adds it and the page's own beginning of the id. Returns its length, 0 elsewhere. */
static size_t add_mark(efi_page *page, const char *at)
{
    for (size_t i = 0; i < EF_COUNT(id_marks); i++) {
        if (begins(at, id_marks[i])) {
            efi_text_addf(page->out, "%sp%d-", id_marks[i], page->pictures);
            return strlen(id_marks[i]);
        }
    }
    return 0;
}

/* Title and description of the picture itself get ids, so that readers of the page are told both. */
static size_t add_told(efi_page *page, const char *at, bool *title, bool *description)
{
    if (!*title && begins(at, "<title>")) {
        *title = true;
        efi_text_addf(page->out, "<title id=\"p%d-title\">", page->pictures);
        return strlen("<title>");
    }
    if (!*description && begins(at, "<desc>")) {
        *description = true;
        efi_text_addf(page->out, "<desc id=\"p%d-desc\">", page->pictures);
        return strlen("<desc>");
    }
    return 0;
}

static void add_svg(efi_page *page, const char *svg)
{
    bool title = false;
    bool description = false;
    if (begins(svg, "<svg ")) {
        efi_text_addf(page->out, "<svg aria-labelledby=\"p%d-title\" aria-describedby=\"p%d-desc\" ",
                      page->pictures, page->pictures);
        svg += strlen("<svg ");
    }
    while (*svg) {
        const char *style_end = begins(svg, "<style>") ? strstr(svg, "</style>") : NULL;
        size_t used = 0;
        if (style_end) {
            used = (size_t)(style_end - svg) + strlen("</style>");
            add_style(page, svg, used);
        } else if (*svg == '<' || *svg == ' ' || *svg == 'u' || *svg == 'h') {
            used = add_told(page, svg, &title, &description);
            used = used > 0 ? used : add_mark(page, svg);
        }
        if (used == 0) {
            used = 1 + strcspn(svg + 1, "< uh");
            efi_text_add_bytes(page->out, svg, used);
        }
        svg += used;
    }
}

void efi_html_picture(efi_page *page, const char *name, const char *svg)
{
    page->pictures++;
    efi_text_addf(page->out,
                  "<figure id=\"picture-%d\" data-name=\"%s\"%s><div class=\"drawing\" role=\"group\" "
                  "tabindex=\"0\" aria-labelledby=\"p%d-title\">\n",
                  page->pictures, name, length_of(svg, " height=\"") > LONG_HEIGHT ? " class=\"long\"" : "",
                  page->pictures);
    add_svg(page, svg);
    efi_text_add(page->out, "</div><figcaption>");
    efi_html_picture_words(page->out, svg, "desc");
    efi_text_add(page->out, "</figcaption></figure>\n");
    page->out->failed = page->out->failed || page->style.failed;
}
