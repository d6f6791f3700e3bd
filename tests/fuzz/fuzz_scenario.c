/* SPDX-License-Identifier: GPL-3.0-or-later
 * Any bytes as a scenario. Every finding has texts that can be printed and a place inside the file, in order;
 * a file without errors is a scenario, one with errors is none; reading again says the same. A small plant is
 * also balanced and the answer verified, to see that neither breaks down: whether they agree is the business
 * of tests/answers. */
#include "model/scenario.h"

#include <evenfeed/balance.h>
#include <evenfeed/report.h>
#include <stdint.h>
#include <stdlib.h>
#include <string.h>
#include <unistr.h>

int LLVMFuzzerTestOneInput(const uint8_t *data, size_t size);

enum {
    MOST_STATIONS = 40, /* of a plant that is balanced */
    MOST_CROPS = 4,
    MOST_MATERIALS = 10
};

/* Figures that a plant may have: the solver is not asked about others. */
#define LEAST_FIGURE 1e-2
#define MOST_FIGURE  1e4

static void demand(bool property)
{
    if (!property)
        abort();
}

/* UTF-8 on one line, without control characters. */
static void check_text(const char *text)
{
    if (!text)
        return;
    demand(u8_check((const uint8_t *)text, strlen(text)) == NULL);
    for (const char *c = text; *c; c++)
        demand((unsigned char)*c >= 0x20 || *c == '\t');
}

static int lines_of(const uint8_t *data, size_t size)
{
    int lines = 1;
    for (size_t i = 0; i < size; i++)
        lines += data[i] == '\n' || data[i] == '\r';
    return lines;
}

static void check_place(const ef_place *place, int lines, size_t size)
{
    demand(strcmp(place->file, "fuzz.yaml") == 0);
    demand(place->line >= 0 && place->line <= lines + 1);
    demand(place->line == 0 || place->column >= 1);
    demand(place->end_column >= place->column);
    demand((size_t)place->end_column <= size + 3);
}

static void check_finding(const ef_diag *diag, int lines, size_t size)
{
    demand(diag->name && diag->message && diag->message[0]);
    check_place(&diag->place, lines, size);
    if (diag->second.file)
        check_place(&diag->second, lines, size);
    check_text(diag->key);
    check_text(diag->found);
    check_text(diag->message);
    check_text(diag->allowed);
    check_text(diag->likely);
    check_text(diag->excerpt);
}

static void check_findings(const ef_diags *diags, int lines, size_t size)
{
    for (int i = 0; i < ef_diags_count(diags); i++) {
        const ef_diag *diag = ef_diags_get(diags, i);
        check_finding(diag, lines, size);
        if (i == 0 || strcmp(diag->name, "too-many") == 0)
            continue;
        const ef_place *before = &ef_diags_get(diags, i - 1)->place;
        demand(before->line < diag->place.line ||
               (before->line == diag->place.line && before->column <= diag->place.column));
    }
}

static bool sane(const efi_value *values, int crops)
{
    for (int crop = 0; values && crop < crops; crop++)
        if (values[crop].given && values[crop].value != 0.0 &&
            !(values[crop].value >= LEAST_FIGURE && values[crop].value <= MOST_FIGURE))
            return false;
    return true;
}

/* Is the plant small, of figures that a plant may have? */
static bool is_worth_balancing(const ef_scenario *scenario)
{
    const int crops = scenario->crop_count;
    if (scenario->station_count > MOST_STATIONS || crops > MOST_CROPS ||
        scenario->material_count > MOST_MATERIALS)
        return false;
    for (int c = 0; c < crops; c++)
        if (!sane(&scenario->crops[c].density_tpm3, 1) || !sane(&scenario->crops[c].price, 1))
            return false;
    for (int m = 0; m < scenario->material_count; m++)
        if (!sane(&scenario->materials[m].density_tpm3, 1))
            return false;
    for (int s = 0; s < scenario->station_count; s++) {
        const efi_station *station = &scenario->stations[s];
        if (!sane(station->capacity, crops) || !sane(station->least_feed, crops) ||
            !sane(station->least_rate, crops) || !sane(station->price, crops) ||
            !sane(station->energy_kwhpt, crops) || !sane(&station->idle_kw, 1))
            return false;
    }
    return true;
}

static void balance(const ef_scenario *scenario)
{
    const ef_balance_settings settings = ef_balance_defaults();
    ef_balance *balance = NULL;
    const ef_status status = ef_balance_solve(scenario, &settings, &balance);
    if (status == EF_OK || status == EF_NO_ANSWER) {
        char *report = NULL;
        demand(ef_balance_verify(scenario, balance, &report) != EF_MEMORY);
        ef_report_free(report);
    }
    ef_balance_free(balance);
}

int LLVMFuzzerTestOneInput(const uint8_t *data, size_t size)
{
    const int lines = lines_of(data, size);
    ef_diags *diags = ef_diags_new();
    ef_diags *again = ef_diags_new();
    ef_scenario *scenario = NULL;
    ef_scenario *twin = NULL;
    char *report = NULL;
    char *second_report = NULL;
    demand(diags && again);
    const ef_status status = ef_scenario_read("fuzz.yaml", (const char *)data, size, diags, &scenario);
    demand(status == EF_OK || status == EF_SCENARIO);
    demand((status == EF_OK) == (scenario != NULL));
    demand((status == EF_OK) == (ef_diags_count_of(diags, EF_ERROR) == 0));
    check_findings(diags, lines, size);
    demand(ef_scenario_read("fuzz.yaml", (const char *)data, size, again, &twin) == status);
    demand(ef_report_findings(diags, &report) == EF_OK);
    demand(ef_report_findings(again, &second_report) == EF_OK);
    demand(strcmp(report, second_report) == 0);
    if (scenario && is_worth_balancing(scenario))
        balance(scenario);
    ef_report_free(report);
    ef_report_free(second_report);
    ef_scenario_free(scenario);
    ef_scenario_free(twin);
    ef_diags_free(diags);
    ef_diags_free(again);
    return 0;
}
