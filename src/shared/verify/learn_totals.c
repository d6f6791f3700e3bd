/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "shared/verify/learn.h"
ef_status efi_verify_totals(efi_differences *list, const ef_scenario *scenario, const ef_learn *learn)
{
    (void)list, (void)scenario, (void)learn;
    return EF_OK;
}
