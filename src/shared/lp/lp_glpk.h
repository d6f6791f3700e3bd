/* SPDX-License-Identifier: GPL-3.0-or-later
 * The part of this folder's inside that speaks of GLPK's types. */
#ifndef EFI_LP_GLPK_H
#define EFI_LP_GLPK_H

#include "shared/lp/lp_inside.h"

#include <glpk.h>

/* A GLPK problem that holds the whole model, without names; needs the working space of the first load. Only
 * inside efi_glpk_guarded. */
glp_prob *efi_glpk_build(const efi_lp *lp);

#endif
