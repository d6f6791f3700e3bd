/* SPDX-License-Identifier: GPL-3.0-or-later
 * Tables with decimal commas: read back by our own reader, text stays as it was and numbers are the same. */
#include "base/base.h"
#include "base/csv.h"
#include "base/random.h"
#include "base/text.h"
#include "report/csv_text.h"

#include "../lib/skip.h"

#include <evenfeed/report.h>
#include <math.h>
#include <stdbool.h>
#include <stdlib.h>
#include <string.h>

enum {
    ROWS = 200,
    COLUMNS = 5,
    ROOM = 24
};

static char *with_comma(efi_text *table)
{
    char *text = NULL;
    assert_false(table->failed);
    assert_int_equal(ef_report_csv_with_comma(efi_text_get(table), &text), EF_OK);
    return text;
}

static void cells_by_hand(void **state)
{
    (void)state;
    efi_text table = {0};
    efi_text_add(&table, "lot,rate [t/h],note\n");
    efi_csv_add_text(&table, "1.5");
    efi_csv_next(&table);
    efi_csv_add_number(&table, 1.5);
    efi_csv_next(&table);
    efi_csv_add_text(&table, "a; b, \"c.5\"");
    efi_csv_end(&table);
    efi_csv_add_text(&table, "2");
    efi_csv_next(&table);
    efi_csv_add_number(&table, -1.25e-9);
    efi_csv_next(&table);
    efi_csv_add_text(&table, "on 2026.5 or\nlater");
    efi_csv_end(&table);
    efi_csv_next(&table);
    efi_csv_add_number(&table, NAN);
    efi_csv_next(&table);
    efi_csv_end(&table);
    char *text = with_comma(&table);
    assert_string_equal(text, "lot;rate [t/h];note\n"
                              "\"1.5\";1,5;\"a; b, \"\"c.5\"\"\"\n"
                              "2;-1,25e-9;\"on 2026.5 or\nlater\"\n"
                              ";;\n");
    ef_report_free(text);
    efi_text_free(&table);
    assert_int_equal(ef_report_csv_with_comma("", &text), EF_OK);
    assert_string_equal(text, "");
    ef_report_free(text);
}

/* A cell of the table that is made at random: text of awkward characters, or a number. */
typedef struct made {
    bool is_number;
    double number;
    char text[ROOM];
} made;

static void make(made *cell, efi_random *random)
{
    static const char letters[] = "0123456789.,;e-+ a\"\n";
    *cell = (made){.is_number = efi_random_below(random, 2) == 0};
    cell->number = ((int)efi_random_below(random, 2000001) - 1000000) /
                   pow(10.0, (int)efi_random_below(random, 9));
    const int length = (int)efi_random_below(random, 6);
    for (int i = 0; i < length; i++)
        cell->text[i] = letters[efi_random_below(random, sizeof letters - 1)];
}

/* What the reader gives back for a text: behind the apostrophe that goes before what could be a formula. */
static void check_text(const efi_csv_cell *cell, const char *text, unsigned seed)
{
    const char *found = cell->text;
    size_t length = cell->length;
    const bool formula = *text && strchr("=+-@", *text);
    if (formula && length > 0 && *found == '\'') {
        found++;
        length--;
    }
    if (length != strlen(text) || memcmp(found, text, length) != 0)
        fail_msg("seed %u: \"%s\" came back as \"%.*s\"", seed, text, (int)length, found);
}

static void check_number(const efi_csv_cell *cell, double number, unsigned seed)
{
    char digits[ROOM + ROOM];
    assert_true(cell->length < sizeof digits);
    memcpy(digits, cell->text, cell->length);
    digits[cell->length] = '\0';
    assert_null(strchr(digits, '.'));
    char *comma = strchr(digits, ',');
    if (comma)
        *comma = '.';
    if (!(fabs(strtod(digits, NULL) - number) <= 1e-11 * fabs(number)))
        fail_msg("seed %u: %.17g came back as %s", seed, number, digits);
}

static void random_tables_come_back(void **state)
{
    (void)state;
    static made cells[ROWS][COLUMNS];
    const unsigned seed = 20261125;
    efi_random random = efi_random_stream(seed, 0, 0);
    efi_text table = {0};
    efi_text_add(&table, "a,b,c,d,e\n");
    for (int r = 0; r < ROWS; r++) {
        for (int c = 0; c < COLUMNS; c++) {
            make(&cells[r][c], &random);
            if (c == 0)
                cells[r][c] = (made){.text = "row"};
            if (cells[r][c].is_number)
                efi_csv_add_number(&table, cells[r][c].number);
            else
                efi_csv_add_text(&table, cells[r][c].text);
            if (c + 1 < COLUMNS)
                efi_csv_next(&table);
        }
        efi_csv_end(&table);
    }
    char *text = with_comma(&table);
    efi_arena *arena = efi_arena_new();
    ef_diags *diags = ef_diags_new();
    efi_csv csv;
    assert_int_equal(efi_csv_read(&csv, arena, "t.csv", text, strlen(text), diags), EF_OK);
    assert_int_equal(ef_diags_count(diags), 0);
    assert_int_equal(csv.separator, ';');
    assert_int_equal(csv.rows, ROWS + 1);
    for (int r = 0; r < ROWS; r++) {
        for (int c = 0; c < COLUMNS; c++) {
            if (cells[r][c].is_number)
                check_number(efi_csv_at(&csv, r + 1, c), cells[r][c].number, seed);
            else
                check_text(efi_csv_at(&csv, r + 1, c), cells[r][c].text, seed);
        }
    }
    ef_diags_free(diags);
    efi_arena_free(arena);
    ef_report_free(text);
    efi_text_free(&table);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(cells_by_hand),
        cmocka_unit_test(random_tables_come_back),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
