/* SPDX-License-Identifier: GPL-3.0-or-later
 * The flow diagram: what it writes is what the balance says, and it is well-formed XML. */
#include "base/base.h"

#include "../lib/near.h"
#include "../lib/scenarios.h"

#include <evenfeed/report.h>
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include <cmocka.h>

/* A picture of one crop of a scenario, and the balance it shows. */
typedef struct shown {
    ef_scenario *scenario;
    ef_balance *balance;
    char *svg;
} shown;

static shown show(ef_scenario *scenario, int crop, ef_units units)
{
    shown s = {.scenario = scenario};
    ef_balance_settings settings = ef_balance_defaults();
    settings.crop = crop;
    assert_int_equal(ef_balance_solve(scenario, &settings, &s.balance), EF_OK);
    assert_int_equal(ef_report_flow_svg(s.balance, 0, units, &s.svg), EF_OK);
    return s;
}

static void shown_free(shown *s)
{
    ef_report_free(s->svg);
    ef_balance_free(s->balance);
    ef_scenario_free(s->scenario);
}

static int count(const char *text, const char *words)
{
    int found = 0;
    for (const char *at = strstr(text, words); at; at = strstr(at + 1, words))
        found++;
    return found;
}

/* Every tag closed in its turn, no stray < or &: enough for the XML that is written here. */
static void check_tags(const char *svg)
{
    char open[32][16];
    int depth = 0;
    for (const char *c = svg; *c; c++) {
        if (*c == '&')
            assert_true(strncmp(c, "&amp;", 5) == 0 || strncmp(c, "&lt;", 4) == 0 ||
                        strncmp(c, "&gt;", 4) == 0 || strncmp(c, "&quot;", 6) == 0);
        if (*c != '<')
            continue;
        const char *end = strchr(c, '>');
        if (!end) {
            fail_msg("a tag is not closed: %.20s", c);
            return;
        }
        const bool closing = c[1] == '/';
        const char *name = c + 1 + closing;
        const size_t length = strcspn(name, " />");
        assert_true(length > 0 && length < sizeof open[0]);
        if (closing) {
            assert_true(depth > 0);
            depth--;
            assert_true(strlen(open[depth]) == length && strncmp(open[depth], name, length) == 0);
        } else if (end[-1] != '/') {
            assert_true(depth < 32);
            memcpy(open[depth], name, length);
            open[depth++][length] = '\0';
        }
        assert_null(memchr(c + 1, '<', (size_t)(end - c - 1)));
        c = end;
    }
    assert_int_equal(depth, 0);
}

/* The number after `words` in the picture. */
static double number_after(const char *svg, const char *words)
{
    const char *at = strstr(svg, words);
    if (!at) {
        fail_msg("not in the picture: %s", words);
        return 0.0;
    }
    return strtod(at + strlen(words), NULL);
}

/* Compares every stroke and box with the balance, in t/h as shown with three digits. */
static void check_numbers(const shown *s)
{
    const ef_balance_crop *crop = &s->balance->crops[0];
    int limits = 0;
    for (int k = 0; k < crop->spout_count; k++) {
        const ef_balance_spout *spout = &crop->spouts[k];
        char words[256];
        (void)snprintf(words, sizeof words, "<g><title>%s%s%s, to %s: ", spout->from,
                       spout->discharge[0] ? ", " : "", spout->discharge, spout->to);
        assert_near_absolute(number_after(s->svg, words), spout->flow.total_tph,
                             0.0051 * spout->flow.total_tph + 5e-7);
    }
    for (int i = 0; i < crop->station_count; i++) {
        const ef_balance_station *station = &crop->stations[i];
        char words[256];
        (void)snprintf(words, sizeof words, "<g><title>%s (%s): ", station->name, station->kind);
        assert_near_absolute(number_after(s->svg, words), station->feed.total_tph,
                             0.0051 * station->feed.total_tph);
        limits += station->limits;
    }
    assert_int_equal(count(s->svg, "<path class=\"box"), crop->station_count);
    assert_int_equal(count(s->svg, "<path class=\"stream"), crop->spout_count + 3);
    assert_int_equal(count(s->svg, ", limits"), 2 * limits); /* in the box, and pointed at */
}

static void test_numbers(void **state)
{
    (void)state;
    shown cereal = show(plant_load("scenarios/cereal-seed.yaml"), 0, EF_UNITS_METRIC);
    check_tags(cereal.svg);
    check_numbers(&cereal);
    shown_free(&cereal);
    shown pulses = show(plant_load("scenarios/pulses-export.yaml"), 1, EF_UNITS_METRIC);
    check_tags(pulses.svg);
    check_numbers(&pulses);
    shown_free(&pulses);
}

#define PLANT                                                                                                \
    "evenfeed: 1\nplant: {name: 'Mill & Sons <old> \"shed\"'}\nmaterials: {sound: {wanted: yes}}\n"          \
    "crops: {wheat: {receipt: {sound: rest}}}\nstations:\n"                                                  \
    "  Pit & leg: {kind: intake, capacity: 20 t/h, to: A rather long name of a cleaning machine}\n"          \
    "  A rather long name of a cleaning machine: {kind: machine, capacity: 8 t/h, to: Seed}\n"               \
    "  Seed: {kind: outlet, product: yes}\n"

static void test_names(void **state)
{
    (void)state;
    shown s = show(plant_read(PLANT), 0, EF_UNITS_METRIC);
    check_tags(s.svg);
    assert_int_equal(count(s.svg, "Mill &amp; Sons &lt;old&gt; &quot;shed&quot;: wheat"), 2);
    assert_int_equal(count(s.svg, ">A rather long name</text>"), 0);
    assert_int_equal(count(s.svg, ">A rather long name of</text>"), 1);
    assert_int_equal(count(s.svg, ">a cleaning machine</text>"), 1);
    shown_free(&s);
}

static void test_wrong_crop(void **state)
{
    (void)state;
    shown s = show(plant_read(PLANT), 0, EF_UNITS_METRIC);
    char *text = NULL;
    assert_int_equal(ef_report_flow_svg(s.balance, 1, EF_UNITS_METRIC, &text), EF_USAGE);
    assert_int_equal(ef_report_flow_svg(s.balance, -1, EF_UNITS_METRIC, &text), EF_USAGE);
    assert_null(text);
    shown_free(&s);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_numbers),
        cmocka_unit_test(test_names),
        cmocka_unit_test(test_wrong_crop),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
