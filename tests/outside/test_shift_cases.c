/* SPDX-License-Identifier: GPL-3.0-or-later
 * Printed worked examples on availability, effectiveness, daily output and flushing, met by the shift and the
 * trace. Source and precision stand beside each. */
#include "../lib/near.h"
#include "../lib/shifts.h"
#include "../lib/traces.h"

#include "shared/statistics/effectiveness.h"

#include <evenfeed/shift.h>
#include <evenfeed/trace.h>
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <stdio.h>

#include <cmocka.h>

/* ---- effectiveness, as figures --------------------------------------------------------------------------
 */

/* "TPM - A Route to World-Class Performance", p. 127: 910 min planned, 115 min of stoppages and 12 min of
 * changeovers, a cycle of 3 min, 203 cycles: availability 86.0 %, performance 77.7 % as printed (203 x 3 /
 * 783 is 77.78 %). */
static void a_printed_day_of_a_press(void **state)
{
    (void)state;
    const efi_effectiveness e = efi_effectiveness_of(910.0 / 60.0, (910.0 - 115.0 - 12.0) / 60.0, 20.0, 203.0,
                                                     203.0);
    assert_near_absolute(e.availability, 0.860, 0.0005);
    assert_near_absolute(e.performance, 0.777, 0.001);
    assert_near_absolute(e.product, 0.6692, 0.0001);
}

/* A quality-management exercise: 2 shifts x 8 h x 5 days, 76 + 135 min of downtime a day, 1,235 made of which
 * 35 rejects, 1,500 in the planned time less 10 %. The inputs are printed, the answers our own arithmetic. */
static void a_printed_week(void **state)
{
    (void)state;
    const double planned_h = 4800.0 / 60.0;
    const double running_h = (4800.0 - 5 * (76.0 + 135.0)) / 60.0;
    const efi_effectiveness e = efi_effectiveness_of(planned_h, running_h, 1500.0 / (0.9 * planned_h), 1235.0,
                                                     1200.0);
    assert_near_absolute(e.availability, 0.7802, 0.0001);
    assert_near_absolute(e.performance, 0.9497, 0.0001);
    assert_near_absolute(e.quality, 0.9717, 0.0001);
    assert_near_absolute(e.product, 0.720, 0.0005);
}

/* A widely reprinted example (from memory, its arithmetic checked): 420 min planned, 47 min of stops, 60 a
 * minute, 19,271 made, 423 bad: 88.81 %, 86.11 %, 97.80 %, together 74.79 %. */
static void a_widely_reprinted_shift(void **state)
{
    (void)state;
    const efi_effectiveness e = efi_effectiveness_of(7.0, 373.0 / 60.0, 3600.0, 19271.0, 19271.0 - 423.0);
    assert_near_absolute(e.availability, 0.8881, 0.00005);
    assert_near_absolute(e.performance, 0.8611, 0.00005);
    assert_near_absolute(e.quality, 0.9780, 0.00005);
    assert_near_absolute(e.product, 0.7479, 0.00005);
}

/* ---- the same, met by simulated plants ------------------------------------------------------------------
 */

/* The widely reprinted shift on a line of 60 t/h, held to 86.11 % of it by what comes, with stops of 47 min
 * in all: availability and performance are the printed ones. */
static void a_simulated_shift_has_the_printed_effectiveness(void **state)
{
    (void)state;
    ef_scenario *scenario = plant_read(
        "evenfeed: 1\nplant: {name: Reprinted, shift length: 7 h}\nmaterials: {seed: {wanted: yes}}\n"
        "crops: {wheat: {receipt: {seed: 100 %}}}\nstations:\n"
        "  Pit: {kind: intake, capacity: 51.6658 t/h, to: Bagger}\n"
        "  Bagger: {kind: bagger, capacity: 60 t/h, to: Shed,\n"
        "    stops: {bags: {every: 3.5 h, counts: clock, lasts: 23.5 min, lasts form: fixed}}}\n"
        "  Shed: {kind: outlet, product: yes}\n");
    ef_shift_settings settings = ef_shift_defaults();
    settings.runs = 2;
    ef_shift *shift = shift_of(scenario, settings);
    const ef_shift_station *bagger = shift_station(shift, "Bagger");
    const double running_h = bagger->hours[EF_SHIFT_FULL_RATE] + bagger->hours[EF_SHIFT_SLOW];
    assert_near_absolute(running_h / shift->counted_h, 0.8881, 0.00005);
    assert_near_absolute(bagger->taken_t / (bagger->rate_tph * running_h), 0.8611, 0.00005);
    ef_shift_free(shift);
    ef_scenario_free(scenario);
}

/* Availability = mean time between failures over that and the time to repair: 900/(900 + 100) = 0.900 (a
 * reliability tutorial), 1,000/(1,000 + 5) = 0.995 (a reliability teaching text), 50/(50 + 10) = 0.8333 (a
 * reliability reference), and 5,000/(5,000 + 6) = 0.998801 (a statistics exercise). The times are scaled to a
 * shift: only their ratio counts. */
static void simulated_availability_is_that_of_the_books(void **state)
{
    (void)state;
    const struct {
        double between_h, lasts_h, availability;
    } cases[] = {{0.9, 0.1, 0.900}, {1.0, 0.005, 0.995025}, {0.5, 0.1, 0.8333}, {1.0, 0.0012, 0.998801}};
    for (size_t i = 0; i < sizeof cases / sizeof cases[0]; i++) {
        char text[600];
        snprintf(text, sizeof text,
                 "evenfeed: 1\nplant: {name: Book}\nmaterials: {seed: {wanted: yes}}\n"
                 "crops: {wheat: {receipt: {seed: 100 %%}}}\nstations:\n"
                 "  Pit: {kind: intake, capacity: 40 t/h, to: Mill}\n"
                 "  Mill: {kind: machine, capacity: 10 t/h, to: Shed,\n"
                 "    stops: {failure: {between: %g h, lasts: %g h}}}\n"
                 "  Shed: {kind: outlet, product: yes}\n",
                 cases[i].between_h, cases[i].lasts_h);
        ef_scenario *scenario = plant_read(text);
        ef_shift_settings settings = ef_shift_defaults();
        settings.runs = 4000;
        settings.remedies = false;
        ef_shift *shift = shift_of(scenario, settings);
        const ef_shift_estimate product = shift->groups[0].streams[1].mean_t;
        /* the line makes 80 t a shift times its availability; four standard errors, seed 1 */
        const double error_t = (product.high - product.low) / (2.0 * 1.96);
        assert_near_absolute(product.value, 80.0 * cases[i].availability, 4.0 * error_t + 0.004);
        assert_near_absolute(shift->availability, cases[i].availability, 4.0 * error_t / 80.0 + 0.00005);
        ef_shift_free(shift);
        ef_scenario_free(scenario);
    }
}

/* An Indian project profile, "Agro seed processing plant", February 2009: nameplate 2 t/h, three shifts, 35 t
 * of wheat a day, 180 days: 72.9 % of the nameplate (35/48), 6,300 t a year; the profile plans with 4,540 t.
 * A plant that stands for 27.1 % of its time makes that. */
static void three_shifts_a_day_make_the_printed_tonnes(void **state)
{
    (void)state;
    ef_scenario *scenario = plant_read(
        "evenfeed: 1\nplant: {name: Profile}\nmaterials: {seed: {wanted: yes}}\n"
        "crops: {wheat: {receipt: {seed: 100 %}}}\nstations:\n"
        "  Pit: {kind: intake, capacity: 6 t/h, to: Line}\n"
        "  Line: {kind: machine, capacity: 2 t/h, to: Shed,\n"
        "    stops: {all: {every: 2 h, counts: clock, lasts: 32.5 min, lasts form: fixed}}}\n"
        "  Shed: {kind: outlet, product: yes}\n"
        "calendar: {start: 2026-08-31, shifts: {a: {days: daily, from: 06:00, to: 14:00}, b: {days: daily, "
        "from: 14:00,\n"
        "  to: 22:00}, c: {days: daily, from: 22:00, to: 06:00}}}\n");
    ef_shift_settings settings = ef_shift_defaults();
    settings.runs = 2;
    settings.days = 180;
    settings.remedies = false;
    ef_shift *shift = shift_of(scenario, settings);
    for (int g = 0; g < shift->group_count; g++)
        if (shift->groups[g].sort == EF_SHIFT_DAY)
            assert_near_absolute(shift->groups[g].streams[1].mean_t.value, 35.0, 0.05);
    const double year_t = shift->groups[0].streams[1].mean_t.value * shift->period_count;
    assert_near(year_t, 6300.0, 0.002);
    assert_near_absolute(shift->availability, 0.729, 0.0005);
    ef_shift_free(shift);
    ef_scenario_free(scenario);
}

/* Trans. ASAE 46(6):1625-1631, 2003: behind a leg of 47 t/h the grain holds over 1 % of the one before for 38
 * s at the most and under 0.5 % after 76 s, which is the first metric ton; 38 s are 0.496 t. */
static void a_leg_passes_the_first_tonne_in_the_printed_seconds(void **state)
{
    (void)state;
    ef_scenario *scenario = plant_read("evenfeed: 1\nplant: {name: Leg}\nmaterials: {seed: {wanted: yes}}\n"
                                       "crops: {wheat: {receipt: {seed: 100 %}}}\nstations:\n"
                                       "  Pit: {kind: intake, capacity: 80 t/h, to: Leg}\n"
                                       "  Leg: {kind: elevator, capacity: 47 t/h, to: Bin site}\n"
                                       "  Bin site: {kind: outlet, product: yes}\n");
    const struct {
        double seconds, tonnes;
    } cases[] = {{38.0, 0.496}, {76.0, 0.992}};
    for (size_t i = 0; i < sizeof cases / sizeof cases[0]; i++) {
        ef_trace *trace = trace_for(scenario, cases[i].seconds / 3600.0);
        assert_near_absolute(trace->product_t, cases[i].tonnes, 0.0005);
        ef_trace_free(trace);
    }
    ef_scenario_free(scenario);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(a_printed_day_of_a_press),
        cmocka_unit_test(a_printed_week),
        cmocka_unit_test(a_widely_reprinted_shift),
        cmocka_unit_test(a_simulated_shift_has_the_printed_effectiveness),
        cmocka_unit_test(simulated_availability_is_that_of_the_books),
        cmocka_unit_test(three_shifts_a_day_make_the_printed_tonnes),
        cmocka_unit_test(a_leg_passes_the_first_tonne_in_the_printed_seconds),
    };
    return cmocka_run_group_tests_name("shift cases", tests, NULL, NULL);
}
