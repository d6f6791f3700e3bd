/* SPDX-License-Identifier: GPL-3.0-or-later
 * All memory of the library: checked allocation and arenas that are freed as a whole. */
#ifndef EFI_MEMORY_H
#define EFI_MEMORY_H

#include <stddef.h>

/*
 * Zeroed memory for `count` items of `size` bytes. Returns NULL when there is none or the product overflows.
 * A zero count gives a valid pointer that must be freed. The caller frees with efi_free. Any thread.
 */
void *efi_new(size_t count, size_t size);

/*
 * Grows or shrinks `old` (NULL allowed) to `count` items of `size` bytes; new bytes are not cleared.
 * Returns NULL, leaving `old` as it was, when there is no memory or the product overflows. Any thread.
 */
void *efi_resize(void *old, size_t count, size_t size);

/*
 * Makes room for one more item in a growing array: `*items` holds `count` items of `size` bytes with room for
 * `*room`. Returns 0, or -1 with everything as it was when there is no memory.
 */
int efi_grow(void *items_address, size_t count, size_t *room, size_t size);

/* Frees what efi_new and efi_resize gave; NULL is allowed. */
void efi_free(void *memory);

/*
 * For tests: the n-th allocation from now on (1 is the next) fails, and only that one; 0 switches this off.
 * Returns how many allocations were made since the last call. Not for use while other threads allocate.
 */
long efi_memory_fail_at(long n);

/* An arena: many small allocations with one lifetime. Not shared between threads. */
typedef struct efi_arena efi_arena;

/* A new empty arena, or NULL without memory. */
efi_arena *efi_arena_new(void);

/* Frees the arena and all it gave out; NULL is allowed. */
void efi_arena_free(efi_arena *arena);

/* Zeroed memory for `count` items of `size` bytes, aligned for any type; NULL as for efi_new. */
void *efi_arena_get(efi_arena *arena, size_t count, size_t size);

/* A copy of `bytes` bytes of `text` with a closing NUL; NULL without memory. */
char *efi_arena_text(efi_arena *arena, const char *text, size_t bytes);

/* Bytes taken from the system by this arena. */
size_t efi_arena_bytes(const efi_arena *arena);

#endif
