/* SPDX-License-Identifier: GPL-3.0-or-later
 * What the YAML parser says about a broken file, in the words of the person who typed it. */
#ifndef EFI_YAML_WORDS_H
#define EFI_YAML_WORDS_H

#include <stdbool.h>

/* A syntax error as the parser sees it, and what stands around it. */
typedef struct efi_yaml_fault {
    const char *problem; /* the parser's words; NULL when it has none */
    char at;             /* the byte at the problem; NUL at the end of the file */
    bool first_on_line;  /* only blanks stand before the problem */
    bool second_colon;   /* a colon and a blank stand before it on its line */
    bool far_opening;    /* what the problem belongs to began on an earlier line */
} efi_yaml_fault;

/* The same for people. Texts are valid for ever; NULL where there is nothing to say. */
typedef struct efi_yaml_words {
    const char *message;
    const char *likely;
    const char *second; /* what stands at the other of the two places */
    bool at_opening;    /* the place to mend is where the thing began, not where the parser noticed */
} efi_yaml_words;

/* Words for a fault. Any thread. */
efi_yaml_words efi_yaml_explain(const efi_yaml_fault *fault);

#endif
