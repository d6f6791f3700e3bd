/* SPDX-License-Identifier: GPL-3.0-or-later
 * The page of a report: what is read back from it is what the answers say; what could not be had is told. */
#include "base/base.h"

#include "../lib/near.h"
#include "../lib/plants.h"

#include <evenfeed/report.h>
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include <cmocka.h>

enum {
    FEW_RUNS = 30
};

/* To be freed with ef_report_free. */
static void write_html(const ef_report_answers *answers, char **text)
{
    *text = NULL;
    assert_int_equal(ef_report_html(answers, text), EF_OK);
    assert_non_null(*text);
}

static ef_report_answers answers_for(const ef_scenario *scenario)
{
    return (ef_report_answers){.plant = ef_scenario_plant(scenario), .scenario_file = "plant.yaml"};
}

static void assert_has(const char *text, const char *words)
{
    if (!strstr(text, words))
        fail_msg("\"%s\" is not on the page", words);
}

static void assert_has_not(const char *text, const char *words)
{
    if (strstr(text, words))
        fail_msg("\"%s\" is on the page", words);
}

/* The number for sorting of the next cell that has one, before the end of the row. */
static double next_number(const char **at)
{
    const char *found = strstr(*at, "data-n=\"");
    assert_non_null(found);
    assert_true(found < strstr(*at, "</tr>"));
    *at = found + strlen("data-n=\"");
    return strtod(*at, NULL);
}

/* The row of a table that begins with a name. */
static const char *row_of(const char *table, const char *name)
{
    char head[200]; /* a short name is not broken, and says so */
    (void)snprintf(head, sizeof head, "<tr><th scope=\"row\" class=\"s\">%s</th>", name);
    const char *row = strstr(table, head);
    if (!row) {
        (void)snprintf(head, sizeof head, "<tr><th scope=\"row\">%s</th>", name);
        row = strstr(table, head);
    }
    if (row && row < strstr(table, "</table>"))
        return row;
    fail_msg("no row of %s", name);
    return "";
}

static void stations_on_the_page_have_the_feeds_of_the_balance(void **state)
{
    (void)state;
    ef_scenario *scenario = plant_load("scenarios/cereal-seed.yaml");
    ef_balance *balance = plant_balance(scenario, EF_OK);
    ef_report_answers answers = answers_for(scenario);
    answers.balance = balance;
    char *page;
    write_html(&answers, &page);
    const char *table = page;
    int seen = 0;
    for (int c = 0; c < balance->crop_count; c++) {
        const ef_balance_crop *crop = &balance->crops[c];
        table = strstr(table + 1, "<table data-name=\"stations\"");
        assert_non_null(table);
        for (int s = 0; s < crop->station_count; s++) {
            const ef_balance_station *station = &crop->stations[s];
            if (strcmp(station->kind, "outlet") == 0)
                continue;
            const char *row = row_of(table, station->name);
            const double feed = station->has_capacity ? station->feed_in_unit : station->feed.total_tph;
            assert_near(next_number(&row), feed, 1e-10);
            if (station->has_capacity) {
                assert_near(next_number(&row), station->capacity, 1e-10);
                assert_near(next_number(&row), station->load * 100.0, 1e-10);
            }
            seen++;
        }
    }
    assert_true(seen > 30);
    ef_report_free(page);
    ef_balance_free(balance);
    ef_scenario_free(scenario);
}

static void every_crop_of_a_shift_is_in_the_look_over_all(void **state)
{
    (void)state;
    ef_scenario *scenario = plant_load("scenarios/cereal-seed.yaml");
    ef_balance *balance = plant_balance(scenario, EF_OK);
    ef_shift_settings settings = ef_shift_defaults();
    ef_shift *shifts[2] = {NULL};
    settings.runs = FEW_RUNS;
    settings.remedies = false;
    for (settings.crop = 0; settings.crop < 2; settings.crop++)
        assert_int_equal(ef_shift_run(scenario, &settings, &shifts[settings.crop], NULL), EF_OK);
    ef_report_answers answers = answers_for(scenario);
    answers.balance = balance;
    answers.shifts = (const ef_shift *const *)shifts;
    answers.shift_count = 2;
    char *page;
    write_html(&answers, &page);
    const char *table = strstr(page, "<table data-name=\"crops\"");
    assert_non_null(table);
    for (int i = 0; i < 2; i++) {
        const ef_shift_stream *product = &shifts[i]->groups[0].streams[1];
        const char *row = row_of(table, shifts[i]->crop);
        assert_near(next_number(&row), balance->crops[i].intake.total_tph, 1e-10);
        assert_near(next_number(&row), balance->crops[i].product.total_tph, 1e-10);
        assert_near(next_number(&row), product->p10_t.value, 1e-10);
        assert_near(next_number(&row), product->p50_t.value, 1e-10);
        assert_near(next_number(&row), product->p90_t.value, 1e-10);
        ef_shift_free(shifts[i]);
    }
    ef_report_free(page);
    ef_balance_free(balance);
    ef_scenario_free(scenario);
}

static void what_could_not_be_had_is_a_sentence_in_its_place(void **state)
{
    (void)state;
    ef_scenario *scenario = plant_load("scenarios/cereal-seed.yaml");
    const ef_report_missing missing = {"shift", "wheat: it cannot run & so on"};
    ef_report_answers answers = answers_for(scenario);
    answers.missing = &missing;
    answers.missing_count = 1;
    char *page;
    write_html(&answers, &page);
    assert_has(page, "<section id=\"scheduler\"");
    assert_has(page, "<strong>Not answered:</strong> wheat: it cannot run &amp; so on</p>");
    assert_has_not(page, "<section id=\"designer\"");
    assert_has_not(page, "<section id=\"balance\"");
    ef_report_free(page);
    ef_scenario_free(scenario);
}

static void cautions_and_the_command_are_always_there(void **state)
{
    (void)state;
    ef_scenario *scenario = plant_load("scenarios/cereal-seed.yaml");
    ef_report_answers answers = answers_for(scenario);
    answers.command = "evenfeed report 'a<b>.yaml'";
    char *page;
    write_html(&answers, &page);
    static const char version[] = "evenfeed " EF_VERSION;
    static const char *const words[] = {"confined spaces",
                                        "Dust explodes",
                                        "Guards stay on",
                                        "Treated seed",
                                        "Local codes and licensed practice come first",
                                        "<code>evenfeed report 'a&lt;b&gt;.yaml'</code>",
                                        version};
    for (size_t i = 0; i < EF_COUNT(words); i++)
        assert_has(page, words[i]);
    ef_report_free(page);
    ef_scenario_free(scenario);
}

static void a_plant_without_answer_says_what_contradicts(void **state)
{
    (void)state;
    ef_scenario *scenario = plant_read(
        "evenfeed: 1\n"
        "plant: {name: Test}\n"
        "materials: {sound: {wanted: yes}, light: }\n"
        "crops: {wheat: {density: 0.8 t/m3, receipt: {sound: rest, light: 6 %}}}\n"
        "stations:\n"
        "  Pit: {kind: intake, capacity: 40 t/h, to: Shed}\n"
        "  Shed: {kind: outlet, product: yes, least purity: 99 %}\n");
    ef_balance *balance = plant_balance(scenario, EF_NO_ANSWER);
    ef_report_answers answers = answers_for(scenario);
    answers.balance = balance;
    char *page;
    write_html(&answers, &page);
    assert_has(page, "no rate meets all demands");
    assert_has(page, "<strong>Attention:</strong> Shed must be at least");
    assert_has_not(page, "<svg");
    ef_report_free(page);
    ef_balance_free(balance);
    ef_scenario_free(scenario);
}

static void tables_come_one_by_one_with_names(void **state)
{
    (void)state;
    ef_scenario *scenario = plant_load("scenarios/cereal-seed.yaml");
    ef_balance *balance = plant_balance(scenario, EF_OK);
    ef_report_answers answers = answers_for(scenario);
    answers.balance = balance;
    bool stations = false;
    int count = 0;
    for (;; count++) {
        char *name = NULL;
        char *text = NULL;
        const ef_status status = ef_report_csv(&answers, count, &name, &text);
        if (status == EF_NO_ANSWER)
            break;
        assert_int_equal(status, EF_OK);
        if (strcmp(name, "balance-barley-stations") == 0) {
            stations = true;
            assert_has(text, "Station,Feed,Feed unit,Capacity,Capacity unit,Load [%],Line,Remarks\n");
            assert_has(text, "\nDebearder,");
        }
        ef_report_free(name);
        ef_report_free(text);
    }
    assert_true(stations);
    assert_true(count >= 6);
    ef_balance_free(balance);
    ef_scenario_free(scenario);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(stations_on_the_page_have_the_feeds_of_the_balance),
        cmocka_unit_test(every_crop_of_a_shift_is_in_the_look_over_all),
        cmocka_unit_test(what_could_not_be_had_is_a_sentence_in_its_place),
        cmocka_unit_test(cautions_and_the_command_are_always_there),
        cmocka_unit_test(a_plant_without_answer_says_what_contradicts),
        cmocka_unit_test(tables_come_one_by_one_with_names),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
