/* SPDX-License-Identifier: GPL-3.0-or-later
 * What the files of the page share: a page that is being written, and papers, pictures and words on it. */
#ifndef EFI_HTML_H
#define EFI_HTML_H

#include "report/paper.h"

#include <evenfeed/report.h>

/* A page that is being written. */
typedef struct efi_page {
    const ef_report_answers *answers;
    efi_text *out;
    int pictures;       /* so far: each gets ids of its own */
    efi_text style;     /* of the pictures: that of the first, which the others share */
    efi_paper cautions; /* words of all papers that belong at the end, each once */
    int headings;       /* so far, below those of the chapters: each gets an id */
} efi_page;

/* Adds words with & < > " turned into entities. */
void efi_html_words(efi_text *out, const char *words);

/* The same for words that are broken into lines: a number keeps its unit. */
void efi_html_prose(efi_text *out, const char *words);

/* Adds a paper: in each part under a heading the verdicts and warnings first, then all else in its order.
 * `level` is that of the paper's own headings on the page, 2 to 6; the paper's title is left out, and its
 * cautions are kept for the end. */
void efi_html_paper(efi_page *page, const efi_paper *paper, int level);

/* Adds one picture with its words. */
void efi_html_picture(efi_page *page, const char *name, const char *svg);

/* Is it so much higher than wide that words fit beside it? */
bool efi_html_picture_is_tall(const char *svg);

/* A picture's words: what stands in its `element`, "title" or "desc", as they stand there (escaped). */
void efi_html_picture_words(efi_text *out, const char *svg, const char *element);

/* The style sheet and the script of the page. */
extern const char *const efi_html_style[]; /* closed by NULL */
extern const char efi_html_script[];

/* ---- what several answers say together (overview.c) -------------------------------------------------- */

/* All crops and all bins in one look. */
void efi_overview_put(efi_paper *paper, const ef_report_answers *answers);

/* Rates to plan with, and when carts and boxes are full. */
void efi_planning_put(efi_paper *paper, const ef_report_answers *answers);

/* The cautions of every report; those about bins and dust where no answer about bins says more. */
void efi_cautions_put(efi_paper *paper, const ef_report_answers *answers);

#endif
