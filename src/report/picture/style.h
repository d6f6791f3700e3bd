/* SPDX-License-Identifier: GPL-3.0-or-later
 * The style sheet of all pictures. */
#ifndef EFI_STYLE_H
#define EFI_STYLE_H

#include "base/text.h"

/*
 * Adds a <style> element: everything in it is for what stands within class "ef". Each colour is given twice,
 * as it is and by a variable "--ef-...", so that programs that know no variables draw it too. The variables
 * follow a dark screen, and are light on paper; a page may set them itself by a selector that weighs more
 * than ".ef".
 */
void efi_style_add(efi_text *out);

#endif
