/* SPDX-License-Identifier: GPL-3.0-or-later
 * What differs between two scenarios. */
#include "model/difference.h"

#include "../lib/scenarios.h"

#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <string.h>

#include <cmocka.h>

static const char plain[] = "evenfeed: 1\nplant: {name: Plant, note: old}\nmaterials: {seed: {wanted: yes}}\n"
                            "crops: {wheat: {receipt: {seed: 100 %}}}\nstations:\n"
                            "  Pit: {kind: intake, capacity: 40 t/h, to: Leg}\n"
                            "  Leg: {kind: elevator, capacity: 30 t/h, to: Shed}\n"
                            "  Shed: {kind: outlet, product: yes}\n";

static const char other[] =
    "evenfeed: 1\nmaterials: {seed: {wanted: yes}}\nplant: {note: new, name: Plant, people: 2}\n"
    "crops: {wheat: {receipt: {seed: 100 %}}}\nstations:\n"
    "  Pit: {kind: intake, capacity: {wheat: 45 t/h}, to: Leg}   # a comment\n"
    "  Leg: {to: Shed, kind: elevator, capacity: '30 t/h'}\n"
    "  Shed: {kind: outlet, product: yes, use: seed}\n";

static void differences_are_told_key_by_key_and_notes_are_not(void **state)
{
    (void)state;
    ef_scenario *here = plant_read(plain);
    ef_scenario *there = plant_read(other);
    efi_arena *arena = efi_arena_new();
    efi_difference_list list;
    assert_int_equal(efi_scenario_differences(here, there, arena, 10, &list), EF_OK);
    assert_int_equal(list.count, 3);
    assert_int_equal(list.more, 0);
    assert_string_equal(list.items[0].path, "plant.people");
    assert_null(list.items[0].here);
    assert_string_equal(list.items[0].there, "2");
    assert_string_equal(list.items[1].path, "stations.Pit.capacity");
    assert_string_equal(list.items[1].here, "40 t/h");
    assert_string_equal(list.items[1].there, "{wheat: 45 t/h}");
    assert_string_equal(list.items[2].path, "stations.Shed.use");
    assert_int_equal(efi_scenario_differences(here, there, arena, 1, &list), EF_OK);
    assert_int_equal(list.count, 1);
    assert_int_equal(list.more, 2);
    assert_int_equal(efi_scenario_differences(here, here, arena, 1, &list), EF_OK);
    assert_int_equal(list.count, 0);
    efi_arena_free(arena);
    ef_scenario_free(here);
    ef_scenario_free(there);
}

/* A value of 70 bytes, two a character after the first: it is cut at 60, or a character before. */
static void long_values_are_cut_between_characters(void **state)
{
    (void)state;
    char text[sizeof plain + 100];
    strcpy(text, plain);
    char *name = strstr(text, "name: Plant");
    assert_non_null(name);
    const char *rest = plain + (name - text) + strlen("name: Plant");
    strcpy(name, "name: P");
    for (int i = 0; i < 35; i++)
        strcat(text, "\xc3\xb6");
    strcat(text, rest);
    ef_scenario *here = plant_read(text);
    ef_scenario *there = plant_read(plain);
    efi_arena *arena = efi_arena_new();
    efi_difference_list list;
    assert_int_equal(efi_scenario_differences(here, there, arena, 10, &list), EF_OK);
    assert_int_equal(list.count, 1);
    const char *cut = list.items[0].here;
    assert_int_equal(strlen(cut), 59 + 3);
    assert_string_equal(cut + 57, "\xc3\xb6...");
    efi_arena_free(arena);
    ef_scenario_free(here);
    ef_scenario_free(there);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(differences_are_told_key_by_key_and_notes_are_not),
        cmocka_unit_test(long_values_are_cut_between_characters),
    };
    return cmocka_run_group_tests_name("difference", tests, NULL, NULL);
}
