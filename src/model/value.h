/* SPDX-License-Identifier: GPL-3.0-or-later
 * What every part of the scenario is made of: numbers that may be absent, and where things stand. */
#ifndef EFI_VALUE_H
#define EFI_VALUE_H

#include "base/kind.h"
#include "model/node.h"

/* A number that may be absent; `value` is in the base unit of `of`. */
typedef struct efi_value {
    double value;
    bool given;
    bool bad;    /* the file gives it, but it cannot be used; already reported */
    efi_kind of; /* kind of quantity */
} efi_value;

/* Where a named thing stands: its key and its value in the file. */
typedef struct efi_origin {
    const efi_node *key;
    const efi_node *value;
} efi_origin;

#endif
