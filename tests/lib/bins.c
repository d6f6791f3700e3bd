/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "bins.h"

#include <evenfeed/report.h>
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <stdio.h>
#include <string.h>

#include <cmocka.h>

#define LOOP                                                                                                 \
    "  Cleaner: {kind: machine, capacity: 20 t/h, %s to: Holding bin}\n"                                     \
    "  Holding bin: {kind: bin, start level: 100 %%, %s to: Deck}\n"                                         \
    "  Deck:\n"                                                                                              \
    "    kind: density separator\n"                                                                          \
    "    capacity: 10 t/h\n"                                                                                 \
    "    discharges:\n"                                                                                      \
    "      middlings: {takes: {sound: 20 %%}, to: Holding bin}\n"                                            \
    "      heavies: {takes: rest, to: Shed}\n"                                                               \
    "  Shed: {kind: outlet, product: yes}\n"

const char bins_small[] =
    "evenfeed: 1\n"
    "plant: {name: Test}\n"
    "materials: {sound: {wanted: yes}, light: }\n"
    "crops: {wheat: {density: 0.8 t/m3, receipt: {sound: rest, light: 6 %}}}\n"
    "stations:\n"
    "  Pit: {kind: intake, capacity: 40 t/h, receipts: {load: 20 t, every: 1 h, queue: 2}, to: Raw bin}\n"
    "  Raw bin: {kind: bin, live volume: 30 m3, to: Cleaner}\n"
    "  Cleaner: {kind: machine, capacity: 14 t/h, stops: {choke: {between: 3 h, lasts: 20 min}}, to: Holding "
    "bin}\n"
    "  Holding bin: {kind: bin, sizing: {sizes: {a: {volume: 4 m3}, b: {volume: 9 m3}}}, to: Deck}\n"
    "  Deck:\n"
    "    kind: density separator\n"
    "    capacity: 10 t/h\n"
    "    discharges:\n"
    "      lights: {takes: {light: 60 %}, to: Waste}\n"
    "      heavies: {takes: rest, to: Shed}\n"
    "  Waste: {kind: outlet, use: waste}\n"
    "  Shed: {kind: outlet, product: yes}\n";

const char *bins_loop(const char *stops, const char *bin)
{
    static char text[4096];
    (void)snprintf(text, sizeof text, "%s" LOOP, BINS_HEAD, stops, bin);
    return text;
}

ef_bins_settings bins_quick(void)
{
    ef_bins_settings settings = ef_bins_defaults();
    settings.traces = 40;
    settings.threads = 2;
    return settings;
}

ef_bins *bins_of(const ef_scenario *scenario, const ef_bins_settings *settings)
{
    ef_bins *bins = NULL;
    char *differences = NULL;
    assert_int_equal(ef_bins_run(scenario, settings, &bins), EF_OK);
    const ef_status status = ef_bins_verify(scenario, bins, &differences);
    if (status != EF_OK)
        print_error("%s", differences ? differences : "");
    assert_int_equal(status, EF_OK);
    ef_report_free(differences);
    return bins;
}

const ef_bins_bin *bins_bin(const ef_bins *bins, int crop, const char *name)
{
    for (int b = 0; b < bins->crops[crop].bin_count; b++)
        if (strcmp(bins->crops[crop].bins[b].name, name) == 0)
            return &bins->crops[crop].bins[b];
    static const ef_bins_bin none = {0}; /* not reached, but the analysers do not know */
    fail_msg("there is no bin %s", name);
    return &none;
}

ef_bins_note bins_note(const ef_bins *bins, ef_bins_note_kind kind)
{
    for (int i = 0; i < bins->crops[0].note_count; i++)
        if (bins->crops[0].notes[i].kind == kind)
            return bins->crops[0].notes[i];
    fail_msg("there is no note of kind %d", (int)kind);
    return (ef_bins_note){0};
}

bool bins_say(const ef_bins *bins, const char *words)
{
    char *text;
    assert_int_equal(ef_report_bins_text(bins, EF_UNITS_METRIC, &text), EF_OK);
    size_t to = 0;
    for (size_t from = 0; text[from] != '\0'; from++) {
        const char c = text[from] == '\n' ? ' ' : text[from];
        if (c != ' ' || to == 0 || text[to - 1] != ' ')
            text[to++] = c;
    }
    text[to] = '\0';
    const bool found = strstr(text, words) != NULL;
    if (!found)
        print_message("%s\n", text);
    ef_report_free(text);
    return found;
}
