/* SPDX-License-Identifier: GPL-3.0-or-later
 * Random plants built backwards from a known optimum: the feeds at a chosen rate become the capacities, one
 * of them exactly, the others with room; then the chosen rate is the greatest there is, and the station that
 * limits is known. */
#include "../lib/near.h"
#include "../lib/plants.h"
#include "base/random.h"
#include "base/text.h"

#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <stdio.h>
#include <string.h>

#include <cmocka.h>

enum {
    MACHINES = 9,
    CASES = 150
};

/* What one random plant is made of. */
typedef struct plant {
    double share[MACHINES][2]; /* of the two materials that leave the line at a machine, % */
    double back[MACHINES];     /* of the first material that goes back to the bin before, % */
    double capacity[MACHINES]; /* t/h */
    double intake;             /* t/h */
} plant;

static ef_scenario *read_plant(const plant *p)
{
    efi_text text = {0};
    efi_text_add(&text, "evenfeed: 1\nplant: {name: Random}\nmaterials: {a: {wanted: yes}, b: }\n"
                        "crops: {wheat: {receipt: {a: 80 %, b: 20 %}}}\nstations:\n");
    efi_text_addf(&text, "  Pit: {kind: intake, capacity: %.17g t/h, to: B0}\n", p->intake);
    for (int m = 0; m < MACHINES; m++) {
        efi_text_addf(&text, "  B%d: {kind: bin, to: M%d}\n", m, m);
        efi_text_addf(&text,
                      "  M%d: {kind: machine, capacity: %.17g t/h, discharges: {off: {takes: {a: %.6f %%, b: "
                      "%.6f %%}, to: "
                      "Off}, back: {takes: {a: %.6f %%}, to: B%d}, on: {takes: rest, to: %s%d}}}\n",
                      m, p->capacity[m], p->share[m][0], p->share[m][1], p->back[m], m > 0 ? m - 1 : 0,
                      m + 1 < MACHINES ? "B" : "Out", m + 1);
    }
    efi_text_addf(&text, "  Off: {kind: outlet}\n  Out%d: {kind: outlet, product: yes}\n", MACHINES);
    assert_false(text.failed);
    ef_scenario *scenario = plant_read(efi_text_get(&text));
    efi_text_free(&text);
    return scenario;
}

static void random_plants_reach_the_rate_they_were_built_for(void **state)
{
    (void)state;
    const uint64_t seed = 20261125;
    print_message("seed %llu\n", (unsigned long long)seed);
    efi_random random = efi_random_stream(seed, 0, 0);
    for (int c = 0; c < CASES; c++) {
        plant p = {.intake = 1.0 + 29.0 * efi_random_uniform(&random)};
        for (int m = 0; m < MACHINES; m++) {
            p.capacity[m] = 9000.0;
            p.share[m][0] = 5.0 * efi_random_uniform(&random);
            p.share[m][1] = 60.0 * efi_random_uniform(&random);
            p.back[m] = 30.0 * efi_random_uniform(&random);
        }
        const double rate = p.intake;
        ef_scenario *wide = read_plant(&p);
        ef_balance *feeds = plant_balance(wide, EF_OK);
        const int limit = (int)efi_random_below(&random, MACHINES);
        char name[16];
        for (int m = 0; m < MACHINES; m++) {
            (void)snprintf(name, sizeof name, "M%d", m);
            const double feed = plant_station(&feeds->crops[0], name)->feed.total_tph;
            p.capacity[m] = m == limit ? feed : feed * (1.001 + efi_random_uniform(&random));
        }
        p.intake = 9000.0;
        ef_scenario *narrow = read_plant(&p);
        ef_balance *balance = plant_balance(narrow, EF_OK);
        assert_near_relative(balance->crops[0].intake.total_tph, rate, 1e-9);
        for (int m = 0; m < MACHINES; m++) {
            (void)snprintf(name, sizeof name, "M%d", m);
            assert_int_equal(plant_station(&balance->crops[0], name)->limits, m == limit);
        }
        ef_balance_free(balance);
        ef_scenario_free(narrow);
        ef_balance_free(feeds);
        ef_scenario_free(wide);
    }
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(random_plants_reach_the_rate_they_were_built_for),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
