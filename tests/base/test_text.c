/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "base/memory.h"
#include "base/text.h"

#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <string.h>

#include <cmocka.h>

static void text_grows_by_all_ways_of_adding(void **state)
{
    (void)state;
    efi_text text = {0};
    assert_string_equal(efi_text_get(&text), "");
    efi_text_add(&text, "t/h");
    efi_text_add_bytes(&text, " and more", 4);
    efi_text_addf(&text, " %d %s", 12, "bu");
    efi_text_fill(&text, '.', 3);
    efi_text_fill(&text, '!', 0);
    efi_text_fill(&text, '!', -1);
    assert_string_equal(efi_text_get(&text), "t/h and 12 bu...");
    assert_int_equal(text.length, strlen("t/h and 12 bu..."));
    assert_false(text.failed);
    efi_text_free(&text);
    assert_string_equal(efi_text_get(&text), "");
}

static void a_word_is_put_into_a_pattern(void **state)
{
    (void)state;
    efi_text text = {0};
    efi_text_add_with(&text, "%s passes none, ", "wheat");
    efi_text_add_with(&text, "no lot of %s; 100 % of %s; ", "W1");
    efi_text_add_with(&text, "no rule", "W1");
    assert_string_equal(efi_text_get(&text), "wheat passes none, no lot of W1; 100 % of W1; no rule");
    efi_text_free(&text);
}

static void text_may_be_long_and_hold_nul(void **state)
{
    (void)state;
    efi_text text = {0};
    for (int i = 0; i < 5000; i++)
        efi_text_add_bytes(&text, "ab\0", 3);
    assert_int_equal(text.length, 15000);
    assert_memory_equal(text.bytes + 14997, "ab\0\0", 4);
    efi_text_free(&text);
}

static void text_without_memory_remembers_that_it_failed(void **state)
{
    (void)state;
    efi_text text = {0};
    efi_memory_fail_at(1);
    efi_text_add(&text, "lost");
    efi_memory_fail_at(0);
    efi_text_add(&text, "also lost");
    efi_text_addf(&text, "%d", 1);
    assert_true(text.failed);
    assert_string_equal(efi_text_get(&text), "");
    efi_text_free(&text);
    assert_false(text.failed);

    efi_text_add(&text, "kept");
    efi_memory_fail_at(1);
    efi_text_fill(&text, 'x', 1000);
    efi_memory_fail_at(0);
    assert_true(text.failed);
    assert_memory_equal(efi_text_get(&text), "kept", 4);
    efi_text_free(&text);
}

static void text_longer_than_memory_can_be_is_refused(void **state)
{
    (void)state;
    efi_text text = {0};
    efi_text_add(&text, "kept");
    efi_text_add_bytes(&text, "", SIZE_MAX - 2);
    assert_true(text.failed);
    assert_string_equal(efi_text_get(&text), "kept");
    efi_text_free(&text);
}

static void characters_are_counted_not_bytes(void **state)
{
    (void)state;
    assert_int_equal(efi_utf8_count("", 0), 0);
    assert_int_equal(efi_utf8_count("12 t", 4), 4);
    assert_int_equal(efi_utf8_count("45°", strlen("45°")), 3);
    assert_int_equal(efi_utf8_count("m³ 軽", strlen("m³ 軽")), 4);
}

/* Widths by Unicode Standard Annex 11: wide East Asian characters take two columns, combining marks none. */
static void widths_are_those_of_a_terminal(void **state)
{
    (void)state;
    assert_int_equal(efi_text_width(""), 0);
    assert_int_equal(efi_text_width("12 t/h"), 6);
    assert_int_equal(efi_text_width("45°"), 3);
    assert_int_equal(efi_text_width("小麦"), 4);
    assert_int_equal(efi_text_width("e\xCC\x81"), 1);
}

static void the_nearest_word_is_one_slip_away(void **state)
{
    (void)state;
    static const char *const words[] = {"capacity", "least-feed", "steady-feed", "density", "bin"};
    const int count = (int)EF_COUNT(words);
    assert_string_equal(efi_text_nearest("capacty", words, count), "capacity");
    assert_string_equal(efi_text_nearest("cpaacity", words, count), "capacity");
    assert_string_equal(efi_text_nearest("Capacity", words, count), "capacity");
    assert_string_equal(efi_text_nearest("least_feed", words, count), "least-feed");
    assert_string_equal(efi_text_nearest("steady fed", words, count), "steady-feed");
    assert_string_equal(efi_text_nearest("densities", words, count), "density");
    assert_string_equal(efi_text_nearest("bni", words, count), "bin");
    assert_null(efi_text_nearest("moisture", words, count));
    assert_null(efi_text_nearest("tank", words, count));
    assert_null(efi_text_nearest("bin", words, 0));
}

static void of_two_words_as_near_the_first_is_taken(void **state)
{
    (void)state;
    static const char *const words[] = {"lot", "lit"};
    assert_string_equal(efi_text_nearest("lat", words, 2), "lot");
}

static void a_very_long_word_is_near_nothing(void **state)
{
    (void)state;
    static const char *const words[] = {"capacity"};
    char word[200];
    memset(word, 'a', sizeof word - 1);
    word[sizeof word - 1] = '\0';
    assert_null(efi_text_nearest(word, words, 1));
}

static void words_are_the_same_whatever_their_case_and_hyphens(void **state)
{
    (void)state;
    assert_true(efi_text_same_word("Least-Feed", "least_feed"));
    assert_true(efi_text_same_word("least feed", "least-feed"));
    assert_true(efi_text_same_word("", ""));
    assert_false(efi_text_same_word("least feed", "leastfeed"));
    assert_false(efi_text_same_word("lot", "lots"));
    assert_false(efi_text_same_word("lots", "lot"));
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(text_grows_by_all_ways_of_adding),
        cmocka_unit_test(a_word_is_put_into_a_pattern),
        cmocka_unit_test(text_may_be_long_and_hold_nul),
        cmocka_unit_test(text_without_memory_remembers_that_it_failed),
        cmocka_unit_test(text_longer_than_memory_can_be_is_refused),
        cmocka_unit_test(characters_are_counted_not_bytes),
        cmocka_unit_test(widths_are_those_of_a_terminal),
        cmocka_unit_test(the_nearest_word_is_one_slip_away),
        cmocka_unit_test(of_two_words_as_near_the_first_is_taken),
        cmocka_unit_test(a_very_long_word_is_near_nothing),
        cmocka_unit_test(words_are_the_same_whatever_their_case_and_hyphens),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
