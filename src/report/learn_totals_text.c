/* SPDX-License-Identifier: GPL-3.0-or-later
 * What scales say, as text. */
#include "report/learn_view.h"

void efi_learn_add_totals(efi_text *out, const ef_learn *learn, ef_units units)
{
    (void)out, (void)learn, (void)units;
}

void efi_learn_add_total_disagreements(efi_text *out, const ef_learn *learn, ef_units units)
{
    (void)out, (void)learn, (void)units;
}
