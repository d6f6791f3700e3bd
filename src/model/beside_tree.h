/* SPDX-License-Identifier: GPL-3.0-or-later
 * Changing a tree before it is bound. */
#ifndef EFI_BESIDE_TREE_H
#define EFI_BESIDE_TREE_H

#include "model/beside.h"

/* Adds a pair to a map whose children may be shared with nobody: the array is copied. False without memory.
 */
bool efi_beside_add_pair(efi_binder *b, efi_node *map, efi_node key, efi_node value);

/* The value of a key, to be changed; NULL without. */
efi_node *efi_beside_find_value(efi_node *map, const char *key, size_t length);

/* An empty value may become a map; is the node one now? */
bool efi_beside_become_map(efi_node *node);

#endif
