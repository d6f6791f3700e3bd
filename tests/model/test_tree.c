/* SPDX-License-Identifier: GPL-3.0-or-later
 * The tree of a file: shapes, texts, and above all places. */
#include "base/base.h"
#include "model/node.h"

#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <string.h>

#include <cmocka.h>

/* A tree and what it lives in. */
typedef struct grown {
    efi_arena *arena;
    ef_diags *diags;
    efi_tree tree;
} grown;

static grown grow(const char *text, size_t length)
{
    grown g = {.arena = efi_arena_new(), .diags = ef_diags_new()};
    assert_non_null(g.arena);
    assert_non_null(g.diags);
    assert_int_equal(efi_tree_read(&g.tree, g.arena, "t.yaml", text, length, g.diags), EF_OK);
    return g;
}

/* The same for a text that has nothing wrong with it. */
static grown grow_good(const char *text)
{
    grown g = grow(text, strlen(text));
    assert_int_equal(ef_diags_count(g.diags), 0);
    assert_false(g.tree.cut_short);
    assert_non_null(g.tree.root);
    return g;
}

static void fell(grown *g)
{
    ef_diags_free(g->diags);
    efi_arena_free(g->arena);
}

/* The line on which the value of a key of the root stands. */
static const char *excerpt_of(const grown *g, const char *key)
{
    ef_diag draft = {.excerpt = NULL};
    assert_true(efi_tree_point(&g->tree, efi_node_find(g->tree.root, key), &draft));
    assert_non_null(draft.excerpt);
    return draft.excerpt;
}

static void expect_text(const efi_node *node, const char *text, int line, int column, int end_column)
{
    assert_non_null(node);
    assert_int_equal(node->kind, EFI_NODE_TEXT);
    assert_int_equal(node->length, strlen(text));
    assert_memory_equal(node->is.text, text, strlen(text));
    assert_int_equal(node->line, line);
    assert_int_equal(node->column, column);
    assert_int_equal(node->column + node->width, end_column);
}

static void keys_and_values_know_where_they_stand(void **state)
{
    (void)state;
    grown g = grow_good("# a comment\nPit:\n  kind:   intake  # where trucks tip\n  to: [a, \"b c\"]\n");
    const efi_node *pit = efi_node_find_key(g.tree.root, "Pit");
    expect_text(pit, "Pit", 2, 1, 4);
    assert_int_equal(pit[1].kind, EFI_NODE_MAP);
    assert_int_equal(pit[1].length, 2);
    expect_text(efi_node_find_key(pit + 1, "kind"), "kind", 3, 3, 7);
    expect_text(efi_node_find(pit + 1, "kind"), "intake", 3, 11, 17);
    const efi_node *list = efi_node_find(pit + 1, "to");
    assert_int_equal(list->kind, EFI_NODE_LIST);
    assert_int_equal(list->length, 2);
    expect_text(&list->is.children[0], "a", 4, 8, 9);
    expect_text(&list->is.children[1], "b c", 4, 11, 16);
    assert_int_equal(list->is.children[0].quoted, 0);
    assert_int_equal(list->is.children[1].quoted, 1);
    fell(&g);
}

static void columns_count_characters_not_bytes(void **state)
{
    (void)state;
    grown g = grow_good("Mühle: {größe: 5 t, 全麦: x, 🌾🌾: y}\n");
    const efi_node *map = efi_node_find(g.tree.root, "Mühle");
    expect_text(efi_node_find(map, "größe"), "5 t", 1, 16, 19);
    expect_text(efi_node_find_key(map, "全麦"), "全麦", 1, 21, 23);
    expect_text(efi_node_find(map, "🌾🌾"), "y", 1, 32, 33);
    fell(&g);
}

static void line_ends_of_every_system_count_as_one(void **state)
{
    (void)state;
    const char *const texts[] = {"a: 1\nb: 2\n\nc: 3\n", "a: 1\r\nb: 2\r\n\r\nc: 3\r\n",
                                 "a: 1\rb: 2\r\rc: 3\r", "a: 1\r\nb: 2\n\r\nc: 3"};
    for (size_t i = 0; i < EF_COUNT(texts); i++) {
        grown g = grow_good(texts[i]);
        expect_text(efi_node_find(g.tree.root, "b"), "2", 2, 4, 5);
        expect_text(efi_node_find(g.tree.root, "c"), "3", 4, 4, 5);
        assert_string_equal(excerpt_of(&g, "c"), "c: 3");
        fell(&g);
    }
}

static void a_byte_order_mark_takes_no_column(void **state)
{
    (void)state;
    grown g = grow_good("\xEF\xBB\xBF"
                        "a: 1\nb: 2\n");
    expect_text(efi_node_find_key(g.tree.root, "a"), "a", 1, 1, 2);
    assert_string_equal(excerpt_of(&g, "a"), "a: 1");
    fell(&g);
}

static void quotes_escapes_and_folded_lines_give_the_text_that_was_meant(void **state)
{
    (void)state;
    grown g = grow_good("a: 'it''s'\nb: \"1\\t2 \\u00fc\"\nc: one\n  two\nd: |\n  x\n  y\ne: ''\nf:\n");
    assert_true(efi_node_is(efi_node_find(g.tree.root, "a"), "it's"));
    assert_true(efi_node_is(efi_node_find(g.tree.root, "b"), "1\t2 ü"));
    assert_true(efi_node_is(efi_node_find(g.tree.root, "c"), "one two"));
    assert_true(efi_node_is(efi_node_find(g.tree.root, "d"), "x\ny\n"));
    assert_false(efi_node_is_empty(efi_node_find(g.tree.root, "e")));
    assert_true(efi_node_is_empty(efi_node_find(g.tree.root, "f")));
    fell(&g);
}

static void words_that_other_readers_take_for_something_else_stay_text(void **state)
{
    (void)state;
    grown g = grow_good("{no: 010, yes: 1_000, ~: 12:30, null: 0x1F, 2024-01-01: .inf}");
    assert_true(efi_node_is(efi_node_find(g.tree.root, "no"), "010"));
    assert_true(efi_node_is(efi_node_find(g.tree.root, "yes"), "1_000"));
    assert_true(efi_node_is(efi_node_find(g.tree.root, "~"), "12:30"));
    assert_true(efi_node_is(efi_node_find(g.tree.root, "null"), "0x1F"));
    assert_true(efi_node_is(efi_node_find(g.tree.root, "2024-01-01"), ".inf"));
    fell(&g);
}

static void a_key_that_is_not_there_is_not_found(void **state)
{
    (void)state;
    grown g = grow_good("kinds: 1\nkin: 2\n");
    assert_null(efi_node_find(g.tree.root, "kind"));
    assert_null(efi_node_find(NULL, "kind"));
    assert_null(efi_node_find(efi_node_find(g.tree.root, "kin"), "kind"));
    fell(&g);
}

static void the_first_of_two_equal_keys_is_found(void **state)
{
    (void)state;
    grown g = grow_good("a: 1\na: 2\n");
    assert_true(efi_node_is(efi_node_find(g.tree.root, "a"), "1"));
    fell(&g);
}

static void a_file_of_comments_or_of_nothing_has_no_root(void **state)
{
    (void)state;
    const char *const texts[] = {"", "\n\n", "# nothing\n", "\xEF\xBB\xBF", "---\n...\n"};
    for (size_t i = 0; i < EF_COUNT(texts) - 1; i++) {
        grown g = grow(texts[i], strlen(texts[i]));
        assert_null(g.tree.root);
        assert_int_equal(ef_diags_count(g.diags), 0);
        fell(&g);
    }
    grown g = grow_good(texts[EF_COUNT(texts) - 1]);
    assert_true(efi_node_is_empty(g.tree.root));
    fell(&g);
}

static void what_stands_before_a_syntax_error_is_kept(void **state)
{
    (void)state;
    const char text[] = "a: 1\nb: {c: 2, d: 3\ne: 4\n";
    grown g = grow(text, strlen(text));
    assert_true(g.tree.cut_short);
    assert_int_equal(ef_diags_count(g.diags), 1);
    assert_string_equal(ef_diags_get(g.diags, 0)->name, "yaml-syntax");
    assert_true(efi_node_is(efi_node_find(g.tree.root, "a"), "1"));
    const efi_node *b = efi_node_find(g.tree.root, "b");
    assert_true(efi_node_is(efi_node_find(b, "c"), "2"));
    assert_true(b->unsound);
    fell(&g);
}

static void an_excerpt_is_the_whole_line_cut_where_it_is_long(void **state)
{
    (void)state;
    char text[1000] = "k: ";
    for (int i = 0; i < 150; i++)
        strcat(text, "ü");
    grown g = grow_good(text);
    const char *excerpt = excerpt_of(&g, "k");
    assert_true(strlen(excerpt) <= 200);
    assert_true(strlen(excerpt) >= 198);
    assert_int_equal((strlen(excerpt) - 3) % 2, 0); /* not cut within a character */
    fell(&g);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(keys_and_values_know_where_they_stand),
        cmocka_unit_test(columns_count_characters_not_bytes),
        cmocka_unit_test(line_ends_of_every_system_count_as_one),
        cmocka_unit_test(a_byte_order_mark_takes_no_column),
        cmocka_unit_test(quotes_escapes_and_folded_lines_give_the_text_that_was_meant),
        cmocka_unit_test(words_that_other_readers_take_for_something_else_stay_text),
        cmocka_unit_test(a_key_that_is_not_there_is_not_found),
        cmocka_unit_test(the_first_of_two_equal_keys_is_found),
        cmocka_unit_test(a_file_of_comments_or_of_nothing_has_no_root),
        cmocka_unit_test(what_stands_before_a_syntax_error_is_kept),
        cmocka_unit_test(an_excerpt_is_the_whole_line_cut_where_it_is_long),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
