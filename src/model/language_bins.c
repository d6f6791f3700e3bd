/* SPDX-License-Identifier: GPL-3.0-or-later
 * The part of the language that says what may be chosen about the volume of a bin. */
#include "model/language_table.h"

static const efi_field size_fields[] = {
    {QUANTITY("volume", OF(VOLUME), efi_bin_size, volume_m3, POSITIVE), .required = true,
     .meaning = "Live volume of a bin of this size.", .example = "4 m3"},
    {QUANTITY("cost", OF(MONEY), efi_bin_size, cost, NOT_NEGATIVE),
     .fallback = "what `cost` and `fixed cost` of the bin make of its volume",
     .meaning = "What a bin of this size costs, set up.", .example = "5200 EUR"},
    NOTE(efi_bin_size, "from the price list"),
};
static const efi_block size_block = {
    .title = "sizes",
    .intro = "Standard sizes of one bin, by name; one of them is taken, or none.",
    FIELDS(size_fields),
    .size = sizeof(efi_bin_size),
    .names = EFI_NAMES_NONE,
    .most = 50};

static const efi_field choice_fields[] = {
    {.key = "keep",
     .type = EFI_FIELD_FLAG,
     .slot = SLOT(efi_bin_choice, keep),
     .fallback = "no",
     .meaning = "Does the bin stay as it is?",
     .example = "yes"},
    {QUANTITY("cost", OF(MONEY_PER_VOLUME), efi_bin_choice, cost, NOT_NEGATIVE),
     .meaning = "What each unit of live volume costs. Where no bin says, the least volume in all is sought.",
     .example = "900 EUR/m3"},
    {QUANTITY("fixed cost", OF(MONEY), efi_bin_choice, fixed_cost, NOT_NEGATIVE), .fallback = "nothing",
     .meaning = "What having the bin costs, however small.", .example = "3000 EUR"},
    {QUANTITY("least", OF(VOLUME), efi_bin_choice, least_m3, NOT_NEGATIVE), .fallback = "0 m3",
     .meaning = "The least live volume it may have.", .example = "1 m3"},
    {QUANTITY("most", OF(VOLUME), efi_bin_choice, most_m3, POSITIVE), .fallback = "what passes in a day",
     .meaning = "The most live volume there is room for.", .example = "12 m3"},
    {.key = "sizes",
     .type = EFI_FIELD_NAMED,
     .block = &size_block,
     .slot = SLOT(efi_bin_choice, sizes.items),
     .count_slot = SLOT(efi_bin_choice, sizes.count),
     .fallback = "any volume",
     .meaning = "The standard sizes to choose from."},
};

const efi_block efi_language_bin_choice = {
    .title = "sizing",
    .intro = "What may be chosen about the live volume of one bin when bins are sized.",
    FIELDS(choice_fields),
    .size = sizeof(efi_bin_choice),
    .names = EFI_NAMES_NONE};
