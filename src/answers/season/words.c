/* SPDX-License-Identifier: GPL-3.0-or-later
 * The words for the terms of the cost. */
#include "base/base.h"

#include <evenfeed/season.h>

static const struct {
    const char *word;
    const char *meaning;
} terms[] = {
#define TERM(name, word, meaning) [name] = {word, meaning},
    EF_SEASON_TERM_LIST(TERM)
#undef TERM
};

const char *ef_season_term_word(ef_season_term term)
{
    return terms[term].word;
}

const char *ef_season_term_meaning(ef_season_term term)
{
    return terms[term].meaning;
}
