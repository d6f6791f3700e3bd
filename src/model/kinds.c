/* SPDX-License-Identifier: GPL-3.0-or-later
 * The words for kinds of stations, rules of splits and uses of outlets. */
#include "model/scenario.h"

static const struct {
    const char *word;
    const char *meaning;
    efi_class class;
    bool separates;
} kinds[EFI_STATION_LIMIT + 1] = {
#define KIND(code, word_, class_, separates_, meaning_)                                                      \
    {.word = word_, .meaning = meaning_, .class = EFI_CLASS_##class_, .separates = separates_},
    EFI_STATION_LIST(KIND)
#undef KIND
        {.word = "unknown", .meaning = "", .class = EFI_CLASS_MACHINE, .separates = false},
};

const char *efi_station_word(efi_station_kind kind)
{
    return kinds[kind].word;
}

efi_class efi_station_class(efi_station_kind kind)
{
    return kinds[kind].class;
}

bool efi_station_separates(efi_station_kind kind)
{
    return kinds[kind].separates;
}

const char *efi_station_meaning(efi_station_kind kind)
{
    return kinds[kind].meaning;
}

bool efi_station_receives(const efi_station *station, int crop)
{
    const efi_crop_list *list = &station->receives;
    if (station->kind != EFI_STATION_INTAKE)
        return false;
    bool found = crop < 0 || list->bad || list->count == 0;
    for (int i = 0; i < list->count && !found; i++)
        found = list->items[i] == crop;
    return found;
}

bool efi_station_wants(const ef_scenario *scenario, const efi_station *outlet, int material)
{
    const efi_material_list *list = &outlet->wanted;
    if (list->count == 0)
        return scenario->materials[material].wanted;
    bool found = false;
    for (int i = 0; i < list->count && !found; i++)
        found = list->items[i] == material;
    return found;
}

const char *efi_split_word(efi_split_rule rule)
{
    static const char *const words[] = {
#define WORD(code, word, meaning) word,
        EFI_SPLIT_LIST(WORD)
#undef WORD
    };
    return words[rule];
}

const char *efi_use_word(efi_use use)
{
    switch (use) {
#define WORD(code, word)                                                                                     \
    case EFI_USE_##code:                                                                                     \
        return word;
        EFI_USE_LIST(WORD)
#undef WORD
    case EFI_USE_UNSAID:
        break;
    }
    return "not said";
}

const char *efi_shape_word(efi_shape shape)
{
    static const char *const words[] = {
#define WORD(code, word) word,
        EFI_SHAPE_LIST(WORD)
#undef WORD
    };
    return words[shape];
}

const char *efi_hopper_word(efi_hopper hopper)
{
    static const char *const words[] = {
#define WORD(code, word) word,
        EFI_HOPPER_LIST(WORD)
#undef WORD
            ""};
    return words[hopper];
}
