/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "shared/engine/recall.h"

#include <stdint.h>
#include <string.h>

enum {
    MOST_SLOTS = 512,
    LEAST_SLOTS = 16,
    MOST_WORDS = 1 << 18
};

ef_status efi_recall_build(efi_recall *recall, size_t question_words, size_t answer_words, efi_arena *arena)
{
    *recall = (efi_recall){
        .question_words = question_words, .answer_words = answer_words, .slots = MOST_SLOTS};
    while (recall->slots > LEAST_SLOTS && recall->slots * (question_words + answer_words) > MOST_WORDS)
        recall->slots /= 2;
    recall->is_used = efi_arena_get(arena, recall->slots, sizeof *recall->is_used);
    recall->question = efi_arena_get(arena, recall->slots * question_words, EFI_RECALL_WORD);
    recall->answer = efi_arena_get(arena, recall->slots * answer_words, EFI_RECALL_WORD);
    return recall->is_used && recall->question && recall->answer ? EF_OK : EF_MEMORY;
}

static uint64_t stir(uint64_t hash, uint64_t word)
{
    hash = (hash ^ word) * UINT64_C(0x9e3779b97f4a7c15);
    return hash ^ hash >> 32;
}

static uint64_t word_at(const unsigned char *bytes, size_t k)
{
    uint64_t word;
    memcpy(&word, bytes + k * EFI_RECALL_WORD, sizeof word);
    return word;
}

/* Four strands, which a processor works on side by side. */
static uint64_t hash_of(const unsigned char *bytes, size_t words)
{
    uint64_t strand[4] = {1, 2, 3, 4};
    size_t k = 0;
    for (; k + 4 <= words; k += 4)
        for (size_t s = 0; s < 4; s++)
            strand[s] = stir(strand[s], word_at(bytes, k + s));
    for (; k < words; k++)
        strand[0] = stir(strand[0], word_at(bytes, k));
    return stir(stir(stir(strand[0], strand[1]), strand[2]), strand[3]);
}

bool efi_recall_find(const efi_recall *recall, const void *question, void *answer, size_t *slot)
{
    const size_t question_bytes = recall->question_words * EFI_RECALL_WORD;
    const size_t answer_bytes = recall->answer_words * EFI_RECALL_WORD;
    *slot = (size_t)(hash_of(question, recall->question_words) & (recall->slots - 1));
    if (!recall->is_used[*slot] ||
        memcmp(recall->question + *slot * question_bytes, question, question_bytes) != 0)
        return false;
    memcpy(answer, recall->answer + *slot * answer_bytes, answer_bytes);
    return true;
}

void efi_recall_keep(efi_recall *recall, size_t slot, const void *question, const void *answer)
{
    const size_t question_bytes = recall->question_words * EFI_RECALL_WORD;
    const size_t answer_bytes = recall->answer_words * EFI_RECALL_WORD;
    memcpy(recall->question + slot * question_bytes, question, question_bytes);
    memcpy(recall->answer + slot * answer_bytes, answer, answer_bytes);
    recall->is_used[slot] = true;
}
