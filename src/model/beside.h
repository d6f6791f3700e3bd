/* SPDX-License-Identifier: GPL-3.0-or-later
 * What is added to a tree before it is bound: tables kept beside the scenario, and values set on the command
 * line. */
#ifndef EFI_BESIDE_H
#define EFI_BESIDE_H

#include "model/bind.h"

/*
 * Merges tables into the tree. Wherever a block has the key `file`, the table of that name is read, relative
 * to `directory` (NULL: the scenario did not come from a file, so there are no files beside it), and the key
 * is replaced by what it holds:
 *
 *   two columns       each row is a key and its value
 *   more columns      each row is a key and a block; the heading of a column is the key inside it, with dots
 * for blocks in blocks ("capacity.wheat"); empty cells are left out
 *
 * Where the rows of a block are numbered (language.h), the first column is one as the others, and a row is
 * called by its number in the file: "row 2" is the one below the headings.
 *
 * A name that ends in .yaml or .yml is a file of the language instead, whose keys are added to the block,
 * blocks in blocks too; what the block says itself goes before. Names in that file are relative to it.
 *
 * A heading may end in a unit in brackets, "capacity [t/h]", which then goes with bare numbers below it. A
 * row whose key the block has already adds to that one. Findings carry file, row and column of the table.
 */
void efi_beside_read(efi_binder *b, const char *directory);

/*
 * Sets a value: `setting` is "path=value" with the keys of the path joined by dots, "stations.Deck.capacity=8
 * t/h". The value is read as YAML and may be a block in braces. A key that is missing is added. Findings name
 * the option.
 */
void efi_beside_set(efi_binder *b, const char *setting);

/* The whole of a file, to be freed with efi_free; "-" is standard input. EF_OK, EF_FILE (errno tells why),
 * EF_MEMORY. */
ef_status efi_file_read(const char *path, char **bytes, size_t *length);

#endif
