/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "shifts.h"

#include <evenfeed/report.h>
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <stdio.h>
#include <string.h>

#include <cmocka.h>

const char shifts_timed[] =
    "evenfeed: 1\nplant: {name: Timed, people: 3, labour price: 20 EUR/h, energy price: 0.5 EUR/kWh}\n"
    "materials: {seed: {wanted: yes}, chaff: }\n"
    "crops: {wheat: {price: 100 EUR/t, receipt: {seed: rest, chaff: 10 %}}}\nstations:\n"
    "  Pit: {kind: intake, capacity: 40 t/h, to: Cleaner}\n"
    "  Cleaner: {kind: machine, capacity: 10 t/h, idle power: 4 kW, energy: 2 kWh/t,\n"
    "    stops: {brush: {every: 2 h, counts: clock, lasts: 30 min, lasts form: fixed}},\n"
    "    discharges: {waste: {takes: {chaff: 100 %}, to: Waste}, seed: {takes: rest, to: Shed}}}\n"
    "  Waste: {kind: outlet, use: feed, price: 50 EUR/t}\n"
    "  Shed: {kind: outlet, product: yes}\n";

void shift_verify(const ef_scenario *scenario, const ef_shift *shift)
{
    char *differences = NULL;
    const ef_status status = ef_shift_verify(scenario, shift, &differences);
    if (status != EF_OK)
        (void)fprintf(stderr, "the verifier found:\n%s", differences ? differences : "nothing to compare");
    ef_report_free(differences);
    assert_int_equal(status, EF_OK);
}

ef_shift *shift_of(const ef_scenario *scenario, ef_shift_settings settings)
{
    ef_shift *shift = NULL;
    char *reason = NULL;
    const ef_status status = ef_shift_run(scenario, &settings, &shift, &reason);
    if (status != EF_OK)
        (void)fprintf(stderr, "status %d: %s\n", (int)status, reason ? reason : "");
    ef_report_free(reason);
    assert_int_equal(status, EF_OK);
    shift_verify(scenario, shift);
    return shift;
}

ef_shift *shift_for(const ef_scenario *scenario, int runs)
{
    ef_shift_settings settings = ef_shift_defaults();
    settings.runs = runs;
    return shift_of(scenario, settings);
}

const ef_shift_station *shift_station(const ef_shift *shift, const char *name)
{
    for (int s = 0; s < shift->station_count; s++)
        if (strcmp(shift->stations[s].name, name) == 0)
            return &shift->stations[s];
    fail_msg("no station %s", name);
    return &shift->stations[0];
}

const ef_shift_group *shift_group(const ef_shift *shift, const char *name)
{
    for (int g = 0; g < shift->group_count; g++)
        if (strcmp(shift->groups[g].name, name) == 0)
            return &shift->groups[g];
    fail_msg("no group %s", name);
    return &shift->groups[0];
}

const ef_shift_remedy *shift_remedy(const ef_shift *shift, const char *station, const char *stop)
{
    for (int i = 0; i < shift->remedy_count; i++) {
        const ef_shift_remedy *one = &shift->remedies[i];
        const bool same = stop ? one->stop && strcmp(one->stop, stop) == 0 : !one->stop;
        if (strcmp(one->station, station) == 0 && same)
            return one;
    }
    fail_msg("no remedy %s %s", station, stop ? stop : "");
    return &shift->remedies[0];
}
