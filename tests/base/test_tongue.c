/* SPDX-License-Identifier: GPL-3.0-or-later
 * Messages, numbers and dates in another language. How German writes numbers and dates: decimal comma and
 * day before month, as in DIN 5008 (from memory). */
#include "base/pieces.h"
#include "base/memory.h"
#include "base/number.h"
#include "base/tongue.h"

#include <math.h>
#include <pthread.h>
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <string.h>

#include <cmocka.h>

static int back_to_english(void **state)
{
    (void)state;
    return ef_tongue_use("en") == EF_OK ? 0 : -1;
}

static void english_is_the_first_and_says_what_is_written(void **state)
{
    (void)state;
    assert_string_equal(ef_tongue_tag(0), "en");
    assert_string_equal(ef_tongue_name(0), "English");
    assert_string_equal(ef_tongue_used(), "en");
    assert_string_equal(efi_tr("Monday"), "Monday");
    assert_string_equal(efi_tr(""), "");
    assert_string_equal(efi_tr_in("decimal mark", "."), ".");
    assert_string_equal(efi_tr_n("one", "many", 1), "one");
    assert_string_equal(efi_tr_n("one", "many", 0), "many");
    assert_string_equal(efi_piece_fixed(-1.25, 2).words, "-1.25");
    assert_string_equal(efi_piece_moment(1795566600).words, "2026-11-25 00:30");
    assert_string_equal(efi_piece_when(1795566600).words, "Wed 2026-11-25 00:30");
}

static void german_has_its_own_words_and_marks(void **state)
{
    (void)state;
    assert_int_equal(ef_tongue_use("de"), EF_OK);
    assert_string_equal(ef_tongue_used(), "de");
    assert_string_equal(efi_tr("Monday"), "Montag");
    assert_string_equal(efi_tr("no message at all"), "no message at all");
    assert_string_equal(efi_piece_fixed(-1.25, 2).words, "-1,25");
    assert_string_equal(efi_piece_significant(0.5, 3).words, "0,5");
    assert_string_equal(efi_piece_significant(1200.0, 3).words, "1200");
    assert_string_equal(efi_piece_fixed(NAN, 1).words, "k. A.");
    assert_string_equal(efi_piece_percent(0.123, 1).words, "12,3 %");
    assert_string_equal(efi_piece_moment(1795566600).words, "25.11.2026 00:30");
    assert_string_equal(efi_piece_when(1795566600).words, "Mi 25.11.2026 00:30");
    assert_string_equal(efi_piece_month_brief(5), "Mai");
    assert_string_equal(efi_piece_duration(2.5 / 60.0).words, "2,5 min");
    const efi_display t = efi_display_choose(EFI_KIND_MASS_RATE, EF_UNITS_METRIC, 9.24, 0.0, NULL);
    assert_string_equal(efi_piece_quantity(&t, 9.24).words, "9,24 t/h");
}

static void what_machines_read_is_the_same_in_all_languages(void **state)
{
    (void)state;
    efi_text text = {0};
    assert_int_equal(ef_tongue_use("de"), EF_OK);
    efi_number_add_fixed(&text, 1.5, 1);
    efi_text_add(&text, " ");
    efi_number_add_significant(&text, 1.5, 12);
    efi_text_add(&text, " ");
    efi_date_add(&text, 0);
    assert_string_equal(efi_text_get(&text), "1.5 1.5 1970-01-01");
    efi_text_free(&text);
}

static void pieces_take_no_memory_that_could_fail(void **state)
{
    (void)state;
    const efi_display t = efi_display_choose(EFI_KIND_MASS_RATE, EF_UNITS_METRIC, 9.24, 0.0, NULL);
    (void)efi_memory_fail_at(1);
    assert_string_equal(efi_piece_quantity(&t, 9.24).words, "9.24 t/h");
    assert_string_equal(efi_piece_duration(1.5).words, "1 h 30 min");
    assert_string_equal(efi_piece_day(0).words, "1970-01-01");
    assert_int_equal(efi_memory_fail_at(0), 0);
    assert_true(strlen(efi_piece_fixed(1e300, 20).words) < EFI_PIECE_ROOM);
}

static void an_unknown_language_changes_nothing(void **state)
{
    (void)state;
    assert_int_equal(ef_tongue_use("de"), EF_OK);
    assert_int_equal(ef_tongue_use("xx"), EF_USAGE);
    assert_string_equal(ef_tongue_used(), "de");
}

static void *look_at_the_language(void *used)
{
    *(const char **)used = ef_tongue_used();
    return NULL;
}

static void each_thread_has_its_own(void **state)
{
    (void)state;
    pthread_t other;
    const char *used = NULL;
    assert_int_equal(ef_tongue_use("de"), EF_OK);
    assert_int_equal(pthread_create(&other, NULL, look_at_the_language, &used), 0);
    assert_int_equal(pthread_join(other, NULL), 0);
    assert_string_equal(used, "en");
    assert_string_equal(ef_tongue_used(), "de");
}

/* A catalogue made by hand after "The Format of GNU MO Files": a context, and a language with three forms. */
static unsigned long three_forms(unsigned long n)
{
    return n == 1 ? 0 : n < 5 ? 1 : 2;
}

static void put(unsigned char *at, unsigned number)
{
    for (int i = 0; i < 4; i++)
        at[i] = (unsigned char)(number >> (8 * i));
}

static void contexts_and_forms_of_plurals_are_found(void **state)
{
    (void)state;
    static const struct {
        const char *original;
        size_t original_length;
        const char *words;
        size_t length;
    } rows[] = {{"%d lot\0%d lots", 14, "%d a\0%d b\0%d c", 14},
                {"day\004mon", 7, "in a context", 12},
                {"mon", 3, "alone", 5},
                {"not yet", 7, "", 0}};
    unsigned char bytes[512] = {0};
    unsigned end = 28 + 8 * 8;
    put(bytes, 0x950412deU);
    put(bytes + 8, 4);
    put(bytes + 12, 28);
    put(bytes + 16, 28 + 4 * 8);
    for (unsigned i = 0; i < 4; i++) {
        put(bytes + 28 + 8 * i, (unsigned)rows[i].original_length);
        put(bytes + 32 + 8 * i, end);
        memcpy(bytes + end, rows[i].original, rows[i].original_length);
        end += (unsigned)rows[i].original_length + 1;
        put(bytes + 60 + 8 * i, (unsigned)rows[i].length);
        put(bytes + 64 + 8 * i, end);
        memcpy(bytes + end, rows[i].words, rows[i].length);
        end += (unsigned)rows[i].length + 1;
    }
    const efi_catalogue made = {"xx", "Made", bytes, three_forms};
    efi_tongue_set(&made);
    assert_string_equal(efi_tr("mon"), "alone");
    assert_string_equal(efi_tr_in("day", "mon"), "in a context");
    assert_string_equal(efi_tr(EFI_TR_IN("day", "mon")), "in a context");
    assert_string_equal(efi_tr(EFI_TR_IN("night", "mon")), "mon");
    assert_string_equal(efi_tr_in("da", "mon"), "mon");
    assert_string_equal(efi_tr("not yet"), "not yet");
    assert_string_equal(efi_tr("%d lo"), "%d lo");
    assert_string_equal(efi_tr_n("%d lot", "%d lots", 1), "%d a");
    assert_string_equal(efi_tr_n("%d lot", "%d lots", 3), "%d b");
    assert_string_equal(efi_tr_n("%d lot", "%d lots", 7), "%d c");
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test_teardown(english_is_the_first_and_says_what_is_written, back_to_english),
        cmocka_unit_test_teardown(german_has_its_own_words_and_marks, back_to_english),
        cmocka_unit_test_teardown(what_machines_read_is_the_same_in_all_languages, back_to_english),
        cmocka_unit_test(pieces_take_no_memory_that_could_fail),
        cmocka_unit_test_teardown(an_unknown_language_changes_nothing, back_to_english),
        cmocka_unit_test_teardown(each_thread_has_its_own, back_to_english),
        cmocka_unit_test_teardown(contexts_and_forms_of_plurals_are_found, back_to_english),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
