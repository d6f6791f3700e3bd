/* SPDX-License-Identifier: GPL-3.0-or-later
 * The words that the published schemas allow (docs/schemas) are those that the program has. */
#include "base/base.h"
#include "model/scenario.h"
#include "report/season_view.h"
#include "shared/stops/draw.h"

#include "../lib/files.h"
#include "../lib/skip.h"

#include <evenfeed/balance.h>
#include <evenfeed/season.h>
#include <evenfeed/shift.h>
#include <jansson.h>
#include <stdlib.h>
#include <string.h>

/* The word of an entry of a list of the program. */
#define WORD(name, word)            word,
#define FIRST_WORD(name, word, ...) word,

static json_t *schema_of(const char *path)
{
    json_error_t error;
    char *text = file_read(path, NULL);
    json_t *schema = json_loads(text, JSON_REJECT_DUPLICATES, &error);
    free(text);
    if (!schema)
        fail_msg("%s:%d: %s", path, error.line, error.text);
    return schema;
}

/* What a schema allows for a key of one of its definitions. */
static const json_t *rule_of(const json_t *schema, const char *definition, const char *key)
{
    const json_t *of = *definition ? json_object_get(json_object_get(schema, "$defs"), definition) : schema;
    const json_t *rule = json_object_get(json_object_get(of, "properties"), key);
    if (!rule)
        fail_msg("nothing is said of %s in %s", key, definition);
    return rule;
}

/* The list allows these words, in this order, and besides at most null and the empty text. */
static void check_words(const json_t *list, const char *const *words)
{
    size_t at = 0;
    for (size_t i = 0; i < json_array_size(list); i++) {
        const char *allowed = json_string_value(json_array_get(list, i));
        if (!allowed || !*allowed)
            continue;
        if (!words[at]) {
            fail_msg("nobody writes \"%s\"", allowed);
            return; /* which the analyzer does not know */
        }
        assert_string_equal(allowed, words[at++]);
    }
    if (words[at])
        fail_msg("\"%s\" is not allowed", words[at]);
}

static void check_key(const json_t *schema, const char *definition, const char *key, const char *const *words)
{
    check_words(json_object_get(rule_of(schema, definition, key), "enum"), words);
}

/* The properties of an object are these words, and at most `more` others. */
static void check_properties(const json_t *rule, const char *const *words, size_t more)
{
    const json_t *properties = json_object_get(rule, "properties");
    size_t count = 0;
    for (; words[count]; count++)
        if (!json_object_get(properties, words[count]))
            fail_msg("\"%s\" is not allowed", words[count]);
    assert_int_equal(json_object_size(properties), count + more);
}

static void words_of_a_balance(void **state)
{
    (void)state;
    static const char *const kinds[] = {EFI_STATION_LIST(FIRST_WORD) NULL};
    static const char *const rules[] = {EFI_SPLIT_LIST(FIRST_WORD) NULL};
    static const char *const uses[] = {EFI_USE_LIST(WORD) NULL};
    static const char *const aims[] = {EF_BALANCE_AIM_LIST(FIRST_WORD) NULL};
    json_t *schema = schema_of("docs/schemas/balance.schema.json");
    check_key(schema, "station", "kind", kinds);
    check_key(schema, "split", "rule", rules);
    check_key(schema, "outlet", "use", uses);
    check_key(schema, "", "aim", aims);
    json_decref(schema);
}

static void words_of_bins_shifts_and_logs(void **state)
{
    (void)state;
    static const char *const shapes[] = {EFI_SHAPE_LIST(WORD) NULL};
    static const char *const hoppers[] = {EFI_HOPPER_LIST(WORD) NULL};
    static const char *const hours[] = {EF_SHIFT_HOURS_LIST(FIRST_WORD) NULL};
    static const char *const forms[] = {EFI_DRAW_KINDS(WORD) NULL};
    json_t *schema = schema_of("docs/schemas/bins.schema.json");
    check_key(schema, "size", "shape", shapes);
    check_key(schema, "size", "hopper", hoppers);
    json_decref(schema);
    schema = schema_of("docs/schemas/shift.schema.json");
    check_properties(rule_of(schema, "station", "hours_h"), hours, 0);
    json_decref(schema);
    schema = schema_of("docs/schemas/learn.schema.json");
    check_key(schema, "form", "form", forms);
    check_key(schema, "times", "form", forms);
    json_decref(schema);
}

/* Collects the words of an enumeration whose last one is known. */
#define COLLECT(words, word_of, type, last)                                                                  \
    const char *words[(last) + 2] = {NULL};                                                                  \
    for (int i = 0; i <= (int)(last); i++)                                                                   \
    (words)[i] = word_of((type)i)

static void words_of_a_season(void **state)
{
    (void)state;
    COLLECT(terms, ef_season_term_word, ef_season_term, EF_SEASON_MOVES);
    COLLECT(states, efi_season_state_word, ef_season_state, EF_SEASON_DONE);
    COLLECT(holds, efi_season_holds_word, ef_season_holds, EF_SEASON_HELD_BY_STATE);
    COLLECT(rates, efi_season_rate_word, ef_season_rate_source, EF_SEASON_RATE_BALANCE);
    COLLECT(times, efi_season_time_word, ef_season_time, EF_SEASON_DAILY_CLEAN);
    json_t *schema = schema_of("docs/schemas/season.schema.json");
    const json_t *cost = json_object_get(json_object_get(schema, "$defs"), "cost");
    check_properties(cost, terms, 1); /* and all together */
    check_key(schema, "lot", "state", states);
    check_key(schema, "run", "held_by", holds);
    check_key(schema, "run", "rate_source", rates);
    check_key(schema, "rate", "source", rates);
    check_key(schema, "stretch", "state", times);
    json_decref(schema);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(words_of_a_balance),
        cmocka_unit_test(words_of_bins_shifts_and_logs),
        cmocka_unit_test(words_of_a_season),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
