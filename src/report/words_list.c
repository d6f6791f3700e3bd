/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "report/words_list.h"

#include "base/tongue.h"

#include <string.h>

void efi_words_list_add(efi_words_list *list, const char *item)
{
    efi_text_add_bytes(&list->items, item, strlen(item) + 1);
    list->count++;
}

void efi_words_list_addf(efi_words_list *list, const char *format, ...)
{
    efi_text item = {0};
    va_list arguments;
    va_start(arguments, format);
    efi_text_addfv(&item, format, arguments);
    va_end(arguments);
    efi_words_list_take(list, &item);
}

void efi_words_list_take(efi_words_list *list, efi_text *item)
{
    list->items.failed = list->items.failed || item->failed;
    efi_words_list_add(list, efi_text_get(item));
    efi_text_free(item);
}

/* Adds what came before and one item more. */
static void join(efi_text *out, efi_words_joint joint, const char *before, const char *item)
{
    switch (joint) {
    case EFI_JOINT_AND:
        efi_text_addf(out, efi_tr("%s and %s"), before, item);
        break;
    case EFI_JOINT_OR:
        efi_text_addf(out, efi_tr("%s or %s"), before, item);
        break;
    case EFI_JOINT_COMMAS:
        efi_text_addf(out, efi_tr("%s, %s"), before, item);
        break;
    case EFI_JOINT_SEMICOLONS:
        efi_text_addf(out, efi_tr("%s; %s"), before, item);
        break;
    }
}

const char *efi_words_list_get(efi_words_list *list, efi_words_joint joint)
{
    const bool and_or = joint == EFI_JOINT_AND || joint == EFI_JOINT_OR;
    const char *item = efi_text_get(&list->items);
    efi_text_free(&list->words);
    list->words.failed = list->items.failed;
    for (int i = 0; i < list->count && !list->words.failed; i++) {
        efi_text longer = {0};
        if (i == 0)
            efi_text_add(&longer, item);
        else
            join(&longer, and_or && i + 1 < list->count ? EFI_JOINT_COMMAS : joint,
                 efi_text_get(&list->words), item);
        efi_text_free(&list->words);
        list->words = longer;
        item += strlen(item) + 1;
    }
    return efi_text_get(&list->words);
}

void efi_words_list_free(efi_words_list *list, efi_text *out)
{
    out->failed = out->failed || list->items.failed || list->words.failed;
    efi_text_free(&list->items);
    efi_text_free(&list->words);
    list->count = 0;
}

void efi_words_say(efi_text *out, const char *format, ...)
{
    va_list arguments;
    if (out->length > 0)
        efi_text_add(out, " ");
    va_start(arguments, format);
    efi_text_addfv(out, format, arguments);
    va_end(arguments);
}
