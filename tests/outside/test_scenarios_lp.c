/* SPDX-License-Identifier: GPL-3.0-or-later
 * The linear program of every bundled scenario and crop, written as MPS and solved by clp, gives the same
 * intake. */
#include "base/text.h"

#include "../lib/files.h"
#include "../lib/near.h"
#include "../lib/outside_solver.h"
#include "../lib/plants.h"
#include "../lib/skip.h"

#include <glob.h>
#include <stdlib.h>
#include <unistd.h>

/* An MPS file minimises, so that the objective of this maximisation is written negated. */
static void check_crop(const ef_scenario *scenario, int crop, const char *mps_path)
{
    ef_balance_settings settings = ef_balance_defaults();
    settings.crop = crop;
    settings.write_lp = mps_path;
    settings.overwrite = true;
    ef_balance *balance = NULL;
    const ef_status status = ef_balance_solve(scenario, &settings, &balance);
    assert_true(status == EF_OK || status == EF_NO_ANSWER);
    plant_verify(scenario, balance);
    const outside_result outside = outside_solver_run(mps_path);
    if (status == EF_OK) {
        assert_int_equal(outside.outcome, OUTSIDE_OPTIMAL);
        assert_near_relative(-outside.objective, balance->crops[0].intake.total_tph, 1e-7);
    } else {
        assert_int_equal(outside.outcome, OUTSIDE_INFEASIBLE);
    }
    ef_balance_free(balance);
}

/* Checks every crop of a scenario; returns how many there are. */
static int check_scenario(const char *path)
{
    char *mps_path = scratch_path("program.mps");
    ef_scenario *scenario = plant_load(path);
    const int crops = ef_scenario_crops(scenario);
    for (int crop = 0; crop < crops; crop++) {
        print_message("%s, %s\n", path, ef_scenario_crop(scenario, crop));
        check_crop(scenario, crop, mps_path);
    }
    ef_scenario_free(scenario);
    (void)unlink(mps_path);
    free(mps_path);
    return crops;
}

static void clp_finds_the_same_intake_for_every_scenario_and_crop(void **state)
{
    (void)state;
    if (!outside_solver_is_there())
        ef_test_skip("clp is not installed");
    glob_t found;
    assert_int_equal(glob("scenarios/*.yaml", 0, NULL, &found), 0);
    int crops = 0;
    for (size_t i = 0; i < found.gl_pathc; i++)
        crops += check_scenario(found.gl_pathv[i]);
    globfree(&found);
    assert_true(crops > 0);
    /* materials turned into others, in a loop */
    assert_int_equal(check_scenario("scenarios/examples/huller.yaml"), 1);
}

/* Demands that cannot be met are so for clp too. */
static void clp_finds_no_answer_where_there_is_none(void **state)
{
    (void)state;
    if (!outside_solver_is_there())
        ef_test_skip("clp is not installed");
    ef_scenario *scenario = plant_read("evenfeed: 1\nplant: {name: Plant}\nmaterials: {seed: {wanted: yes}}\n"
                                       "crops: {wheat: {receipt: {seed: rest}}}\nstations:\n"
                                       "  Pit: {kind: intake, capacity: 20 t/h, to: Cleaner}\n"
                                       "  Cleaner: {kind: machine, capacity: 10 t/h, to: Out}\n"
                                       "  Out: {kind: outlet, product: yes, least rate: 11 t/h}\n");
    char *mps_path = scratch_path("torn.mps");
    check_crop(scenario, 0, mps_path);
    (void)unlink(mps_path);
    free(mps_path);
    ef_scenario_free(scenario);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(clp_finds_the_same_intake_for_every_scenario_and_crop),
        cmocka_unit_test(clp_finds_no_answer_where_there_is_none),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
