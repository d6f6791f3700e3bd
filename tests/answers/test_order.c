/* SPDX-License-Identifier: GPL-3.0-or-later
 * Order: tables in, an order with times out; findings all in one pass. Lots and times are invented. */
#include <evenfeed/order.h>

#include <math.h>
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <stdio.h>
#include <string.h>
#include <cmocka.h>

static const char lots_text[] = "lot,hours,due,priority,arrival\n"
                                "Barley A,6 h,,,\n"
                                "Wheat B,240 min,8 h,2,\n"
                                "Wheat C,5 h,,1,2 h\n";
static const char changeovers_text[] = ",Barley A,Wheat B,Wheat C,end\n"
                                       "start,0,0,0,0\n"
                                       "Barley A,,3 h,3 h,1 h\n"
                                       "Wheat B,2 h,,30 min,1 h\n"
                                       "Wheat C,2 h,30 min,,1 h\n";

static ef_status read_tables(const char *lots, const char *changeovers, ef_diags *diags, ef_lots **made)
{
    return ef_lots_read("lots.csv", lots, strlen(lots), "changeovers.csv", changeovers, strlen(changeovers),
                        diags, made);
}

static ef_lots *read_good(const char *lots, const char *changeovers)
{
    ef_diags *diags = ef_diags_new();
    ef_lots *made = NULL;
    const ef_status status = read_tables(lots, changeovers, diags, &made);
    for (int i = 0; i < ef_diags_count(diags); i++)
        print_message("%s: %s\n", ef_diags_get(diags, i)->name, ef_diags_get(diags, i)->message);
    assert_int_equal(status, EF_OK);
    ef_diags_free(diags);
    return made;
}

static void is_near(double found, double wanted)
{
    if (!(fabs(found - wanted) <= 1e-9))
        print_message("%.12g, wanted %.12g\n", found, wanted);
    assert_true(fabs(found - wanted) <= 1e-9);
}

/* By hand: B 0-4 h, 30 min, C 4.5-9.5 h, 2 h, A 11.5-17.5 h, 1 h: changeovers 3.5 h, nothing late. Any order
 * that begins with another lot makes B late or costs 3 h between barley and wheat. */
static void the_cheapest_order_comes_with_its_times(void **state)
{
    (void)state;
    ef_lots *lots = read_good(lots_text, changeovers_text);
    assert_int_equal(ef_lots_count(lots), 3);
    const ef_order_settings settings = ef_order_defaults();
    ef_order *order = NULL;
    bool proven = false;
    assert_int_equal(ef_order_solve(lots, &settings, &order, &proven), EF_OK);
    assert_true(proven && order->proven && !order->stopped);
    assert_int_equal(order->count, 3);
    assert_string_equal(order->rows[0].lot, "Wheat B");
    assert_string_equal(order->rows[1].lot, "Wheat C");
    assert_string_equal(order->rows[2].lot, "Barley A");
    is_near(order->rows[1].start_h, 4.5);
    is_near(order->rows[2].end_h, 17.5);
    is_near(order->changeover_h, 3.5);
    is_near(order->end_h, 18.5);
    is_near(order->late_h, 0.0);
    is_near(order->value, 3.5);
    is_near(order->bound, 3.5);
    is_near(order->gap_share, 0.0);
    ef_order_free(order);
    ef_lots_free(lots);
}

static void a_closed_order_counts_the_way_back_to_the_first_lot(void **state)
{
    (void)state;
    ef_lots *lots = read_good("lot;hours\nA;1 h\nB;2 h\nC;3 h\n",
                              ";A;B;C\nA;;1 h;5 h\nB;5 h;;1 h\nC;1 h;5 h;\n");
    ef_order_settings settings = ef_order_defaults();
    settings.closed = true;
    settings.late_price = 0.0;
    ef_order *order = NULL;
    bool proven = false;
    assert_int_equal(ef_order_solve(lots, &settings, &order, &proven), EF_OK);
    assert_string_equal(order->rows[0].lot, "A");
    assert_string_equal(order->rows[1].lot, "B");
    assert_string_equal(order->rows[2].lot, "C");
    is_near(order->value, 3.0);
    is_near(order->rows[2].end_h, 8.0);
    is_near(order->end_h, 9.0);
    ef_order_free(order);
    settings.late_price = 1.0;
    order = NULL;
    assert_int_equal(ef_order_solve(lots, &settings, &order, &proven), EF_USAGE);
    assert_null(order);
    ef_lots_free(lots);
}

/* Tables as a spreadsheet with decimal commas saves them; the units stand in the headings. By hand: B 0-1.5
 * h, 30 min, A 2-10.5 h (due at 12 h, 0.5 d); the other order changes over in 45 min. */
static void decimal_commas_and_units_of_headings_are_read(void **state)
{
    (void)state;
    ef_lots *lots = read_good("lot;hours (h);due (d);priority\r\nA;8,5;0,5;0,5\r\nB;90 min;;\r\n",
                              "from to (min);A;B\r\nA;;45\r\nB;0,5 h;\r\n");
    const ef_order_settings settings = ef_order_defaults();
    ef_order *order = NULL;
    bool proven = false;
    assert_int_equal(ef_order_solve(lots, &settings, &order, &proven), EF_OK);
    assert_string_equal(order->rows[0].lot, "B");
    is_near(order->rows[0].end_h, 1.5);
    is_near(order->rows[1].start_h, 2.0);
    is_near(order->rows[1].end_h, 10.5);
    is_near(order->changeover_h, 0.5);
    ef_order_free(order);
    ef_lots_free(lots);
}

/* The findings of tables that cannot be used, as "line:column name" each. */
static void expect_findings(const char *lots, const char *changeovers, const char *wanted)
{
    ef_diags *diags = ef_diags_new();
    ef_lots *made = NULL;
    assert_int_equal(read_tables(lots, changeovers, diags, &made), EF_SCENARIO);
    assert_null(made);
    char found[1000] = "";
    for (int i = 0; i < ef_diags_count(diags); i++) {
        const ef_diag *one = ef_diags_get(diags, i);
        const size_t used = strlen(found);
        (void)snprintf(found + used, sizeof found - used, "%d:%d %s\n", one->place.line, one->place.column,
                       one->name);
    }
    assert_string_equal(found, wanted);
    ef_diags_free(diags);
}

static void numbers_that_may_be_read_in_two_ways_are_refused(void **state)
{
    (void)state;
    const char *two = ";A;B\nA;;0\nB;0;\n";
    expect_findings("lot;hours\nA;1,250 h\nB;1 h\n", two, "2:3 number-bad\n");
    expect_findings("lot,hours\nA,\"1,5 h\"\nB,1 h\n", two, "2:3 number-bad\n");
    expect_findings("lot;hours (t)\nA;1\nB;1\n", two, "1:5 unit-unknown\n");
    expect_findings("lot;hours\nA;1\nB;1 h\n", two, "2:3 unit-missing\n");
}

static void lots_that_cannot_keep_their_own_times_or_wait_in_a_ring_are_named(void **state)
{
    (void)state;
    const char *three = ";A;B;C\nA;;0;0\nB;0;;0\nC;0;0;\n";
    expect_findings(
        "lot;hours;arrival;latest start;latest end\nA;4 h;2 h;;5 h\nB;1 h;3 h;2 h;\nC;1 h;1 h;1 h;2 h\n",
        three, "2:12 end-early\n3:11 end-early\n");
    expect_findings("lot;hours;after\nA;4 h;B\nB;1 h;A\nC;1 h;A\n", three,
                    "2:7 out-of-range\n3:7 out-of-range\n4:7 out-of-range\n");
}

/* One finding each, not one more for every row and column that has the same cause. */
static void a_lot_that_stands_twice_is_reported_once(void **state)
{
    (void)state;
    expect_findings("lot;hours\nA;4 h\nB;1 h\nA;2 h\n", ";A;B\nA;;0\nB;0;\n", "4:1 key-twice\n");
    expect_findings("lot;hours\nA;4 h\nB;1 h\n", ";A;B\nA;;0\nB\n", "3:1 value-empty\n");
}

static void limits_that_cannot_be_kept_have_no_answer_and_say_that_this_is_proven(void **state)
{
    (void)state;
    ef_lots *lots = read_good("lot,hours,latest end,after\nA,4 h,5 h,B\nB,2 h,,\n", ",A,B\nA,,0\nB,0,\n");
    const ef_order_settings settings = ef_order_defaults();
    ef_order *order = NULL;
    bool proven = false;
    assert_int_equal(ef_order_solve(lots, &settings, &order, &proven), EF_NO_ANSWER);
    assert_true(proven);
    assert_null(order);
    ef_lots_free(lots);
}

static bool stop(void *context, const ef_order_progress *progress)
{
    *(int *)context = progress->rounds;
    return false;
}

static void a_stopped_search_gives_its_best_order(void **state)
{
    (void)state;
    char lots_long[1000] = "lot,hours,due\n", changeovers_long[20000] = "";
    for (int i = 0; i < 25; i++) {
        char row[40];
        (void)snprintf(row, sizeof row, "L%d,%d h,%d h\n", i, 1 + i * 7 % 9, 5 + i * 31 % 90);
        strcat(lots_long, row);
        (void)snprintf(row, sizeof row, ",L%d", i);
        strcat(changeovers_long, row);
    }
    for (int i = 0; i < 25; i++) {
        char cell[20];
        (void)snprintf(cell, sizeof cell, "\nL%d", i);
        strcat(changeovers_long, cell);
        for (int j = 0; j < 25; j++) {
            (void)snprintf(cell, sizeof cell, ",%d min", (i * 13 + j * 17) % 60);
            strcat(changeovers_long, cell);
        }
    }
    ef_lots *lots = read_good(lots_long, changeovers_long);
    ef_order_settings settings = ef_order_defaults();
    int rounds = 0;
    settings.go_on = stop;
    settings.context = &rounds;
    ef_order *order = NULL;
    bool proven = true;
    assert_int_equal(ef_order_solve(lots, &settings, &order, &proven), EF_OK);
    assert_true(order->stopped && !proven);
    assert_int_equal(rounds, 1);
    assert_int_equal(order->rounds, 1);
    assert_true(order->bound <= order->value);
    ef_order_free(order);
    ef_lots_free(lots);
}

static void all_mistakes_in_both_tables_are_found_at_once(void **state)
{
    (void)state;
    ef_diags *diags = ef_diags_new();
    ef_lots *lots = NULL;
    const char *wrong_lots = "lot,hours,deu,priority,after\n"
                             "A,6,,,\n"
                             "A,4 hrz,,-1,Q\n"
                             "start,,,,\n"
                             "D,5 h,,1,A + D\n";
    const char *wrong_changeovers = ",A,E,D\nA,,1 h,\nD,5 kg,1 h,\n";
    assert_int_equal(read_tables(wrong_lots, wrong_changeovers, diags, &lots), EF_SCENARIO);
    assert_null(lots);
    static const struct {
        const char *name, *file;
        int line, column;
    } wanted[] = {
        {"key-missing", "changeovers.csv", 1, 1},  {"key-missing", "changeovers.csv", 1, 1},
        {"name-unknown", "changeovers.csv", 1, 4}, {"value-empty", "changeovers.csv", 2, 8},
        {"unit-unfit", "changeovers.csv", 3, 3},   {"key-unknown", "lots.csv", 1, 11},
        {"unit-missing", "lots.csv", 2, 3},        {"key-twice", "lots.csv", 3, 1},
        {"unit-unknown", "lots.csv", 3, 3},        {"number-bad", "lots.csv", 3, 10},
        {"name-unknown", "lots.csv", 3, 13},       {"name-reserved", "lots.csv", 4, 1},
        {"value-empty", "lots.csv", 4, 7},         {"name-unknown", "lots.csv", 5, 10},
    };
    const int count = (int)(sizeof wanted / sizeof wanted[0]);
    for (int i = 0; i < ef_diags_count(diags); i++) {
        const ef_diag *d = ef_diags_get(diags, i);
        if (i >= count || strcmp(d->name, wanted[i].name) != 0 || d->place.line != wanted[i].line ||
            d->place.column != wanted[i].column || strcmp(d->place.file, wanted[i].file) != 0)
            print_message("%d: %s:%d:%d %s: %s\n", i, d->place.file, d->place.line, d->place.column, d->name,
                          d->message);
        assert_true(i < count);
        assert_string_equal(d->name, wanted[i].name);
        assert_int_equal(d->place.line, wanted[i].line);
        assert_int_equal(d->place.column, wanted[i].column);
        assert_non_null(d->allowed);
    }
    assert_int_equal(ef_diags_count(diags), count);
    assert_string_equal(ef_diags_get(diags, 5)->likely, "due");
    ef_diags_free(diags);
}

static void empty_tables_are_findings(void **state)
{
    (void)state;
    const char *const texts[][2] = {{"", ""}, {"lot,hours\n", ",A\nA,\n"}, {"lot,hours\nA,1 h\n", ""}};
    for (int i = 0; i < 3; i++) {
        ef_diags *diags = ef_diags_new();
        ef_lots *lots = NULL;
        assert_int_equal(read_tables(texts[i][0], texts[i][1], diags, &lots), EF_SCENARIO);
        assert_true(ef_diags_count(diags) >= 1);
        assert_null(lots);
        ef_diags_free(diags);
    }
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(the_cheapest_order_comes_with_its_times),
        cmocka_unit_test(a_closed_order_counts_the_way_back_to_the_first_lot),
        cmocka_unit_test(decimal_commas_and_units_of_headings_are_read),
        cmocka_unit_test(numbers_that_may_be_read_in_two_ways_are_refused),
        cmocka_unit_test(lots_that_cannot_keep_their_own_times_or_wait_in_a_ring_are_named),
        cmocka_unit_test(a_lot_that_stands_twice_is_reported_once),
        cmocka_unit_test(limits_that_cannot_be_kept_have_no_answer_and_say_that_this_is_proven),
        cmocka_unit_test(a_stopped_search_gives_its_best_order),
        cmocka_unit_test(all_mistakes_in_both_tables_are_found_at_once),
        cmocka_unit_test(empty_tables_are_findings),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
