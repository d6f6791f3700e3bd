/* SPDX-License-Identifier: GPL-3.0-or-later
 * A bin of steel in words and in JSON. */
#include "report/steel.h"

#include "../lib/steel.h"

#include <evenfeed/report.h>
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <string.h>

#include <cmocka.h>

static void add_bin(efi_text *out, const ef_scenario *scenario, double live_m3, ef_units units)
{
    efi_arena *arena = efi_arena_new();
    const efi_steel_need need[2] = {{.crop = 0, .live_m3 = live_m3, .rate_tph = 5.0},
                                    {.crop = 1, .live_m3 = live_m3, .rate_tph = 5.0}};
    const ef_steel steel = steel_for(scenario, need, 2, arena);
    efi_paper paper = {.depth = 1};
    efi_steel_put(&paper, &steel, units);
    efi_paper_text(&paper, out);
    efi_paper_free(&paper);
    efi_arena_free(arena);
}

static void a_bin_is_told_in_plain_words(void **state)
{
    (void)state;
    ef_scenario *scenario = steel_plant(STEEL_WHEAT, "steel: {shape: round, headroom: 5 m, clearance: 2 m}, ",
                                        "");
    efi_text out = {0};
    add_bin(&out, scenario, 3.0, EF_UNITS_METRIC);
    assert_string_equal(
        efi_text_get(&out),
        "  Bin: a round bin of 1.60 m with walls of 1.71 m on a cone at 45°, 750 mm high, outlet 100 mm. "
        "Its\n"
        "  top is 4.46 m above the floor, 2.00 m of it below the outlet; the headroom is 5.00 m. It takes\n"
        "  11.4 m2 of sheet. Filled level to the top it would hold 3.97 m3; a heap fills less:\n"
        "\n"
        "  Crop      Live    Asked  Above heap  Stays behind  Flow       Outlet passes  Next takes\n"
        "  -----  -------  -------  ----------  ------------  ---------  -------------  ----------\n"
        "  wheat  3.10 m3  3.00 m3     0.87 m3       0.00 m3  not known         14 t/h    5.00 t/h\n"
        "  oats   3.00 m3  3.00 m3     0.97 m3       0.00 m3  not known        8.8 t/h    5.00 t/h\n"
        "\n"
        "  wheat, oats: whether all of it moves (mass flow) is not known without \"wall friction\". Until "
        "it\n"
        "  is, take it that only a core moves: first in is not first out, and the lot segregates.\n"
        "  wheat, oats: an open outlet passes more than the next station takes and holds no rate: a "
        "metering\n"
        "  feeder below it does. Under a slot it must draw over the whole length.\n"
        "  Chosen by common practice: a hopper from 45° on, its valleys 5° steeper than the seed slides; an\n"
        "  outlet that passes a fifth more than is asked and does not bridge, 250 mm where nothing is "
        "known;\n"
        "  a freeboard of 150 mm; say otherwise under \"steel\".\n");
    efi_text_free(&out);
    ef_scenario_free(scenario);
}

/* Each reason has its words, and US units reach every number. */
static void what_does_not_fit_is_told_in_plain_words(void **state)
{
    (void)state;
    static const struct {
        const char *bin;
        const char *words;
    } cases[] = {
        {"steel: {shape: round, headroom: 5 m, clearance: 2 m}, ",
         "No headroom: the lowest that holds it needs"},
        {"steel: {shape: round, proportion: 1, most width: 1 m}, ", "It would be wider than 1.00 m. About"},
        {"steel: {shape: round, diameter: 1 m, wall height: 1 m}, ",
         "With the dimensions that are given it holds"},
        {"steel: {shape: round, diameter: 1 m, outlet: 2 m}, ", "go together in no bin"},
    };
    for (size_t i = 0; i < EF_COUNT(cases); i++) {
        ef_scenario *scenario = steel_plant(STEEL_WHEAT, cases[i].bin, "");
        efi_text out = {0};
        add_bin(&out, scenario, 30.0, EF_UNITS_METRIC);
        print_message("%s", efi_text_get(&out));
        assert_non_null(strstr(efi_text_get(&out), cases[i].words));
        efi_text_free(&out);
        if (i + 1 < EF_COUNT(cases)) {
            add_bin(&out, scenario, 30.0, EF_UNITS_US);
            assert_non_null(strstr(efi_text_get(&out), "ft3"));
            assert_null(strstr(efi_text_get(&out), " m3"));
            efi_text_free(&out);
        }
        ef_scenario_free(scenario);
    }
}

/* What a flat floor, a side gate, a fill point off the middle and a narrow outlet give rise to is said. */
static void remarks_name_what_is_wrong(void **state)
{
    (void)state;
    ef_scenario *scenario = steel_plant(
        STEEL_WHEAT,
        "steel: {shape: rectangular, width: 2 m, length: 3 m, wall height: 3 m, hopper angle: 25 deg, "
        "outlet: 20 mm, gate: side, inlet offset: 0.5 m, wall friction: 0.5}, ",
        "");
    efi_text out = {0};
    add_bin(&out, scenario, 1.0, EF_UNITS_METRIC);
    static const char *const words[] = {"wheat, oats: funnel flow is to be expected",
                                        "what stays behind must be cleared",
                                        "filled off-centre it holds less",
                                        "kernels can bridge this outlet",
                                        "outlet 20.0 mm with a side gate",
                                        "a rectangular bin of 3.00 m by 2.00 m"};
    for (size_t i = 0; i < EF_COUNT(words); i++)
        assert_non_null(strstr(efi_text_get(&out), words[i]));
    efi_text_free(&out);
    ef_scenario_free(scenario);
}

static void json_holds_the_bin_and_its_crops(void **state)
{
    (void)state;
    ef_scenario *scenario = steel_plant(STEEL_WHEAT, "", STEEL_STANDARD);
    efi_arena *arena = efi_arena_new();
    const double volumes[] = {2.0, 20.0};
    const char *const words[] = {"\"standard\": \"Middle\"", "\"why\": \"no standard bin\""};
    for (size_t i = 0; i < EF_COUNT(volumes); i++) {
        const ef_steel steel = steel_bin_for(scenario, volumes[i], arena);
        efi_json json = {0};
        char *text = NULL;
        assert_int_equal(efi_json_give(&json, efi_steel_json(&json, &steel), &text), EF_OK);
        assert_non_null(strstr(text, words[i]));
        ef_report_free(text);
        efi_text out = {0};
        efi_paper paper = {0};
        efi_steel_put_cautions(&paper, &steel);
        efi_paper_text(&paper, &out);
        efi_paper_free(&paper);
        assert_non_null(strstr(efi_text_get(&out), "EN 1991-4"));
        assert_non_null(strstr(efi_text_get(&out), "Bin entry kills"));
        assert_non_null(strstr(efi_text_get(&out), "Dust explodes"));
        efi_text_free(&out);
    }
    efi_arena_free(arena);
    ef_scenario_free(scenario);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(a_bin_is_told_in_plain_words),
        cmocka_unit_test(what_does_not_fit_is_told_in_plain_words),
        cmocka_unit_test(remarks_name_what_is_wrong),
        cmocka_unit_test(json_holds_the_bin_and_its_crops),
    };
    return cmocka_run_group_tests_name("steel in words", tests, NULL, NULL);
}
