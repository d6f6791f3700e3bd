/* SPDX-License-Identifier: GPL-3.0-or-later
 * Tables as spreadsheets save them. The rules of quoting are those of RFC 4180, section 2, whose examples are
 * among the cases; separators other than the comma are what spreadsheets write where the comma is the decimal
 * sign. */
#include "base/csv.h"

#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include <cmocka.h>

/* A table read from text, its findings, and the memory of both. */
typedef struct read_table {
    efi_csv csv;
    efi_arena *arena;
    ef_diags *diags;
} read_table;

static read_table read_bytes(const char *bytes, size_t length)
{
    read_table t = {.arena = efi_arena_new(), .diags = ef_diags_new()};
    assert_non_null(t.arena);
    assert_non_null(t.diags);
    assert_int_equal(efi_csv_read(&t.csv, t.arena, "t.csv", bytes, length, t.diags), EF_OK);
    return t;
}

static void release(read_table *t)
{
    ef_diags_free(t->diags);
    efi_arena_free(t->arena);
}

/* The cells as "a|b/c|d": rows parted by a slash, cells by a bar. */
static void check_cells(const char *text, const char *expected)
{
    read_table t = read_bytes(text, strlen(text));
    char found[400] = "";
    size_t used = 0;
    for (int row = 0; row < t.csv.rows; row++) {
        for (int column = 0; column < t.csv.columns; column++) {
            const efi_csv_cell *cell = efi_csv_at(&t.csv, row, column);
            used += (size_t)snprintf(found + used, sizeof found - used, "%s%.*s",
                                     column ? "|"
                                     : row  ? "/"
                                            : "",
                                     (int)cell->length, cell->text);
            assert_true(used < sizeof found);
        }
    }
    assert_string_equal(found, expected);
    assert_int_equal(ef_diags_count(t.diags), 0);
    release(&t);
}

static void rows_and_cells_are_parted_as_the_standard_says(void **state)
{
    (void)state;
    check_cells("aaa,bbb,ccc\r\nzzz,yyy,xxx\r\n", "aaa|bbb|ccc/zzz|yyy|xxx");         /* section 2, rule 1 */
    check_cells("aaa,bbb,ccc\r\nzzz,yyy,xxx", "aaa|bbb|ccc/zzz|yyy|xxx");             /* rule 2 */
    check_cells("\"aaa\",\"bbb\",\"ccc\"\r\nzzz,yyy,xxx", "aaa|bbb|ccc/zzz|yyy|xxx"); /* rule 5 */
    check_cells("\"aaa\",\"b\r\nbb\",\"ccc\"\r\nzzz,yyy,xxx", "aaa|b\r\nbb|ccc/zzz|yyy|xxx"); /* rule 6 */
    check_cells("\"aaa\",\"b\"\"bb\",\"ccc\"", "aaa|b\"bb|ccc");                              /* rule 7 */
}

static void line_ends_may_be_those_of_any_system(void **state)
{
    (void)state;
    check_cells("a,b\nc,d\n", "a|b/c|d");
    check_cells("a,b\r\nc,d\r\n", "a|b/c|d");
    check_cells("a,b\r\nc,d\n\n\n", "a|b/c|d");
}

static void the_separator_is_what_the_heading_holds_most_of(void **state)
{
    (void)state;
    check_cells("a;b;c\n1,5;2;3\n", "a|b|c/1,5|2|3");
    check_cells("a\tb\n1;2\t3\n", "a|b/1;2|3");
    check_cells("\"a;b;c\",d\n1,2\n", "a;b;c|d/1|2"); /* those within quotes do not count */
    check_cells("alone\nx\n", "alone/x");
}

static void blanks_around_a_cell_do_not_belong_to_it_but_those_in_quotes_do(void **state)
{
    (void)state;
    check_cells("  a , b b  ,c\n", "a|b b|c");
    check_cells("\" a \" ,b\n", " a |b");
}

static void rows_without_text_are_left_out_and_short_ones_filled_up(void **state)
{
    (void)state;
    check_cells("a,b,c\n\n,,\n1\n", "a|b|c/1||");
    check_cells("", "");
    check_cells("\n\n", "");
}

static void cells_beyond_the_heading_may_only_be_empty(void **state)
{
    (void)state;
    check_cells("a,b\n1,2,,\n", "a|b/1|2");
    static const char text[] = "a,b\n1,2,3\n";
    read_table t = read_bytes(text, strlen(text));
    assert_int_equal(ef_diags_count(t.diags), 1);
    const ef_diag *found = ef_diags_get(t.diags, 0);
    assert_string_equal(found->name, "csv-syntax");
    assert_int_equal(found->place.line, 2);
    assert_int_equal(found->place.column, 5);
    release(&t);
}

static void a_byte_order_mark_is_not_part_of_the_first_heading(void **state)
{
    (void)state;
    static const char text[] = "\xEF\xBB\xBFname,rate\nx,1\n";
    check_cells(text, "name|rate/x|1");
    read_table t = read_bytes(text, strlen(text));
    assert_int_equal(efi_csv_at(&t.csv, 0, 0)->column, 1);
    assert_int_equal(efi_csv_column(&t.csv, "name"), 0);
    release(&t);
}

static void check_place(const read_table *t, int row, int column, int line, int first, int end)
{
    const ef_place place = efi_csv_place(&t->csv, efi_csv_at(&t->csv, row, column));
    assert_string_equal(place.file, "t.csv");
    assert_int_equal(place.line, line);
    assert_int_equal(place.column, first);
    assert_int_equal(place.end_column, end);
}

static void cells_know_where_they_stand(void **state)
{
    (void)state;
    static const char text[] = "name, rate\n\nM\xC3\xBChle,  12 t/h\n\"a\nb\",7\n";
    read_table t = read_bytes(text, strlen(text));
    assert_int_equal(t.csv.rows, 3);
    check_place(&t, 0, 1, 1, 7, 11);
    check_place(&t, 1, 0, 3, 1, 6); /* five characters in six bytes; the empty line counts */
    check_place(&t, 1, 1, 3, 9, 15);
    check_place(&t, 2, 0, 4, 1, 2); /* goes on in the next line: its beginning is marked */
    check_place(&t, 2, 1, 5, 4, 5);
    release(&t);
}

static void a_finding_about_a_cell_names_its_heading_and_shows_its_line(void **state)
{
    (void)state;
    static const char text[] = "name,rate\nx,many\n";
    read_table t = read_bytes(text, strlen(text));
    const ef_diag draft = efi_csv_draft(&t.csv, t.arena, 1, 1);
    assert_string_equal(draft.key, "rate");
    assert_string_equal(draft.found, "many");
    assert_string_equal(draft.excerpt, "x,many");
    release(&t);
}

static void columns_are_found_whatever_their_case_blanks_and_hyphens(void **state)
{
    (void)state;
    static const char text[] = "Name,Due date,clean-down\n";
    read_table t = read_bytes(text, strlen(text));
    assert_int_equal(efi_csv_column(&t.csv, "due-date"), 1);
    assert_int_equal(efi_csv_column(&t.csv, "Clean_Down"), 2);
    assert_int_equal(efi_csv_column(&t.csv, "date"), -1);
    release(&t);
}

static void check_finding(const char *text, size_t length, const char *name, int line, int column)
{
    read_table t = read_bytes(text, length);
    assert_int_equal(ef_diags_count(t.diags), 1);
    const ef_diag *found = ef_diags_get(t.diags, 0);
    assert_string_equal(found->name, name);
    assert_int_equal(found->place.line, line);
    assert_int_equal(found->place.column, column);
    release(&t);
}

static void what_is_no_table_is_told_with_its_place(void **state)
{
    (void)state;
    static const char open[] = "a,b\n1,\"two\n3,4\n";
    static const char after[] = "a,b\n1,\"two\" more\n";
    static const char latin[] = "a,b\nM\xFC,1\n";
    static const char nul[] = "a,b\n1,\0\n";
    check_finding(open, strlen(open), "csv-syntax", 2, 3);
    check_finding(after, strlen(after), "csv-syntax", 2, 3);
    check_finding(latin, strlen(latin), "not-text", 2, 2);
    check_finding(nul, sizeof nul - 1, "not-text", 2, 3);
}

/* More than a table may hold is refused before it is looked at, so the bytes need not be text. */
static void too_large_a_table_is_refused(void **state)
{
    (void)state;
    const size_t length = (size_t)EFI_CSV_MOST_BYTES + 1;
    char *bytes = calloc(length, 1);
    assert_non_null(bytes);
    check_finding(bytes, length, "too-large", 0, 0);
    free(bytes);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(rows_and_cells_are_parted_as_the_standard_says),
        cmocka_unit_test(line_ends_may_be_those_of_any_system),
        cmocka_unit_test(the_separator_is_what_the_heading_holds_most_of),
        cmocka_unit_test(blanks_around_a_cell_do_not_belong_to_it_but_those_in_quotes_do),
        cmocka_unit_test(rows_without_text_are_left_out_and_short_ones_filled_up),
        cmocka_unit_test(cells_beyond_the_heading_may_only_be_empty),
        cmocka_unit_test(a_byte_order_mark_is_not_part_of_the_first_heading),
        cmocka_unit_test(cells_know_where_they_stand),
        cmocka_unit_test(a_finding_about_a_cell_names_its_heading_and_shows_its_line),
        cmocka_unit_test(columns_are_found_whatever_their_case_blanks_and_hyphens),
        cmocka_unit_test(what_is_no_table_is_told_with_its_place),
        cmocka_unit_test(too_large_a_table_is_refused),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
