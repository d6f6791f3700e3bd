/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "base/memory.h"

#include <setjmp.h>
#include <stdalign.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <string.h>

#include <cmocka.h>

static void fresh_memory_is_zero(void **state)
{
    (void)state;
    static const unsigned char zero[700];
    unsigned char *bytes = efi_new(100, 7);
    assert_non_null(bytes);
    assert_memory_equal(bytes, zero, sizeof zero);
    efi_free(bytes);
    efi_free(NULL);
}

static void no_items_are_still_memory_to_be_freed(void **state)
{
    (void)state;
    void *none = efi_new(0, 8);
    assert_non_null(none);
    efi_free(none);
    none = efi_resize(NULL, 0, 8);
    assert_non_null(none);
    efi_free(none);
}

static void a_size_that_overflows_is_refused_and_leaves_the_old(void **state)
{
    (void)state;
    assert_null(efi_new(SIZE_MAX / 4, 8));
    char *old = efi_new(4, 1);
    assert_non_null(old);
    memcpy(old, "abc", 4);
    assert_null(efi_resize(old, SIZE_MAX / 4, 8));
    assert_string_equal(old, "abc");
    efi_free(old);
}

static void resizing_keeps_what_fits(void **state)
{
    (void)state;
    char *text = efi_resize(NULL, 4, 1);
    assert_non_null(text);
    memcpy(text, "abc", 4);
    text = efi_resize(text, 4000, 1);
    assert_non_null(text);
    assert_string_equal(text, "abc");
    efi_free(text);
}

static void a_growing_array_keeps_its_items(void **state)
{
    (void)state;
    int *items = NULL;
    size_t room = 0;
    for (int i = 0; i < 1000; i++) {
        assert_int_equal(efi_grow(&items, (size_t)i, &room, sizeof *items), 0);
        assert_true(room > (size_t)i);
        items[i] = i;
    }
    for (int i = 0; i < 1000; i++)
        assert_int_equal(items[i], i);
    efi_free(items);
}

static void an_array_that_cannot_grow_stays_as_it_was(void **state)
{
    (void)state;
    int *items = NULL;
    size_t room = 0;
    assert_int_equal(efi_grow(&items, 0, &room, sizeof *items), 0);
    items[0] = 42;
    const size_t room_before = room;
    int *const items_before = items;
    efi_memory_fail_at(1);
    assert_int_equal(efi_grow(&items, room, &room, sizeof *items), -1);
    efi_memory_fail_at(0);
    assert_true(items == items_before);
    assert_true(room == room_before);
    assert_int_equal(items[0], 42);
    efi_free(items);
}

static void the_nth_allocation_fails_and_only_that_one(void **state)
{
    (void)state;
    for (long n = 1; n <= 5; n++) {
        efi_memory_fail_at(n);
        for (long i = 1; i <= 7; i++) {
            void *memory = i % 2 ? efi_new(1, 1) : efi_resize(NULL, 1, 1);
            if (i == n)
                assert_null(memory);
            else
                assert_non_null(memory);
            efi_free(memory);
        }
        assert_int_equal(efi_memory_fail_at(0), 7);
    }
}

static void an_arena_gives_zeroed_aligned_memory_of_any_size(void **state)
{
    (void)state;
    efi_arena *arena = efi_arena_new();
    assert_non_null(arena);
    size_t given = 0;
    for (size_t size = 0; size < 300; size++) {
        unsigned char *bytes = efi_arena_get(arena, size, 31);
        assert_non_null(bytes);
        assert_int_equal((uintptr_t)bytes % alignof(max_align_t), 0);
        for (size_t i = 0; i < size * 31; i++)
            assert_int_equal(bytes[i], 0);
        memset(bytes, 0xAB, size * 31); /* the next piece must not see it */
        given += size * 31;
    }
    assert_true(efi_arena_bytes(arena) >= given);
    const size_t mebibyte = 1048576;
    void *large = efi_arena_get(arena, 3, mebibyte);
    assert_non_null(large);
    assert_true(efi_arena_bytes(arena) >= given + 3 * mebibyte);
    efi_arena_free(arena);
    efi_arena_free(NULL);
}

static void an_arena_refuses_a_size_that_overflows(void **state)
{
    (void)state;
    efi_arena *arena = efi_arena_new();
    assert_non_null(arena);
    assert_null(efi_arena_get(arena, SIZE_MAX / 4, 8));
    assert_null(efi_arena_text(arena, "", SIZE_MAX));
    assert_non_null(efi_arena_get(arena, 1, 8));
    efi_arena_free(arena);
}

static void an_arena_copies_text_and_closes_it(void **state)
{
    (void)state;
    efi_arena *arena = efi_arena_new();
    assert_non_null(arena);
    char source[] = "bushels and more";
    const char *copy = efi_arena_text(arena, source, 7);
    assert_non_null(copy);
    source[0] = 'x';
    assert_string_equal(copy, "bushels");
    assert_string_equal(efi_arena_text(arena, NULL, 0), "");
    efi_arena_free(arena);
}

static void an_arena_without_memory_says_so_and_goes_on(void **state)
{
    (void)state;
    efi_memory_fail_at(1);
    assert_null(efi_arena_new());
    efi_memory_fail_at(2);
    efi_arena *arena = efi_arena_new();
    assert_non_null(arena);
    assert_null(efi_arena_get(arena, 1, 8));
    assert_non_null(efi_arena_get(arena, 1, 8));
    efi_memory_fail_at(1);
    assert_null(efi_arena_text(arena, NULL, 1 << 20));
    efi_memory_fail_at(0);
    efi_arena_free(arena);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(fresh_memory_is_zero),
        cmocka_unit_test(no_items_are_still_memory_to_be_freed),
        cmocka_unit_test(a_size_that_overflows_is_refused_and_leaves_the_old),
        cmocka_unit_test(resizing_keeps_what_fits),
        cmocka_unit_test(a_growing_array_keeps_its_items),
        cmocka_unit_test(an_array_that_cannot_grow_stays_as_it_was),
        cmocka_unit_test(the_nth_allocation_fails_and_only_that_one),
        cmocka_unit_test(an_arena_gives_zeroed_aligned_memory_of_any_size),
        cmocka_unit_test(an_arena_refuses_a_size_that_overflows),
        cmocka_unit_test(an_arena_copies_text_and_closes_it),
        cmocka_unit_test(an_arena_without_memory_says_so_and_goes_on),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
