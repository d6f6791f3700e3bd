/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "base/memory.h"

#include <stdatomic.h>
#include <stdint.h>
#include <stdlib.h>
#include <string.h>

/* The only mutable global of the library: a test's wish for a failing allocation. */
static atomic_long fail_at = 0;
static atomic_long made = 0;

long efi_memory_fail_at(long n)
{
    atomic_store(&fail_at, n);
    return atomic_exchange(&made, 0);
}

static int allowed(void)
{
    const long number = atomic_fetch_add_explicit(&made, 1, memory_order_relaxed) + 1;
    return number != atomic_load_explicit(&fail_at, memory_order_relaxed);
}

void *efi_new(size_t count, size_t size)
{
    if (!allowed())
        return NULL;
    if (size != 0 && count > SIZE_MAX / size)
        return NULL;
    const size_t bytes = count * size;
    return calloc(bytes ? bytes : 1, 1);
}

void *efi_resize(void *old, size_t count, size_t size)
{
    if (!allowed())
        return NULL;
    if (size != 0 && count > SIZE_MAX / size)
        return NULL;
    const size_t bytes = count * size;
    return realloc(old, bytes ? bytes : 1);
}

int efi_grow(void *items_address, size_t count, size_t *room, size_t size)
{
    if (count < *room)
        return 0;
    const size_t wanted = *room ? *room * 2 : 8;
    void *items;
    memcpy(&items, items_address, sizeof items);
    void *grown = efi_resize(items, wanted, size);
    if (!grown)
        return -1;
    memcpy(items_address, &grown, sizeof grown);
    *room = wanted;
    return 0;
}

void efi_free(void *memory)
{
    free(memory);
}

typedef union block_head {
    struct {
        union block_head *next;
        size_t used;
        size_t room;
    } is;
    max_align_t align;
} block_head;

struct efi_arena {
    block_head *first;
    size_t bytes;
};

enum {
    FIRST_BLOCK = 4096,
    LARGEST_STEP = 1 << 20
};

efi_arena *efi_arena_new(void)
{
    return efi_new(1, sizeof(efi_arena));
}

void efi_arena_free(efi_arena *arena)
{
    if (!arena)
        return;
    for (block_head *block = arena->first; block;) {
        block_head *next = block->is.next;
        efi_free(block);
        block = next;
    }
    efi_free(arena);
}

void *efi_arena_get(efi_arena *arena, size_t count, size_t size)
{
    const size_t align = _Alignof(max_align_t);
    if (size != 0 && count > (SIZE_MAX / 2) / size)
        return NULL;
    size_t bytes = count * size;
    bytes = (bytes + align - 1) / align * align;
    block_head *block = arena->first;
    if (!block || block->is.room - block->is.used < bytes) {
        size_t room = block ? block->is.room * 2 : FIRST_BLOCK;
        if (room > LARGEST_STEP)
            room = LARGEST_STEP;
        if (room < bytes)
            room = bytes;
        block_head *fresh = efi_new(1, sizeof *fresh + room);
        if (!fresh)
            return NULL;
        fresh->is.room = room;
        fresh->is.next = block;
        arena->first = block = fresh;
        arena->bytes += sizeof *fresh + room;
    }
    unsigned char *start = (unsigned char *)(block + 1);
    void *result = start + block->is.used;
    block->is.used += bytes;
    return result;
}

char *efi_arena_text(efi_arena *arena, const char *text, size_t bytes)
{
    if (bytes == SIZE_MAX)
        return NULL;
    char *copy = efi_arena_get(arena, bytes + 1, 1);
    if (copy && bytes)
        memcpy(copy, text, bytes);
    return copy;
}

size_t efi_arena_bytes(const efi_arena *arena)
{
    return arena->bytes + sizeof *arena;
}
