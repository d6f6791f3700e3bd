/* SPDX-License-Identifier: GPL-3.0-or-later
 * Answers known from before: what a function of a block of bytes gave, for blocks that come again and again.
 */
#ifndef EFI_RECALL_H
#define EFI_RECALL_H

#include "base/base.h"
#include "base/memory.h"

#include <stdbool.h>
#include <stddef.h>

#define EFI_RECALL_WORD 8

/*
 * A table of `slots` places, each for one question and its answer; a question goes to the place that its
 * bytes hash to and drives out the one that was there. Bytes are compared in full, so what is found is right,
 * and the same as if it had been worked out anew.
 */
typedef struct efi_recall {
    size_t question_words; /* of EFI_RECALL_WORD bytes */
    size_t answer_words;
    size_t slots; /* a power of two */
    bool *is_used;
    unsigned char *question; /* shape [slots, question_words] of words */
    unsigned char *answer;   /* shape [slots, answer_words] of words */
} efi_recall;

/* Takes memory from the arena: as many places as fit into two megabytes. EF_OK or EF_MEMORY. */
ef_status efi_recall_build(efi_recall *recall, size_t question_words, size_t answer_words, efi_arena *arena);

/* The place of a question; true when it holds the answer, which is copied to `answer`. */
bool efi_recall_find(const efi_recall *recall, const void *question, void *answer, size_t *slot);

/* Puts question and answer into a place given by efi_recall_find. */
void efi_recall_keep(efi_recall *recall, size_t slot, const void *question, const void *answer);

#endif
