/* SPDX-License-Identifier: GPL-3.0-or-later
 * What the checks of flows ask about materials that are turned into others. */
#ifndef EFI_RULES_TURNS_H
#define EFI_RULES_TURNS_H

#include "model/rules.h"

/* Marks the stations (shape [station], cleared) that a material of a crop comes to, from where it is received
 * or made; with what becomes of it, as far as that is wanted. For scenarios that turn something. */
void efi_rule_follow_turned(efi_rules *rules, int crop, int material, bool *reached);

/* Does some station that the material comes to turn it, at least in part? */
bool efi_rule_is_turned(efi_rules *rules, int crop, int material);

/* Looks for a ring in which a received material, or what becomes of it, stays; reports it and returns true
 * when there is one. */
bool efi_rule_turned_loop(efi_rules *rules, int crop, int material);

/* Reports that a material goes round for ever and comes back by this way (rules_way.c). */
void efi_rule_report_loop(efi_rules *rules, int crop, int material, const efi_way *way);

#endif
