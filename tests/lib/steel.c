/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "steel.h"

#include "scenarios.h"

#include "shared/verify/bin_steel.h"

#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <stdio.h>

#include <cmocka.h>

ef_scenario *steel_plant(const char *wheat, const char *bin, const char *top)
{
    char text[3000];
    const int length = snprintf(text, sizeof text,
                                "evenfeed: 1\nplant: {name: Test}\nmaterials: {seed: {wanted: yes}}\n"
                                "crops:\n  wheat: {%s, receipt: {seed: rest}}\n"
                                "  oats: {" STEEL_OATS ", receipt: {seed: rest}}\n%s"
                                "stations:\n  Pit: {kind: intake, capacity: 5 t/h, to: Bin}\n"
                                "  Bin: {kind: bin, %sto: Out}\n"
                                "  Out: {kind: outlet, product: yes}\n",
                                wheat, top, bin);
    assert_in_range(length, 1, sizeof text - 1);
    return plant_read(text);
}

void steel_verify(const ef_scenario *scenario, const ef_steel *steel)
{
    efi_differences list = {0};
    efi_verify_steel(scenario, STEEL_BIN, steel, &list);
    if (list.count > 0)
        print_message("%s", efi_text_get(&list.text));
    assert_int_equal(list.count, 0);
    efi_text_free(&list.text);
}

ef_steel steel_for(const ef_scenario *scenario, const efi_steel_need *need, int needs, efi_arena *arena)
{
    ef_steel steel;
    assert_int_equal(efi_steel_for(scenario, STEEL_BIN, need, needs, arena, &steel), EF_OK);
    steel_verify(scenario, &steel);
    return steel;
}

ef_steel steel_bin_for(const ef_scenario *scenario, double live_m3, efi_arena *arena)
{
    const efi_steel_need need = {.crop = 0, .live_m3 = live_m3, .rate_tph = 5.0};
    return steel_for(scenario, &need, 1, arena);
}
