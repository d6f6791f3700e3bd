/* SPDX-License-Identifier: GPL-3.0-or-later
 * Lists within sentences, in the reader's language: "a", "a and b", "a, b and c"; and sentence after
 * sentence. */
#ifndef EFI_WORDS_LIST_H
#define EFI_WORDS_LIST_H

#include "base/text.h"

/* How the items hang together. */
typedef enum efi_words_joint {
    EFI_JOINT_AND,       /* "a, b and c" */
    EFI_JOINT_OR,        /* "a, b or c" */
    EFI_JOINT_COMMAS,    /* "a, b, c" */
    EFI_JOINT_SEMICOLONS /* "a; b; c" */
} efi_words_joint;

/* Begin with {0}; free it. After a failed allocation it stays failed, and so does what is told of it. */
typedef struct efi_words_list {
    efi_text items; /* each closed by a NUL */
    efi_text words; /* the list as one text, once it was asked for */
    int count;
} efi_words_list;

/* Adds an item, in the reader's language already. The last form takes the words of a text and frees it. */
void efi_words_list_add(efi_words_list *list, const char *item);
void efi_words_list_addf(efi_words_list *list, const char *format, ...) EF_PRINTF(2, 3);
void efi_words_list_take(efi_words_list *list, efi_text *item);

/* The list as one text, "" without items; valid until it is asked for again or freed. */
const char *efi_words_list_get(efi_words_list *list, efi_words_joint joint);

/* Frees the list, which is empty again; one that has failed makes `out` fail. */
void efi_words_list_free(efi_words_list *list, efi_text *out);

/* Adds a sentence, after a blank where words stand before it. */
void efi_words_say(efi_text *out, const char *format, ...) EF_PRINTF(2, 3);

#endif
