/* SPDX-License-Identifier: GPL-3.0-or-later
 * Checks on numbers that nothing in the trade has: most often a slip of the pen or another unit. */
#include "base/quantity.h"
#include "model/rules.h"

/* A range that a value usually lies in, and how to say it. */
typedef struct usual {
    double least;
    double most;
    const char *words;
} usual;

static bool is_odd(efi_value value, usual range)
{
    return value.given && !(value.value >= range.least && value.value <= range.most);
}

/* ---- densities -------------------------------------------------------------------------------------------
 */

/* Bulk densities of seed and grain lie well within these: light grass seed near 0.1 (from memory), grass pea
 * up to 0.88 (CIGR E-journal, moisture-dependent properties of grass pea); the margin is ours. */
static const usual crop_density_tpm3 = {0.05, 1.5, "about 0.1 to 0.9 t/m3 for seed and grain"};

/* Loose chaff lies a little lower, gravel higher; from memory, the margin is ours. */
static const usual material_density_tpm3 = {0.02, 2.5,
                                            "about 0.04 t/m3 for loose chaff to 1.7 t/m3 for stones"};

/* A density this far off was likely meant in another unit; NULL when in none that comes to mind. */
static const char *unit_meant(double density_tpm3)
{
    if (density_tpm3 >= 50.0 && density_tpm3 <= 100.0)
        return "kg/hl";
    return density_tpm3 > 100.0 && density_tpm3 <= 1000.0 * crop_density_tpm3.most ? "kg/m3" : NULL;
}

static void report_density(efi_rules *rules, ef_diag draft, double density_tpm3, const char *of, usual range)
{
    const char *unit = unit_meant(density_tpm3);
    draft.message = efi_diags_textf(rules->diags, "\"%s\" is a density that no %s has", draft.found, of);
    draft.allowed = range.words;
    if (unit)
        draft.likely = efi_diags_textf(rules->diags, "%s %s", efi_rule_number(rules, density_tpm3), unit);
    efi_diags_add(rules->diags, EFI_DIAG_DENSITY_ODD, &draft);
}

void efi_rule_density_odd(efi_rules *rules)
{
    const ef_scenario *scenario = rules->scenario;
    for (int c = 0; c < scenario->crop_count; c++) {
        const efi_crop *crop = &scenario->crops[c];
        if (!is_odd(crop->density_tpm3, crop_density_tpm3) ||
            efi_rule_only_counted(rules, EFI_DIAG_DENSITY_ODD))
            continue;
        const char *key = efi_rule_has(crop->origin, "density") ? "density" : "test weight";
        report_density(rules, efi_rule_draft(rules, "crops", crop->name, crop->origin, key),
                       crop->density_tpm3.value, "seed or grain", crop_density_tpm3);
    }
    for (int m = 0; m < scenario->material_count; m++) {
        const efi_material *material = &scenario->materials[m];
        if (!is_odd(material->density_tpm3, material_density_tpm3) ||
            efi_rule_only_counted(rules, EFI_DIAG_DENSITY_ODD))
            continue;
        report_density(rules, efi_rule_draft(rules, "materials", material->name, material->origin, "density"),
                       material->density_tpm3.value, "material of a receipt", material_density_tpm3);
    }
}

/* A bulk density and the trade weight, taken as a density, differ by about a fifth at worst among published
 * pairs: oats 0.41 t/m3 (32 lb, Arkansas Code 4-18-331, 2005) and 0.50 t/m3 (extension sheet "Storage
 * capacity", table 2); the margin is ours. */
#define MOST_APART 0.40

void efi_rule_density_apart(efi_rules *rules)
{
    for (int c = 0; c < rules->scenario->crop_count; c++) {
        const efi_crop *crop = &rules->scenario->crops[c];
        const double density_tpm3 = crop->density_tpm3.value;
        const double traded_tpm3 = crop->trade_weight_tpbu.value / EFI_BUSHEL_M3;
        if (!crop->density_tpm3.given || !crop->trade_weight_tpbu.given ||
            (density_tpm3 <= traded_tpm3 * (1.0 + MOST_APART) &&
             traded_tpm3 <= density_tpm3 * (1.0 + MOST_APART)) ||
            efi_rule_only_counted(rules, EFI_DIAG_DENSITY_APART))
            continue;
        const char *key = efi_rule_has(crop->origin, "density") ? "density" : "test weight";
        ef_diag draft = efi_rule_draft(rules, "crops", crop->name, crop->origin, key);
        draft.message = efi_diags_textf(
            rules->diags, "%s t/m3 does not fit the trade weight, which would be %s t/m3 in a level bushel",
            efi_rule_number(rules, density_tpm3), efi_rule_number(rules, traded_tpm3));
        draft.likely = "one of the two is in another unit, or of another crop";
        efi_rule_second(rules, &draft, efi_node_find_key(crop->origin.value, "trade weight"),
                        "the trade weight");
        efi_diags_add(rules->diags, EFI_DIAG_DENSITY_APART, &draft);
    }
}

/* ---- other numbers of a crop -----------------------------------------------------------------------------
 */

/* A range a bit wider than what is measured: safe storage of grain asks for some 15 % (HGCA Grain Storage
 * Guide, 3rd edition, 2011); maize and rice come in at up to some 35 % (from memory). */
static const usual moisture_share = {0.02, 0.50, "between 2 % and 50 %"};

void efi_rule_moisture_odd(efi_rules *rules)
{
    for (int c = 0; c < rules->scenario->crop_count; c++) {
        const efi_crop *crop = &rules->scenario->crops[c];
        const double share = crop->moisture.value;
        if (!is_odd(crop->moisture, moisture_share) || efi_rule_only_counted(rules, EFI_DIAG_MOISTURE_ODD))
            continue;
        ef_diag draft = efi_rule_draft(rules, "crops", crop->name, crop->origin, "moisture");
        draft.message = efi_diags_textf(rules->diags, "\"%s\" is a moisture that no receipt has",
                                        draft.found);
        draft.allowed = moisture_share.words;
        if (share * 100.0 >= moisture_share.least && share * 100.0 <= moisture_share.most)
            draft.likely = efi_diags_textf(rules->diags, "%s %%", efi_rule_number(rules, share * 1e4));
        efi_diags_add(rules->diags, EFI_DIAG_MOISTURE_ODD, &draft);
    }
}

/* From flax, 14 when filling (ASABE data D241, from memory), to wet wheat, 45 (Int. Agrophysics
 * 17(4):207-211, 2003); the margin is ours. */
static const usual repose_deg = {10.0, 55.0, "about 14 to 45 deg for seed and grain"};

void efi_rule_repose_odd(efi_rules *rules)
{
    for (int c = 0; c < rules->scenario->crop_count; c++) {
        const efi_crop *crop = &rules->scenario->crops[c];
        if (!is_odd(crop->repose_deg, repose_deg) || efi_rule_only_counted(rules, EFI_DIAG_REPOSE_ODD))
            continue;
        ef_diag draft = efi_rule_draft(rules, "crops", crop->name, crop->origin, "repose");
        draft.message = efi_diags_textf(
            rules->diags, "\"%s\" is an angle of repose that no seed or grain has", draft.found);
        draft.allowed = repose_deg.words;
        draft.likely = crop->repose_deg.value > repose_deg.most ? "the angle from level ground, say 28 deg"
                                                                : "the angle in degrees, say 28 deg";
        efi_diags_add(rules->diags, EFI_DIAG_REPOSE_ODD, &draft);
    }
}

#define POUND_T 0.00045359237

/* From tall fescue, 14 lb (University of Missouri Extension G4020), to maize on the ear, 70 lb (Arkansas Code
 * 4-18-331, 2005); the margin is ours. */
static const usual trade_weight_lb = {10.0, 80.0, "14 lb/bu for grass seed to 70 lb/bu for maize on the ear"};

void efi_rule_trade_weight_odd(efi_rules *rules)
{
    for (int c = 0; c < rules->scenario->crop_count; c++) {
        const efi_crop *crop = &rules->scenario->crops[c];
        efi_value weight = crop->trade_weight_tpbu;
        const double kilograms = weight.value * 1000.0;
        weight.value /= POUND_T;
        if (!is_odd(weight, trade_weight_lb) || efi_rule_only_counted(rules, EFI_DIAG_TRADE_WEIGHT_ODD))
            continue;
        ef_diag draft = efi_rule_draft(rules, "crops", crop->name, crop->origin, "trade weight");
        draft.message = efi_diags_textf(rules->diags, "\"%s\" is a weight that no bushel in trade has",
                                        draft.found);
        draft.allowed = trade_weight_lb.words;
        if (kilograms > trade_weight_lb.least && kilograms <= trade_weight_lb.most)
            draft.likely = efi_diags_textf(rules->diags, "%s lb/bu", efi_rule_number(rules, kilograms));
        efi_diags_add(rules->diags, EFI_DIAG_TRADE_WEIGHT_ODD, &draft);
    }
}

/* ---- numbers of a station --------------------------------------------------------------------------------
 */

/* More than this many machines that share one feed evenly is likely another number; from memory. */
#define MOST_COUNT 20

void efi_rule_count_odd(efi_rules *rules)
{
    for (int s = 0; s < rules->scenario->station_count; s++) {
        const int count = rules->scenario->stations[s].count;
        if (count <= MOST_COUNT || efi_rule_only_counted(rules, EFI_DIAG_COUNT_ODD))
            continue;
        ef_diag draft = efi_rule_station(rules, s, "count");
        draft.message = efi_diags_textf(
            rules->diags, "%d machines side by side are more than one station has in practice", count);
        draft.allowed = "how many machines share the feed evenly";
        efi_diags_add(rules->diags, EFI_DIAG_COUNT_ODD, &draft);
    }
}

/* Of one machine, t/h or m3/h. Ship loaders reach the upper end, laboratory machines the lower one; from
 * memory. */
static const usual capacity_rate = {0.001, 2000.0, "1 kg/h to 2000 t/h"};

static void report_capacity(efi_rules *rules, int s, int crop)
{
    const efi_value capacity = rules->scenario->stations[s].capacity[crop];
    ef_diag draft = efi_rule_station(rules, s, "capacity");
    draft.message = efi_diags_textf(rules->diags, "%s %s is a capacity that no station of a line has",
                                    efi_rule_number(rules, capacity.value),
                                    capacity.of == EFI_KIND_VOLUME_RATE ? "m3/h" : "t/h");
    draft.allowed = capacity_rate.words;
    if (capacity.of == EFI_KIND_MASS_RATE && capacity.value > capacity_rate.most)
        draft.likely = efi_diags_textf(rules->diags, "%s kg/h", efi_rule_number(rules, capacity.value));
    efi_diags_add(rules->diags, EFI_DIAG_CAPACITY_ODD, &draft);
}

void efi_rule_capacity_odd(efi_rules *rules)
{
    for (int s = 0; s < rules->scenario->station_count; s++) {
        const efi_value *capacity = rules->scenario->stations[s].capacity;
        int crop = 0;
        while (capacity && crop < rules->scenario->crop_count && !is_odd(capacity[crop], capacity_rate))
            crop++;
        if (capacity && crop < rules->scenario->crop_count &&
            !efi_rule_only_counted(rules, EFI_DIAG_CAPACITY_ODD))
            report_capacity(rules, s, crop);
    }
}
