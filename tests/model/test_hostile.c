/* SPDX-License-Identifier: GPL-3.0-or-later
 * Files that are broken on purpose or far too large: each gives a clear finding or is read, in little memory.
 * How long they take is measured by hand, not here; the runner's time limit catches what never ends. */
#include "base/base.h"
#include "base/diag.h"
#include "model/scenario.h"

#include "../lib/scenarios.h"

#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include <cmocka.h>

#define HEAD                                                                                                 \
    "evenfeed: 1\nplant: {name: Test}\nmaterials: {seed: {wanted: yes}}\n"                                   \
    "crops: {wheat: {receipt: {seed: 100 %}}}\n"
#define LINE                                                                                                 \
    "stations:\n  Pit: {kind: intake, capacity: 40 t/h, to: Shed}\n  Shed: {kind: outlet, product: yes}\n"

/* A growing text of the test. */
typedef struct large {
    char *bytes;
    size_t length;
    size_t room;
} large;

static void add(large *text, const char *bytes, size_t length)
{
    if (text->room - text->length < length) {
        text->room = 2 * text->room + length + 4096;
        text->bytes = realloc(text->bytes, text->room);
        assert_non_null(text->bytes);
    }
    if (!text->bytes)
        return;
    memcpy(text->bytes + text->length, bytes, length);
    text->length += length;
}

static void add_text(large *text, const char *words)
{
    add(text, words, strlen(words));
}

static void add_times(large *text, const char *words, int times)
{
    for (int i = 0; i < times; i++)
        add_text(text, words);
}

/* "before NUMBER between NUMBER after" for from, from + 1, ... */
static void add_numbered(large *text, int count, const char *before, const char *between, int step,
                         const char *after)
{
    for (int i = 0; i < count; i++) {
        char one[400];
        const int length = snprintf(one, sizeof one, "%s%d%s%d%s", before, i, between, i + step, after);
        assert_true(length > 0 && length < (int)sizeof one);
        add(text, one, (size_t)length);
    }
}

static ef_diags *findings(const large *text, ef_status expected)
{
    return scenario_findings(text->bytes, text->length, expected);
}

/* The first finding has this name and stands here; frees the text. */
static void expect_first(large *text, const char *name, int line, int column)
{
    ef_diags *diags = findings(text, EF_SCENARIO);
    assert_true(ef_diags_count(diags) >= 1);
    assert_true(ef_diags_count(diags) <= 2 * EFI_DIAG_MOST + 1);
    const ef_diag *first = ef_diags_get(diags, 0);
    assert_string_equal(first->name, name);
    assert_int_equal(first->place.line, line);
    assert_int_equal(first->place.column, column);
    ef_diags_free(diags);
    free(text->bytes);
}

static void blocks_in_blocks_without_end_are_stopped(void **state)
{
    (void)state;
    large brackets = {0};
    add_times(&brackets, "[", 1 << 16);
    expect_first(&brackets, "too-large", 1, 33);
    large dashes = {0};
    add_times(&dashes, "- ", 1 << 15);
    expect_first(&dashes, "too-large", 1, 65);
    large braces = {0};
    add_text(&braces, "evenfeed: 1\nplant: ");
    add_times(&braces, "{name: ", 1 << 15);
    ef_diags *diags = findings(&braces, EF_SCENARIO);
    assert_int_equal(efi_diags_count_code(diags, EFI_DIAG_TOO_LARGE), 1);
    ef_diags_free(diags);
    free(braces.bytes);
    large keys = {0};
    add_times(&keys, "? ", 1 << 15);
    expect_first(&keys, "yaml-refused", 1, 3);
}

static void forty_thousand_anchors_and_aliases_are_refused_one_by_one(void **state)
{
    (void)state;
    large anchors = {0};
    add_numbered(&anchors, 40000, "k", ": &a", 0, " 1\n");
    ef_diags *diags = findings(&anchors, EF_SCENARIO);
    assert_int_equal(efi_diags_count_code(diags, EFI_DIAG_YAML_REFUSED), 40000);
    assert_int_equal(ef_diags_count(diags), EFI_DIAG_MOST + 1);
    ef_diags_free(diags);
    free(anchors.bytes);
    large aliases = {0};
    add_text(&aliases, "evenfeed: &a 1\nplant: *a\n");
    add_numbered(&aliases, 40000, "k", ": [*a, *b", 0, "]\n");
    diags = findings(&aliases, EF_SCENARIO);
    assert_int_equal(efi_diags_count_code(diags, EFI_DIAG_YAML_REFUSED), 80002);
    ef_diags_free(diags);
    free(aliases.bytes);
}

static void an_alias_to_its_own_parent_ends(void **state)
{
    (void)state;
    large text = {0};
    add_text(&text, "&a evenfeed: &b {plant: *b, ? *a : *b}\n*a : 1\n<<: *b\n");
    ef_diags *diags = findings(&text, EF_SCENARIO);
    assert_int_equal(efi_diags_count_code(diags, EFI_DIAG_YAML_REFUSED), 7);
    ef_diags_free(diags);
    free(text.bytes);
}

static void keys_given_a_hundred_thousand_times_are_counted(void **state)
{
    (void)state;
    large text = {0};
    add_text(&text, HEAD "stations:\n");
    add_times(&text, "  Bin: {kind: bin, to: Bin}\n", 100000);
    ef_diags *diags = findings(&text, EF_SCENARIO);
    assert_int_equal(efi_diags_count_code(diags, EFI_DIAG_KEY_TWICE), 99999);
    ef_diags_free(diags);
    free(text.bytes);
}

static void texts_of_megabytes_are_refused_where_they_begin(void **state)
{
    (void)state;
    large plain = {0};
    add_text(&plain, "evenfeed: 1\nplant: {name: ");
    add_times(&plain, "x", 2000000);
    add_text(&plain, "}\n");
    expect_first(&plain, "too-large", 2, 15);
    large block = {0};
    add_text(&block, "evenfeed: 1\nplant:\n  name: Test\n  note: |\n");
    add_times(&block, "    more of it\n", 100000);
    expect_first(&block, "too-large", 4, 9);
    large key = {0};
    add_text(&key, "evenfeed: 1\n\"");
    add_times(&key, "k", 900);
    add_text(&key, "\": 1\n");
    ef_diags *diags = findings(&key, EF_SCENARIO);
    const ef_diag *diag = ef_diags_get(diags, ef_diags_count(diags) - 1);
    assert_string_equal(diag->name, "key-unknown");
    assert_true(strlen(diag->message) < 200);
    assert_true(strlen(diag->key) < 200);
    ef_diags_free(diags);
    free(key.bytes);
}

static void a_file_above_the_limit_is_refused_as_a_whole(void **state)
{
    (void)state;
    large text = {0};
    text.length = text.room = (size_t)EFI_MOST_BYTES + 1;
    text.bytes = malloc(text.room);
    assert_non_null(text.bytes);
    memset(text.bytes, '#', text.room);
    expect_first(&text, "too-large", 0, 0);
}

static void numbers_without_a_value_are_refused(void **state)
{
    (void)state;
    const char *const numbers[] = {"1e999 t/h",  "-1e999 t/h", "nan t/h",    "inf t/h",
                                   "1e-999 t/h", "0x10 t/h",   "1e308 kt/h", "1e400000000000 t/h"};
    for (size_t i = 0; i < EF_COUNT(numbers); i++) {
        large text = {0};
        add_text(&text, HEAD "stations:\n  Pit: {kind: intake, capacity: ");
        add_text(&text, numbers[i]);
        add_text(&text, ", to: Shed}\n  Shed: {kind: outlet, product: yes}\n");
        ef_diags *diags = findings(&text, EF_SCENARIO);
        assert_int_equal(ef_diags_count(diags), 1);
        assert_int_equal(ef_diags_get(diags, 0)->place.line, 6);
        ef_diags_free(diags);
        free(text.bytes);
    }
}

static void bytes_that_are_no_text_are_found_where_they_stand(void **state)
{
    (void)state;
    /* byte, place: NUL; a Latin-1 letter; an overlong slash; half of a pair of UTF-16; C1; a line separator
     */
    static const struct {
        const char *bytes;
        size_t length;
    } bad[] = {{"\0", 1},       {"\xFC", 1},         {"\xC0\xAF", 2},         {"\xED\xA0\x80", 3},
               {"\xC2\x85", 2}, {"\xE2\x80\xA8", 3}, {"\xF4\x90\x80\x80", 4}, {"\x1B[31m", 5},
               {"\xE2\x82", 2}};
    for (size_t i = 0; i < EF_COUNT(bad); i++) {
        large text = {0};
        add_text(&text, HEAD "# größer\n# ü");
        add(&text, bad[i].bytes, bad[i].length);
        add_text(&text, "\n" LINE);
        expect_first(&text, "not-text", 6, 4);
    }
}

static void a_file_for_another_system_or_of_another_kind_is_no_text(void **state)
{
    (void)state;
    large utf16 = {0};
    add(&utf16,
        "\xFF\xFE"
        "e\0v\0",
        6);
    expect_first(&utf16, "not-text", 1, 1);
    large archive = {0};
    add(&archive, "PK\x03\x04\x14\x00", 6);
    expect_first(&archive, "not-text", 1, 3);
}

/* A chain of elevators on one line of some five megabytes. */
static large one_line(const char *capacity)
{
    large text = {0};
    char between[100];
    (void)snprintf(between, sizeof between, ": {kind: elevator, capacity: %s, to: S", capacity);
    add_text(&text, HEAD "stations: {");
    add_numbered(&text, 90000, "S", between, 1, "}, ");
    add_text(&text, "S90000: {kind: outlet, product: yes}, Pit: {kind: intake, capacity: 9 t/h, to: S0}}\n");
    return text;
}

static void one_line_of_five_megabytes_is_read(void **state)
{
    (void)state;
    large text = one_line("40 t/h");
    ef_diags *diags = findings(&text, EF_OK);
    assert_int_equal(ef_diags_count(diags), 0);
    ef_diags_free(diags);
    free(text.bytes);
}

static void errors_by_the_ten_thousand_on_one_line_keep_their_columns(void **state)
{
    (void)state;
    large text = one_line("40");
    ef_diags *diags = findings(&text, EF_SCENARIO);
    assert_int_equal(efi_diags_count_code(diags, EFI_DIAG_UNIT_MISSING), 90000);
    for (int i = 0; i < EFI_DIAG_MOST; i++) {
        const ef_diag *diag = ef_diags_get(diags, i);
        assert_int_equal(diag->place.line, 5);
        assert_memory_equal(text.bytes + strlen(HEAD) + diag->place.column - 1, "40, to: S", 9);
    }
    ef_diags_free(diags);
    free(text.bytes);
}

/* All allocations while 100,000 errors are found, against those of the same file without errors. */
static void a_hundred_thousand_errors_take_little_more_memory_than_none(void **state)
{
    (void)state;
    large good = {0};
    large bad = {0};
    add_text(&good, HEAD "stations:\n");
    add_numbered(&good, 100000, "  S", ": {kind: elevator, capacity: 40 t/h, to: S", 1, "}\n");
    add_text(&good,
             "  S100000: {kind: outlet, product: yes}\n  Pit: {kind: intake, capacity: 9 t/h, to: S0}\n");
    add_text(&bad, HEAD "stations:\n");
    add_numbered(&bad, 100000, "  S", ": {kind: elevator, capacity: 40 kgh, to: T", 1, "}\n");
    (void)efi_memory_fail_at(0);
    ef_diags *diags = findings(&good, EF_OK);
    const long allocations_good = efi_memory_fail_at(0);
    ef_diags_free(diags);
    diags = findings(&bad, EF_SCENARIO);
    const long allocations_bad = efi_memory_fail_at(0);
    assert_int_equal(efi_diags_count_code(diags, EFI_DIAG_UNIT_UNKNOWN), 100000);
    assert_int_equal(efi_diags_count_code(diags, EFI_DIAG_NAME_UNKNOWN), 100000);
    assert_int_equal(ef_diags_count(diags), EFI_DIAG_MOST + 1);
    assert_true(allocations_bad < allocations_good + 100 * EFI_DIAG_MOST);
    ef_diags_free(diags);
    free(good.bytes);
    free(bad.bytes);
}

/* `stations` cleaners with returns, 300 crops that bring 100 materials each. */
static large wide_plant(int stations)
{
    large text = {0};
    add_text(&text, "evenfeed: 1\nplant: {name: Wide}\nmaterials:\n");
    add_numbered(&text, 100, "  m", ": {wanted: yes, note: n", 0, "}\n");
    add_text(&text, "crops:\n");
    for (int crop = 0; crop < 300; crop++) {
        char name[60];
        (void)snprintf(name, sizeof name, "  c%d: {density: 0.7 t/m3, receipt: {", crop);
        add_text(&text, name);
        for (int m = 1; m < 100; m++) {
            (void)snprintf(name, sizeof name, "m%d: 0.5 %%, ", m);
            add_text(&text, name);
        }
        add_text(&text, "m0: rest}}\n");
    }
    add_text(&text, "stations:\n  Pit: {kind: intake, capacity: 40 t/h, to: S0}\n  Waste: {kind: outlet}\n");
    for (int s = 0; s < stations; s++) {
        char one[300];
        (void)snprintf(one, sizeof one,
                       "  S%d:\n    kind: air-screen cleaner\n    capacity: 40 t/h\n    discharges:\n"
                       "      back: {takes: {m1: 10 %%, other materials: 1 %%}, to: S%d}\n"
                       "      waste: {takes: {m2: 50 %%}, to: Waste}\n      on: {takes: rest, to: S%d}\n",
                       s, s ? s - 1 : 1, s + 1);
        add_text(&text, one);
    }
    char last[60];
    (void)snprintf(last, sizeof last, "  S%d: {kind: outlet, product: yes}\n", stations);
    add_text(&text, last);
    return text;
}

static void crops_times_materials_times_stations_are_read_or_refused(void **state)
{
    (void)state;
    large some = wide_plant(40);
    ef_diags *diags = findings(&some, EF_OK);
    assert_int_equal(ef_diags_count(diags), 0);
    ef_diags_free(diags);
    free(some.bytes);
    large many = wide_plant(3000);
    diags = findings(&many, EF_SCENARIO);
    assert_int_equal(efi_diags_count_code(diags, EFI_DIAG_TOO_LARGE), 1);
    assert_int_equal(ef_diags_count(diags), 1);
    ef_diags_free(diags);
    free(many.bytes);
}

static void a_chain_of_a_hundred_thousand_steady_stations_is_looked_through(void **state)
{
    (void)state;
    large text = {0};
    add_text(&text, HEAD "stations:\n  Pit: {kind: intake, capacity: 9 t/h, to: S0}\n");
    add_numbered(&text, 100000, "  S", ": {kind: machine, steady feed: 2 %, capacity: 9 t/h, to: S", 1,
                 "}\n");
    add_text(&text, "  S100000: {kind: outlet, product: yes}\n");
    ef_diags *diags = findings(&text, EF_OK);
    assert_int_equal(efi_diags_count_code(diags, EFI_DIAG_STEADY_WITHOUT_BIN), 100000);
    assert_int_equal(ef_diags_count(diags), EFI_DIAG_MOST + 1);
    ef_diags_free(diags);
    free(text.bytes);
}

static void a_hundred_thousand_stations_that_nothing_reaches_are_counted(void **state)
{
    (void)state;
    large text = {0};
    add_text(&text, HEAD LINE);
    add_numbered(&text, 100000, "  S", ": {kind: machine, capacity: 9 t/h, note: n", 0, ", to: Shed}\n");
    ef_diags *diags = findings(&text, EF_SCENARIO);
    assert_int_equal(efi_diags_count_code(diags, EFI_DIAG_UNREACHED), 100000);
    ef_diags_free(diags);
    free(text.bytes);
}

static void unknown_keys_by_the_hundred_thousand_are_counted(void **state)
{
    (void)state;
    large text = {0};
    add_text(&text,
             "evenfeed: 1\nmaterials: {seed: {wanted: yes}}\ncrops: {wheat: {receipt: {seed: 100 %}}}\n" LINE
             "plant:\n  name: Test\n");
    add_numbered(&text, 200000, "  q", ": ", 0, "\n");
    ef_diags *diags = findings(&text, EF_SCENARIO);
    assert_int_equal(efi_diags_count_code(diags, EFI_DIAG_KEY_UNKNOWN), 200000);
    ef_diags_free(diags);
    free(text.bytes);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(blocks_in_blocks_without_end_are_stopped),
        cmocka_unit_test(forty_thousand_anchors_and_aliases_are_refused_one_by_one),
        cmocka_unit_test(an_alias_to_its_own_parent_ends),
        cmocka_unit_test(keys_given_a_hundred_thousand_times_are_counted),
        cmocka_unit_test(texts_of_megabytes_are_refused_where_they_begin),
        cmocka_unit_test(a_file_above_the_limit_is_refused_as_a_whole),
        cmocka_unit_test(numbers_without_a_value_are_refused),
        cmocka_unit_test(bytes_that_are_no_text_are_found_where_they_stand),
        cmocka_unit_test(a_file_for_another_system_or_of_another_kind_is_no_text),
        cmocka_unit_test(one_line_of_five_megabytes_is_read),
        cmocka_unit_test(errors_by_the_ten_thousand_on_one_line_keep_their_columns),
        cmocka_unit_test(a_hundred_thousand_errors_take_little_more_memory_than_none),
        cmocka_unit_test(crops_times_materials_times_stations_are_read_or_refused),
        cmocka_unit_test(a_chain_of_a_hundred_thousand_steady_stations_is_looked_through),
        cmocka_unit_test(a_hundred_thousand_stations_that_nothing_reaches_are_counted),
        cmocka_unit_test(unknown_keys_by_the_hundred_thousand_are_counted),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
