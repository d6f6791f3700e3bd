/* SPDX-License-Identifier: GPL-3.0-or-later
 * The balance against published figures, and against closed forms where no published example was found. The
 * source and what it prints stand beside each case. */
#include "../lib/near.h"
#include "../lib/plants.h"

#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <string.h>

#include <cmocka.h>

#define EXACT 1e-12

/* A scenario and its balance. */
typedef struct bench {
    ef_scenario *scenario;
    ef_balance *balance;
    const ef_balance_crop *crop; /* the first */
} bench;

static bench bench_new(const char *text)
{
    bench b = {.scenario = plant_read(text)};
    b.balance = plant_balance(b.scenario, EF_OK);
    b.crop = &b.balance->crops[0];
    return b;
}

static void bench_free(bench *b)
{
    ef_balance_free(b->balance);
    ef_scenario_free(b->scenario);
}

/*
 * Maize over a density table, DON 2.7 ppm in the feed, five fractions: "heaviest fraction 70 % of mass at
 * about 40 % of the feed's DON concentration". Source: Ontario ministry of agriculture, Crop Talk 2019, fig.
 * 1 (inputs). Worked out: the heaviest carries 0.70 x 0.40 = 28 % of the toxin, the other 30 % of the mass 72
 * %, 2.4 times the feed's concentration, 6.5 ppm in the mean (6.48).
 *
 * Grain and toxin are two materials, the toxin drawn a thousand times too heavy: 0.27 % of the receipt
 * for 2.7 ppm. Its weight counts, so the share of grain that goes to the light part is set such that the
 * whole stream parts 70 : 30: 0.7 = (1 - share) 0.9973 + 0.28 x 0.0027.
 */
static void maize_over_a_density_table_leaves_the_toxin_in_the_light_part(void **state)
{
    (void)state;
    bench b = bench_new("evenfeed: 1\nplant: {name: Density table}\n"
                        "materials: {grain: {wanted: yes}, toxin: }\n"
                        "crops: {maize: {receipt: {grain: rest, toxin: 0.27 %}}}\nstations:\n"
                        "  Pit: {kind: intake, capacity: 10 t/h, to: Deck}\n"
                        "  Deck: {kind: density separator, capacity: 30 t/h, discharges: {"
                        "light: {takes: {grain: 29.88629299107591 %, toxin: 72 %}, to: Light},"
                        " heavy: {takes: rest, to: Heavy}}}\n"
                        "  Light: {kind: outlet}\n  Heavy: {kind: outlet, product: yes}\n");
    const ef_balance_outlet *heavy = plant_outlet(b.crop, "Heavy");
    const ef_balance_outlet *light = plant_outlet(b.crop, "Light");
    const double toxin = plant_material(b.balance, b.crop->intake, "toxin");
    const double in_heavy = plant_material(b.balance, heavy->flow, "toxin");
    const double in_light = plant_material(b.balance, light->flow, "toxin");
    assert_near(b.crop->yield, 0.70, EXACT);
    assert_near(in_heavy / toxin, 0.28, EXACT);
    assert_near(in_light / toxin, 0.72, EXACT);
    const double ppm_feed = 1e3 * toxin / b.crop->intake.total_tph;
    assert_near(ppm_feed, 2.7, EXACT);
    assert_near(1e3 * in_heavy / heavy->flow.total_tph / ppm_feed, 0.40, EXACT);
    assert_near(1e3 * in_light / light->flow.total_tph / ppm_feed, 2.4, EXACT);
    assert_near_absolute(1e3 * in_light / light->flow.total_tph, 6.5, 0.05); /* as printed, one decimal */
    bench_free(&b);
}

/* clean = raw (1 - foreign matter): 1,000 kg at 4 % give 960 kg clean and 40 kg out. Source: post-harvest
 * teaching note (unnamed, arithmetic only). Exact. */
static void raw_less_foreign_matter_is_clean(void **state)
{
    (void)state;
    bench b = bench_new("evenfeed: 1\nplant: {name: Cleaning}\n"
                        "materials: {grain: {wanted: yes}, foreign matter: }\n"
                        "crops: {wheat: {receipt: {grain: rest, foreign matter: 4 %}}}\nstations:\n"
                        "  Pit: {kind: intake, capacity: 1 t/h, to: Cleaner}\n"
                        "  Cleaner: {kind: air-screen cleaner, capacity: 5 t/h, discharges: {"
                        "out: {takes: {foreign matter: 100 %}, to: Out}, clean: {takes: rest, to: Clean}}}\n"
                        "  Out: {kind: outlet}\n  Clean: {kind: outlet, product: yes}\n");
    assert_near(1000.0 * plant_outlet(b.crop, "Clean")->flow.total_tph, 960.0, EXACT);
    assert_near(1000.0 * plant_outlet(b.crop, "Out")->flow.total_tph, 40.0, EXACT);
    assert_near(b.crop->purity, 1.0, EXACT);
    bench_free(&b);
}

/* A deck with returned middlings; no published example was found. Closed form: fresh feed F = 8 t/h, r = 20 %
 * of the deck feed returned, X = F / (1 - r) = 10 t/h, return 2 t/h; lights 5 % of the deck feed 0.5 t/h,
 * heavies 7.5 t/h; 8 = 7.5 + 0.5. The capacity that counts is that against X. Exact. */
static void middlings_count_against_the_deck(void **state)
{
    (void)state;
    bench b = bench_new("evenfeed: 1\nplant: {name: Middlings}\nmaterials: {seed: {wanted: yes}}\n"
                        "crops: {wheat: {receipt: {seed: rest}}}\nstations:\n"
                        "  Pit: {kind: intake, capacity: 9 t/h, to: Bin}\n"
                        "  Bin: {kind: bin, to: Deck}\n"
                        "  Deck: {kind: density separator, capacity: 10 t/h, discharges: {"
                        "middlings: {takes: {seed: 20 %}, to: Bin}, lights: {takes: {seed: 5 %}, to: Lights},"
                        " heavies: {takes: rest, to: Heavies}}}\n"
                        "  Lights: {kind: outlet}\n  Heavies: {kind: outlet, product: yes}\n");
    assert_near(b.crop->intake.total_tph, 8.0, EXACT); /* not the 9 t/h that the pit takes */
    assert_near(plant_station(b.crop, "Deck")->feed.total_tph, 10.0, EXACT);
    assert_true(plant_station(b.crop, "Deck")->limits);
    assert_near(plant_spout(b.crop, "Deck", "middlings")->flow.total_tph, 2.0, EXACT);
    assert_near(plant_outlet(b.crop, "Lights")->flow.total_tph, 0.5, EXACT);
    assert_near(plant_outlet(b.crop, "Heavies")->flow.total_tph, 7.5, EXACT);
    bench_free(&b);
}

/* The rule of thumb (common practice) of a quarter of an hour above a density separator of 10 t/h: 2.5 t;
 * wheat of 60 lb per bushel of 2150.42 cubic inches is 772.31 kg/m3, so 3.237 m3, or 2.5 t / 27.2155422 kg
 * = 91.859 bushels. Factors: 1 lb = 0.45359237 kg, 1 in = 0.0254 m, 1 US bushel = 2150.42 in3 (NIST Handbook
 * 44, appendix C). */
static void a_quarter_of_an_hour_of_wheat_is_its_volume(void **state)
{
    (void)state;
    bench b = bench_new("evenfeed: 1\nplant: {name: Rule}\nmaterials: {seed: {wanted: yes}}\n"
                        "crops: {wheat: {test weight: 60 lb/bu, receipt: {seed: rest}}}\nstations:\n"
                        "  Pit: {kind: intake, capacity: 40 t/h, to: Bin}\n"
                        "  Bin: {kind: bin, live volume: 3.237 m3, to: Deck}\n"
                        "  Deck: {kind: density separator, capacity: 10 t/h, discharges: {"
                        "lights: {takes: {seed: 5 %}, to: Lights}, heavies: {takes: rest, to: Heavies}}}\n"
                        "  Lights: {kind: outlet}\n  Heavies: {kind: outlet, product: yes}\n");
    assert_int_equal(b.crop->bin_count, 1);
    const ef_balance_bin *bin = &b.crop->bins[0];
    assert_near(bin->rule_t, 2.5, EXACT);
    assert_near_absolute(bin->rule_m3, 3.237, 0.0005);
    const double inch_m = 0.0254;
    const double bushel_m3 = 2150.42 * inch_m * inch_m * inch_m;
    const double bushel_t = 60.0 * 0.45359237e-3;
    assert_near_absolute(1e3 * bushel_t / bushel_m3, 772.31, 0.005);
    assert_near(bin->rule_bushel, 2.5 / bushel_t, EXACT);
    assert_near_absolute(bin->rule_bushel, 91.859, 0.0005);
    assert_near(bin->rule_m3, 2.5 / bushel_t * bushel_m3, EXACT);
    assert_near_absolute(bin->live_minutes, 15.0, 0.005);
    bench_free(&b);
}

#define STAGE(name, loss, next)                                                                              \
    "  " name ": {kind: machine, capacity: 90 t/h, discharges: {loss: {takes: {seed: " loss                  \
    "}, to: Losses}, "                                                                                       \
    "on: {takes: rest, to: " next "}}}\n"
#define STAGES                                                                                               \
    STAGE("Scalping", "1 %", "Cleaning")                                                                     \
    STAGE("Cleaning", "5 %", "Grading")                                                                      \
    STAGE("Grading", "2 %", "Deck")                                                                          \
    STAGE("Deck", "3 %", "Sorting")                                                                          \
    STAGE("Sorting", "1 %", "Bagging") "  Losses: {kind: outlet}\n  Bags: {kind: outlet, product: yes}\n"
#define LOSS_HEAD                                                                                            \
    "evenfeed: 1\nplant: {name: Losses}\nmaterials: {seed: {wanted: yes}}\n"                                 \
    "crops: {wheat: {receipt: {seed: rest}}}\nstations:\n"

/* Losses by stage 1, 5, 2, 3 and 1 % of the stage's feed; closed form: yield 0.99 x 0.95 x 0.98 x 0.97 x 0.99
 * = 0.88510; 10 t/h at the intake are 8.851 t/h bagged, and 10 t/h bagged ask for 11.298 t/h at the intake.
 * Half of the last digit. */
static void losses_of_five_stages_multiply(void **state)
{
    (void)state;
    bench from_pit = bench_new(LOSS_HEAD "  Pit: {kind: intake, capacity: 10 t/h, to: Scalping}\n"
                                         "  Bagging: {kind: bagger, capacity: 40 t/h, to: Bags}\n" STAGES);
    assert_near_absolute(from_pit.crop->yield, 0.88510, 5e-6);
    assert_near_absolute(plant_station(from_pit.crop, "Bagging")->feed.total_tph, 8.851, 5e-4);
    bench_free(&from_pit);
    bench to_bags = bench_new(LOSS_HEAD "  Pit: {kind: intake, capacity: 40 t/h, to: Scalping}\n"
                                        "  Bagging: {kind: bagger, capacity: 10 t/h, to: Bags}\n" STAGES);
    assert_near_absolute(to_bags.crop->intake.total_tph, 11.298, 5e-4);
    assert_near(to_bags.crop->product.total_tph, 10.0, EXACT);
    assert_near(plant_station(to_bags.crop, "Bagging")->worth_intake_tph,
                to_bags.crop->intake.total_tph / 10.0, 1e-9);
    bench_free(&to_bags);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(maize_over_a_density_table_leaves_the_toxin_in_the_light_part),
        cmocka_unit_test(raw_less_foreign_matter_is_clean),
        cmocka_unit_test(middlings_count_against_the_deck),
        cmocka_unit_test(a_quarter_of_an_hour_of_wheat_is_its_volume),
        cmocka_unit_test(losses_of_five_stages_multiply),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
