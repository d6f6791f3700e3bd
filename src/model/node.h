/* SPDX-License-Identifier: GPL-3.0-or-later
 * The tree of a scenario file: texts, lists and maps, each with the place where it stands. */
#ifndef EFI_NODE_H
#define EFI_NODE_H

#include "base/diag.h"
#include "base/memory.h"

#include <stdbool.h>
#include <stdint.h>

/* What the reader accepts. Larger files are refused, not cut. */
enum {
    EFI_MOST_BYTES = 64 << 20,     /* of a file */
    EFI_MOST_DEPTH = 32,           /* of blocks in blocks */
    EFI_MOST_NODES = 8 << 20,      /* of a file */
    EFI_MOST_TEXT_BYTES = 64 << 10 /* of one value */
};

/* A file (or another text, such as an option) that nodes come from. */
typedef struct efi_source {
    const char *name;
    const char *bytes;
    size_t length;
    uint32_t *line_start; /* shape [lines]: byte offset of each line */
    int lines;
    bool is_table;
    bool decimal_comma; /* a table whose cells are not parted by commas: they may stand in numbers */
} efi_source;

typedef enum efi_node_kind {
    EFI_NODE_TEXT,
    EFI_NODE_LIST,
    EFI_NODE_MAP
} efi_node_kind;

typedef struct efi_node {
    unsigned kind : 6;    /* efi_node_kind */
    unsigned quoted : 1;  /* text in quotes or as a block */
    unsigned unsound : 1; /* text: already reported; list or map: cut short by a syntax error */
    unsigned source : 8;  /* index of its source in the tree */
    unsigned width : 16;  /* characters that it takes on its line, see efi_node_set_width */
    uint32_t line;        /* from 1 */
    uint32_t column;      /* from 1, characters */
    uint32_t length;      /* text: bytes; list: children; map: pairs */
    union {
        const char *text;          /* not closed by NUL */
        struct efi_node *children; /* list: shape [length]; map: shape [length][2], key then value */
    } is;
} efi_node;

typedef struct efi_tree {
    efi_arena *arena; /* borrowed */
    efi_source *sources;
    int source_count;
    efi_node *root; /* NULL when nothing could be read */
    bool cut_short; /* a syntax error hides the rest of the file */
} efi_tree;

/*
 * Reads YAML `bytes` (length of them, which must live as long as the arena) named `name` into a tree in
 * `arena`. What is wrong is added to `diags`; the tree then holds what could be read. Anchors, aliases, tags,
 * further documents, over-large texts and anything but plain text as a key are refused. Returns EF_OK or
 * EF_MEMORY.
 */
ef_status efi_tree_read(efi_tree *tree, efi_arena *arena, const char *name, const char *bytes, size_t length,
                        ef_diags *diags);

/*
 * Reads a further YAML text, such as the value of an option, into the same tree; its root goes to `*root`,
 * NULL when nothing could be read. Otherwise as efi_tree_read.
 */
ef_status efi_tree_read_more(efi_tree *tree, const char *name, const char *bytes, size_t length,
                             ef_diags *diags, efi_node **root);

/* Makes a text a source of the tree, for nodes made by hand; its number goes to `*source`. EF_OK, EF_MEMORY;
 * EF_USAGE when there are as many sources as a tree can tell apart (250). */
ef_status efi_tree_add_source(efi_tree *tree, const char *name, const char *bytes, size_t length,
                              int *source);

/* Sets the width of a node, at most 65535. */
static inline void efi_node_set_width(efi_node *node, size_t characters)
{
    node->width = characters < 0xFFFF ? (unsigned)characters & 0xFFFFu : 0xFFFFu;
}

/* The value of `key` in a map; NULL when the node is NULL, no map, or has no such key. */
const efi_node *efi_node_find(const efi_node *map, const char *key);
/* The same, giving the key's own node. */
const efi_node *efi_node_find_key(const efi_node *map, const char *key);

/* Is a key of a map the heading of a table, so that it stands for all rows and its value is in a row below?
 */
bool efi_node_is_heading(const efi_node *key);

/* Key and value of pair `index` of a map. */
const efi_node *efi_node_key(const efi_node *map, int index);
const efi_node *efi_node_value(const efi_node *map, int index);

/* Is the node a text equal to `words`? */
bool efi_node_is(const efi_node *node, const char *words);

/* Is the node a text with nothing in it, as after a bare colon? */
bool efi_node_is_empty(const efi_node *node);

/* A value about which all has been said: it stands for one that could not be read. */
extern const efi_node efi_node_unread;

/* Where a node stands. */
ef_place efi_tree_place(const efi_tree *tree, const efi_node *node);

/* Puts the place of a node, and the line it stands on, into a finding: a text in the arena, without line end,
 * cut at 200 bytes; NULL where there is no such line. False without memory. */
bool efi_tree_point(const efi_tree *tree, const efi_node *node, ef_diag *draft);

#endif
