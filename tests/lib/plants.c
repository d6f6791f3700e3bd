/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "plants.h"

#include <evenfeed/report.h>
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <stdio.h>
#include <string.h>

#include <cmocka.h>

void plant_verify(const ef_scenario *scenario, const ef_balance *balance)
{
    char *differences = NULL;
    const ef_status status = ef_balance_verify(scenario, balance, &differences);
    if (status != EF_OK)
        (void)fprintf(stderr, "the verifier found:\n%s", differences ? differences : "nothing to compare");
    assert_int_equal(status, EF_OK);
    assert_null(differences);
    ef_report_free(differences);
}

ef_balance *plant_balance(const ef_scenario *scenario, ef_status expected)
{
    const ef_balance_settings settings = ef_balance_defaults();
    return plant_balance_as(scenario, &settings, expected);
}

ef_balance *plant_balance_as(const ef_scenario *scenario, const ef_balance_settings *settings,
                             ef_status expected)
{
    ef_balance *balance = NULL;
    assert_int_equal(ef_balance_solve(scenario, settings, &balance), expected);
    plant_verify(scenario, balance);
    return balance;
}

const ef_balance_crop *plant_crop(const ef_balance *balance, const char *name)
{
    for (int c = 0; c < balance->crop_count; c++)
        if (strcmp(balance->crops[c].name, name) == 0)
            return &balance->crops[c];
    fail_msg("no crop %s", name);
    return NULL;
}

const ef_balance_station *plant_station(const ef_balance_crop *crop, const char *name)
{
    for (int s = 0; s < crop->station_count; s++)
        if (strcmp(crop->stations[s].name, name) == 0)
            return &crop->stations[s];
    fail_msg("no station %s", name);
    return NULL;
}

const ef_balance_outlet *plant_outlet(const ef_balance_crop *crop, const char *name)
{
    for (int o = 0; o < crop->outlet_count; o++)
        if (strcmp(crop->outlets[o].name, name) == 0)
            return &crop->outlets[o];
    fail_msg("no outlet %s", name);
    return NULL;
}

const ef_balance_spout *plant_spout(const ef_balance_crop *crop, const char *from, const char *discharge)
{
    for (int k = 0; k < crop->spout_count; k++)
        if (strcmp(crop->spouts[k].from, from) == 0 && strcmp(crop->spouts[k].discharge, discharge) == 0)
            return &crop->spouts[k];
    fail_msg("no spout %s of %s", discharge, from);
    return NULL;
}

double plant_material(const ef_balance *balance, ef_stream stream, const char *material)
{
    for (int m = 0; m < balance->material_count; m++)
        if (strcmp(balance->materials[m], material) == 0)
            return stream.material_tph[m];
    fail_msg("no material %s", material);
    return 0.0;
}
