/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "base/locale.h"

ef_status efi_locale_enter(efi_locale *locale)
{
    locale->before = (locale_t)0;
    /* All categories: newlocale without a base fills the others from "C" anyway, and glibc then gives out a
     * constant object instead of allocating one. */
    locale->own = newlocale(LC_ALL_MASK, "C", (locale_t)0);
    if (!locale->own)
        return EF_MEMORY;
    locale->before = uselocale(locale->own);
    return EF_OK;
}

void efi_locale_leave(efi_locale *locale)
{
    if (!locale->own)
        return;
    (void)uselocale(locale->before);
    freelocale(locale->own);
    locale->own = (locale_t)0;
}
