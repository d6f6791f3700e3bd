/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "report/words_list.h"
#include "base/memory.h"

#include <evenfeed/tongue.h>
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>

#include <cmocka.h>

/* What a list of the first `count` of three items says. */
static void assert_list(int count, efi_words_joint joint, const char *expected)
{
    static const char *const items[] = {"wheat", "oats", "peas"};
    efi_words_list list = {0};
    efi_text out = {0};
    for (int i = 0; i < count; i++)
        efi_words_list_add(&list, items[i]);
    assert_string_equal(efi_words_list_get(&list, joint), expected);
    assert_string_equal(efi_words_list_get(&list, joint), expected);
    efi_words_list_free(&list, &out);
    assert_false(out.failed);
    assert_int_equal(list.count, 0);
}

static void items_are_joined(void **state)
{
    (void)state;
    assert_list(0, EFI_JOINT_AND, "");
    assert_list(1, EFI_JOINT_AND, "wheat");
    assert_list(2, EFI_JOINT_AND, "wheat and oats");
    assert_list(3, EFI_JOINT_AND, "wheat, oats and peas");
    assert_list(2, EFI_JOINT_OR, "wheat or oats");
    assert_list(3, EFI_JOINT_OR, "wheat, oats or peas");
    assert_list(3, EFI_JOINT_COMMAS, "wheat, oats, peas");
    assert_list(3, EFI_JOINT_SEMICOLONS, "wheat; oats; peas");
}

static void another_language_has_its_own_joints(void **state)
{
    (void)state;
    assert_int_equal(ef_tongue_use("de"), EF_OK);
    assert_list(3, EFI_JOINT_AND, "wheat, oats und peas");
    assert_list(3, EFI_JOINT_OR, "wheat, oats oder peas");
    assert_int_equal(ef_tongue_use("en"), EF_OK);
}

static void items_may_be_made_or_taken(void **state)
{
    (void)state;
    efi_words_list list = {0};
    efi_text out = {0};
    efi_text item = {0};
    efi_words_list_addf(&list, "%d %s", 3, "lots");
    efi_text_add(&item, "4 bins");
    efi_words_list_take(&list, &item);
    assert_null(item.bytes);
    assert_string_equal(efi_words_list_get(&list, EFI_JOINT_AND), "3 lots and 4 bins");
    efi_words_list_free(&list, &out);
    assert_false(out.failed);
}

static void sentences_follow_each_other(void **state)
{
    (void)state;
    efi_text out = {0};
    efi_words_say(&out, "%s runs.", "Deck");
    efi_words_say(&out, "It stops.");
    assert_string_equal(efi_text_get(&out), "Deck runs. It stops.");
    efi_text_free(&out);
}

static void each_failed_allocation_is_told(void **state)
{
    (void)state;
    bool failed = true;
    long n = 1;
    for (; failed; n++) {
        efi_words_list list = {0};
        efi_text out = {0};
        (void)efi_memory_fail_at(n);
        efi_words_list_addf(&list, "%s", "wheat");
        efi_words_list_add(&list, "oats");
        (void)efi_words_list_get(&list, EFI_JOINT_AND);
        failed = efi_memory_fail_at(0) >= n;
        efi_words_list_free(&list, &out);
        assert_int_equal(out.failed, failed);
    }
    assert_true(n > 3);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(items_are_joined),
        cmocka_unit_test(another_language_has_its_own_joints),
        cmocka_unit_test(items_may_be_made_or_taken),
        cmocka_unit_test(sentences_follow_each_other),
        cmocka_unit_test(each_failed_allocation_is_told),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
