/* SPDX-License-Identifier: GPL-3.0-or-later
 * A paper: printed on a terminal, on a page, as CSV. */
#include "base/base.h"
#include "report/html/html.h"
#include "report/paper.h"
#include "report/report.h"

#include "../lib/near.h"

#include <math.h>
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <string.h>

#include <cmocka.h>

static const efi_column two[] = {{"Name", 'l', 0, false}, {"Made of", 'l', 0, false}};

static char *printed(efi_paper *paper)
{
    char *text;
    assert_int_equal(efi_paper_give_text(paper, &text), EF_OK);
    return text;
}

/* The paper on a page of its own; freed with efi_text_free. */
static efi_text on_page(efi_paper *paper)
{
    efi_text out = {0};
    efi_page page = {.out = &out};
    efi_html_paper(&page, paper, 4);
    efi_paper_free(&page.cautions);
    efi_text_free(&page.style);
    assert_false(out.failed);
    return out;
}

static void assert_has(const efi_text *text, const char *words)
{
    if (!strstr(efi_text_get(text), words))
        fail_msg("\"%s\" is not in:\n%s", words, efi_text_get(text));
}

static void assert_has_not(const efi_text *text, const char *words)
{
    if (strstr(efi_text_get(text), words))
        fail_msg("\"%s\" is in:\n%s", words, efi_text_get(text));
}

static void parts_are_printed_in_order_with_their_depth(void **state)
{
    (void)state;
    efi_paper paper = {0};
    efi_text title = {0};
    efi_text_add(&title, "Plant: file");
    efi_paper_title(&paper, &title);
    efi_paper_heading(&paper, 2, true, "wheat");
    efi_paper_words(&paper, EFI_VERDICT, "It runs.");
    paper.depth = 1;
    efi_paper_words(&paper, EFI_DETAIL, "Well.");
    efi_paper_words(&paper, EFI_DETAIL, "");
    efi_paper_linef(&paper, "[%d] table", 1);
    efi_paper_gap(&paper);
    paper.depth = 0;
    efi_paper_words(&paper, EFI_NOTE, "One.");
    efi_paper_goes_on(&paper, EFI_CAUTION, "Two.");
    char *text = printed(&paper);
    assert_string_equal(text, "Plant: file\n\nIt runs.\n  Well.\n  [1] table\n\nOne. Two.\n");
    ef_report_free(text);
}

static void items_of_a_cell_go_on_in_rows_of_their_own(void **state)
{
    (void)state;
    efi_paper paper = {0};
    efi_paper_table(&paper, &(efi_table_form){.name = "t", .caption = "Things"}, two, 2);
    efi_paper_cell(&paper, "a");
    efi_paper_cell(&paper, "x\ny\nz");
    efi_paper_cell(&paper, "b");
    efi_paper_cell(&paper, NULL);
    char *text = printed(&paper);
    assert_string_equal(text, "Things\nName  Made of\n----  -------\na     x\n      y\n      z\nb\n");
    ef_report_free(text);
}

static void items_with_commas_are_wrapped_between_items(void **state)
{
    (void)state;
    const efi_column columns[] = {{"Name", 'l', 0, false}, {"Made of", 'l', 12, false}};
    efi_paper paper = {0};
    efi_paper_table(&paper, &(efi_table_form){.name = "t", .caption = "", .quiet = true, .bare = true},
                    columns, 2);
    efi_paper_cell(&paper, "a");
    efi_paper_cell(&paper, "rye 50 %\noats 40 %\nbarley straw 10 %\npea");
    char *text = printed(&paper);
    assert_string_equal(text, "a  rye 50 %,\n   oats 40 %,\n   barley straw 10 %,\n   pea\n");
    ef_report_free(text);
}

static void cells_keep_the_number_with_its_unit(void **state)
{
    (void)state;
    efi_paper paper = {0};
    const efi_display kg = efi_display_choose(EFI_KIND_MASS_RATE, EF_UNITS_METRIC, 0.3, 0.0, NULL);
    efi_paper_table(&paper, &(efi_table_form){.name = "t", .caption = "T"}, two, 2);
    efi_paper_show(&paper, &kg, 0.302);
    efi_paper_percent(&paper, 0.125, 1);
    const efi_cell *cells = paper.parts[0].cells;
    assert_string_equal(cells[0].words, "302 kg/h");
    assert_string_equal(cells[0].unit, "kg/h");
    assert_near(cells[0].value, 302.0, 1e-9);
    assert_near(cells[0].base, 0.302, 1e-15);
    assert_string_equal(cells[1].words, "12.5 %");
    assert_near(cells[1].value, 12.5, 1e-12);
    efi_paper_free(&paper);
}

static void numbers_that_are_none_have_no_value(void **state)
{
    (void)state;
    efi_paper paper = {0};
    const efi_display t = efi_display_choose(EFI_KIND_MASS, EF_UNITS_METRIC, 1.0, 0.0, NULL);
    efi_paper_table(&paper, &(efi_table_form){.name = "t", .caption = "T"}, two, 2);
    efi_paper_show(&paper, &t, NAN);
    efi_paper_number(&paper, &t, 2.0);
    efi_paper_limits(&paper, -INFINITY, 3.0);
    assert_string_equal(paper.parts[0].cells[0].words, "n/a");
    assert_false(paper.parts[0].cells[0].has_value);
    assert_true(paper.parts[0].cells[1].has_value);
    assert_false(paper.parts[0].cells[1].has_limits);
    efi_paper_free(&paper);
}

/* ---- on a page ------------------------------------------------------------------------------------------
 */

static void words_on_a_page_cannot_be_tags(void **state)
{
    (void)state;
    efi_paper paper = {0};
    efi_paper_heading(&paper, 2, true, "<b>");
    efi_paper_words(&paper, EFI_DETAIL, "a < b & \"c\"");
    efi_paper_table(&paper, &(efi_table_form){.name = "t", .caption = "<i>"}, two, 2);
    efi_paper_cell(&paper, "<script>");
    efi_paper_cell(&paper, "x<\n&y");
    efi_text page = on_page(&paper);
    assert_has(&page, "&lt;b&gt;</h4>");
    assert_has(&page, "<p>a &lt; b &amp; &quot;c&quot;</p>");
    assert_has(&page, "<caption>&lt;i&gt;</caption>");
    assert_has(&page,
               "<th scope=\"row\" class=\"s\">&lt;script&gt;</th><td class=\"s\">x&lt;<br>&amp;y</td>");
    assert_has_not(&page, "<script>");
    efi_text_free(&page);
    efi_paper_free(&paper);
}

static void verdicts_and_warnings_come_first_under_each_heading(void **state)
{
    (void)state;
    efi_paper paper = {0};
    efi_paper_heading(&paper, 2, true, "wheat");
    efi_paper_words(&paper, EFI_DETAIL, "detail");
    efi_paper_words(&paper, EFI_WARNING, "too small");
    efi_paper_heading(&paper, 2, true, "rye");
    efi_paper_words(&paper, EFI_VERDICT, "verdict");
    efi_text page = on_page(&paper);
    const char *warning = strstr(efi_text_get(&page), "too small");
    const char *detail = strstr(efi_text_get(&page), "detail");
    const char *verdict = strstr(efi_text_get(&page), "verdict</p>");
    assert_non_null(warning);
    assert_non_null(detail);
    assert_non_null(verdict);
    assert_true(warning < detail && detail < verdict);
    assert_has(&page, "<strong>Attention:</strong> too small");
    efi_text_free(&page);
    efi_paper_free(&paper);
}

static void a_number_keeps_its_unit_on_a_page(void **state)
{
    (void)state;
    efi_paper paper = {0};
    efi_paper_words(&paper, EFI_DETAIL, "in 1 h 25 min it is");
    efi_text page = on_page(&paper);
    assert_has(&page, "<p>in 1\xc2\xa0h 25\xc2\xa0min it is</p>");
    efi_text_free(&page);
    efi_paper_free(&paper);
}

static void what_is_drawn_with_characters_is_for_terminals(void **state)
{
    (void)state;
    const efi_column columns[] = {{"Name", 'l', 0, false}, {"", 'l', 0, true}};
    efi_paper paper = {0};
    efi_paper_table(&paper, &(efi_table_form){.name = "a", .caption = "Bars"}, columns, 2);
    efi_paper_cell(&paper, "one");
    efi_paper_cell(&paper, "####");
    efi_paper_table(&paper, &(efi_table_form){.name = "b", .caption = "Picture", .drawn = true}, columns, 2);
    efi_paper_cell(&paper, "two");
    efi_paper_cell(&paper, "####");
    efi_text page = on_page(&paper);
    assert_has(&page, "one</th></tr>");
    assert_has_not(&page, "####");
    assert_has_not(&page, "Picture");
    efi_text_free(&page);
    efi_paper_free(&paper);
}

static char *copy(const char *svg)
{
    efi_text text = {0};
    char *given;
    efi_text_add(&text, svg);
    assert_int_equal(efi_report_give(&text, &given), EF_OK);
    return given;
}

static void pictures_get_ids_of_their_own_and_one_style(void **state)
{
    (void)state;
    static const char svg[] =
        "<svg width=\"10\" height=\"10\"><title>A</title><desc>What it &amp; shows</desc><style>.ef{}</style>"
        "<g id=\"x\"><title>tip</title></g><use href=\"#x\"/><rect fill=\"url(#x)\"/></svg>";
    efi_paper paper = {.with_pictures = true};
    for (int i = 0; i < 2; i++) {
        char *one = copy(svg);
        efi_paper_picture(&paper, "flow", EF_OK, &one);
        assert_null(one);
    }
    char *none = NULL;
    efi_paper_picture(&paper, "flow", EF_NO_ANSWER, &none);
    assert_false(paper.failed);
    assert_int_equal(paper.part_count, 2);
    efi_text page = on_page(&paper);
    assert_has(&page, "<title id=\"p1-title\">A</title><desc id=\"p1-desc\">");
    assert_has(&page,
               "<g id=\"p1-x\"><title>tip</title></g><use href=\"#p1-x\"/><rect fill=\"url(#p1-x)\"/>");
    assert_has(&page, "<g id=\"p2-x\">");
    assert_has(&page, "<figcaption>What it &amp; shows</figcaption>");
    const char *style = strstr(efi_text_get(&page), "<style>");
    assert_non_null(style);
    assert_null(strstr(style + 1, "<style>"));
    efi_text_free(&page);
    efi_paper_free(&paper);
}

/* ---- as CSV ---------------------------------------------------------------------------------------------
 */

static void csv_has_units_in_the_title_or_beside_the_number(void **state)
{
    (void)state;
    const efi_column columns[] = {{"Name", 'l', 0, false},
                                  {"Rate", 'r', 0, false},
                                  {"Load", 'r', 0, false},
                                  {"Gain in t", 'r', 0, false},
                                  {"", 'l', 0, true}};
    const efi_display t = efi_display_choose(EFI_KIND_MASS_RATE, EF_UNITS_METRIC, 2.0, 0.0, NULL);
    const efi_display kg = efi_display_choose(EFI_KIND_MASS_RATE, EF_UNITS_METRIC, 0.2, 0.0, NULL);
    const efi_display gain = efi_display_choose(EFI_KIND_MASS, EF_UNITS_METRIC, 2.0, 0.0, NULL);
    efi_paper paper = {0};
    efi_text csv = {0};
    efi_paper_table(&paper, &(efi_table_form){.name = "t", .caption = "T"}, columns, 5);
    efi_paper_cell(&paper, "a, b\n=c");
    efi_paper_show(&paper, &t, 2.0);
    efi_paper_percent(&paper, 0.5, 0);
    efi_paper_number(&paper, &gain, 1.5);
    efi_paper_limits(&paper, 1.0, 2.0);
    efi_paper_cell(&paper, "###");
    efi_paper_cell(&paper, "d");
    efi_paper_show(&paper, &kg, 0.2);
    efi_paper_cell(&paper, NULL);
    efi_paper_cell(&paper, "-");
    efi_paper_cell(&paper, "###");
    efi_paper_csv(&paper.parts[0], &csv);
    assert_string_equal(efi_text_get(&csv),
                        "Name,Rate,Rate unit,Load [%],Gain in t,Gain in t low,Gain in t high\n"
                        "\"a, b, =c\",2,t/h,50,1.5,1,2\n"
                        "d,200,kg/h,,\"'-\",,\n");
    efi_text_free(&csv);
    efi_paper_free(&paper);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(parts_are_printed_in_order_with_their_depth),
        cmocka_unit_test(items_of_a_cell_go_on_in_rows_of_their_own),
        cmocka_unit_test(items_with_commas_are_wrapped_between_items),
        cmocka_unit_test(cells_keep_the_number_with_its_unit),
        cmocka_unit_test(numbers_that_are_none_have_no_value),
        cmocka_unit_test(words_on_a_page_cannot_be_tags),
        cmocka_unit_test(verdicts_and_warnings_come_first_under_each_heading),
        cmocka_unit_test(a_number_keeps_its_unit_on_a_page),
        cmocka_unit_test(what_is_drawn_with_characters_is_for_terminals),
        cmocka_unit_test(pictures_get_ids_of_their_own_and_one_style),
        cmocka_unit_test(csv_has_units_in_the_title_or_beside_the_number),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
