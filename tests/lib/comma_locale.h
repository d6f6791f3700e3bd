/* SPDX-License-Identifier: GPL-3.0-or-later
 * A locale in which a decimal comma is printed, for tests that show that it changes nothing. */
#ifndef TESTS_COMMA_LOCALE_H
#define TESTS_COMMA_LOCALE_H

#include <stdbool.h>

/*
 * Puts the process under a locale with a decimal comma: one that is installed, or one made for this run.
 * False when there is no such locale and none can be made.
 */
bool comma_locale_begin(void);

/* Back to the "C" locale. */
void comma_locale_end(void);

#endif
