/* SPDX-License-Identifier: GPL-3.0-or-later
 * Checks along the spouts: who feeds whom, and what that needs. */
#include "base/text.h"
#include "model/rules_turns.h"

#include <string.h>

void efi_rule_intake_fed(efi_rules *rules)
{
    for (int w = 0; w < rules->all.count; w++) {
        const efi_way *way = &rules->all.way[w];
        const efi_station *to = &rules->scenario->stations[way->to];
        if (to->kind != EFI_STATION_INTAKE)
            continue;
        ef_diag draft = efi_rule_discharge(rules, way->from, way->discharge, "to");
        draft.message = efi_diags_textf(rules->diags, "\"%s\" is an intake; nothing inside the line feeds it",
                                        to->name);
        draft.likely = "lead the spout to the station after the intake";
        efi_rule_second(rules, &draft, to->origin.key, "the intake");
        efi_diags_add(rules->diags, EFI_DIAG_INTAKE_FED, &draft);
    }
}

void efi_rule_feeds_itself(efi_rules *rules)
{
    for (int w = 0; w < rules->all.count; w++) {
        const efi_way *way = &rules->all.way[w];
        if (way->from != way->to)
            continue;
        ef_diag draft = efi_rule_discharge(rules, way->from, way->discharge, "to");
        draft.message = "a station cannot discharge straight into itself";
        draft.likely = "lead the return to the bin or conveyor above";
        efi_diags_add(rules->diags, EFI_DIAG_FEEDS_ITSELF, &draft);
    }
}

/* A station whose block holds neither `to` nor discharges. */
static void check_no_way(efi_rules *rules, int s)
{
    const efi_station *station = &rules->scenario->stations[s];
    if (station->kind == EFI_STATION_OUTLET || station->kind == EFI_STATION_UNKNOWN)
        return;
    if (efi_rule_has_way(station))
        return;
    ef_diag draft = efi_rule_station(rules, s, NULL);
    draft.message = "the material has no way on from here";
    draft.allowed = station->kind == EFI_STATION_BIN
                        ? "to: the next station"
                        : "to: the next station; or discharges, each with a way of its own";
    efi_diags_add(rules->diags, EFI_DIAG_WAY_MISSING, &draft);
}

/* Does a discharge take anything of a crop? One that takes nothing needs no way on. */
static bool takes_some(const ef_scenario *scenario, const efi_discharge *out, int crop)
{
    const size_t materials = (size_t)scenario->material_count;
    bool some = !out->share;
    for (size_t m = 0; out->share && m < materials; m++)
        some = some || out->share[(size_t)crop * materials + m] > 0.0;
    return some;
}

/* Crops that come to a discharge but are given no way on. */
static void check_crop_way(efi_rules *rules, int s, int d)
{
    const ef_scenario *scenario = rules->scenario;
    const efi_discharge *out = &scenario->stations[s].discharges.items[d];
    const char *first = NULL;
    int others = 0;
    for (int crop = 0; out->to && crop < scenario->crop_count; crop++) {
        if (out->to[crop] >= 0 || !efi_rule_reached(rules, crop, s) || !takes_some(scenario, out, crop))
            continue;
        if (first)
            others++;
        else
            first = scenario->crops[crop].name;
    }
    if (!first)
        return;
    ef_diag draft = efi_rule_discharge(rules, s, d, "to");
    draft.message = efi_diags_textf(rules->diags, "no way on is given for %s%s, which come%s here", first,
                                    efi_rule_others(rules, others), others ? "" : "s");
    draft.likely = efi_diags_textf(rules->diags, "a line for %s, or for \"%s\"", first, EFI_WORD_OTHER_CROPS);
    efi_diags_add(rules->diags, EFI_DIAG_WAY_MISSING, &draft);
}

void efi_rule_way_missing(efi_rules *rules)
{
    for (int s = 0; s < rules->scenario->station_count; s++) {
        check_no_way(rules, s);
        for (int d = 0; rules->ways_known && d < rules->scenario->stations[s].discharges.count; d++)
            check_crop_way(rules, s, d);
    }
}

static bool reached_by_any(const efi_rules *rules, int s)
{
    for (int crop = 0; crop < rules->scenario->crop_count; crop++)
        if (efi_rule_reached(rules, crop, s))
            return true;
    return rules->scenario->crop_count == 0;
}

/* Does another station lead here? */
static bool is_fed(const efi_rules *rules, int s)
{
    for (int i = rules->all.first_in[s]; i < rules->all.first_in[s + 1]; i++)
        if (rules->all.way[rules->all.into[i]].from != s)
            return true;
    return false;
}

/* Reports a station that nothing reaches; those after it follow from that and are marked as told. */
static void report_unreached(efi_rules *rules, int head, bool *told)
{
    ef_diag draft = efi_rule_station(rules, head, NULL);
    draft.message = is_fed(rules, head) ? "this is part of a ring that no intake leads to"
                                        : "nothing leads here";
    draft.likely = "lead a spout here, or take the station out";
    efi_diags_add(rules->diags, EFI_DIAG_UNREACHED, &draft);
    int depth = 0;
    rules->stack[depth++] = head;
    told[head] = true;
    while (depth > 0) {
        const int s = rules->stack[--depth];
        for (int w = rules->all.first_out[s]; w < rules->all.first_out[s + 1]; w++) {
            const int to = rules->all.way[w].to;
            if (!told[to]) {
                told[to] = true;
                rules->stack[depth++] = to;
            }
        }
    }
}

void efi_rule_unreached(efi_rules *rules)
{
    bool *told = rules->mark;
    for (int s = 0; s < rules->scenario->station_count; s++)
        told[s] = reached_by_any(rules, s);
    for (int s = 0; s < rules->scenario->station_count; s++)
        if (!told[s] && !is_fed(rules, s))
            report_unreached(rules, s, told);
    for (int s = 0; s < rules->scenario->station_count; s++)
        if (!told[s])
            report_unreached(rules, s, told);
}

/* Does material of a crop enter the dead part of the line here: from an intake, or from a station that still
 * drains? */
static bool dead_begins(const efi_rules *rules, int crop, int s, const bool *drained)
{
    if (!efi_rule_reached(rules, crop, s) || drained[s])
        return false;
    const efi_ways *ways = &rules->by_crop[crop];
    bool begins = rules->scenario->stations[s].kind == EFI_STATION_INTAKE;
    for (int i = ways->first_in[s]; i < ways->first_in[s + 1]; i++) {
        const int from = ways->way[ways->into[i]].from;
        begins = begins || (efi_rule_reached(rules, crop, from) && drained[from]);
    }
    return begins;
}

void efi_rule_dead_end(efi_rules *rules)
{
    const ef_scenario *scenario = rules->scenario;
    const size_t bytes = (size_t)scenario->station_count * sizeof *rules->mark;
    bool *drained = rules->mark;
    bool *told = rules->mark_too;
    memset(told, 0, bytes);
    for (int crop = 0; crop < scenario->crop_count; crop++) {
        memset(drained, 0, bytes);
        efi_ways_up(&rules->by_crop[crop], scenario, crop, -1, drained, rules->stack);
        for (int s = 0; s < scenario->station_count; s++) {
            if (told[s] || !dead_begins(rules, crop, s, drained))
                continue;
            told[s] = true;
            ef_diag draft = efi_rule_station(rules, s, NULL);
            draft.message = efi_diags_textf(rules->diags, "from here %s can reach no outlet",
                                            scenario->crops[crop].name);
            draft.likely = "a spout, here or at a station after this one, that leads on to an outlet";
            efi_diags_add(rules->diags, EFI_DIAG_DEAD_END, &draft);
        }
    }
}

/* The way that closes the ring in which a material goes round, walking on from `s`, which does not drain. */
static const efi_way *closing_way(efi_rules *rules, int crop, int material, int s)
{
    const efi_ways *ways = &rules->by_crop[crop];
    bool *walked = rules->mark;
    memset(walked, 0, (size_t)rules->scenario->station_count * sizeof *walked);
    for (;;) {
        walked[s] = true;
        int w = ways->first_out[s];
        while (w < ways->first_out[s + 1] &&
               !efi_ways_carries(rules->scenario, &ways->way[w], crop, material))
            w++;
        if (w == ways->first_out[s + 1])
            return NULL;
        s = ways->way[w].to;
        if (walked[s])
            return &ways->way[w];
    }
}

void efi_rule_report_loop(efi_rules *rules, int crop, int material, const efi_way *way)
{
    const ef_scenario *scenario = rules->scenario;
    const bool single = scenario->stations[way->from].discharges.items[way->discharge].name[0] == '\0';
    ef_diag draft = efi_rule_discharge(rules, way->from, way->discharge, single ? "to" : "takes");
    draft.message = efi_diags_textf(rules->diags, "all %s of %s goes round here for ever",
                                    scenario->materials[material].name, scenario->crops[crop].name);
    draft.allowed = "every material of every crop reaches an outlet in the end";
    draft.likely = "let some of it leave the ring by another discharge";
    efi_rule_second(rules, &draft, scenario->stations[way->to].origin.key, "the ring begins again here");
    efi_diags_add(rules->diags, EFI_DIAG_LOOP_CLOSED, &draft);
}

/* Looks for a ring in which a material of a crop stays; reports it and returns true when there is one. */
static bool check_loop(efi_rules *rules, int crop, int material)
{
    const ef_scenario *scenario = rules->scenario;
    const size_t bytes = (size_t)scenario->station_count * sizeof *rules->mark;
    const efi_ways *ways = &rules->by_crop[crop];
    memset(rules->mark, 0, bytes);
    memset(rules->mark_too, 0, bytes);
    efi_ways_down(ways, scenario, crop, material, rules->mark, rules->stack);
    efi_ways_up(ways, scenario, crop, material, rules->mark_too, rules->stack);
    for (int s = 0; s < scenario->station_count; s++) {
        if (!rules->mark[s] || rules->mark_too[s])
            continue;
        const efi_way *way = closing_way(rules, crop, material, s);
        if (!EF_NEVER(!way))
            efi_rule_report_loop(rules, crop, material, way);
        return true;
    }
    return false;
}

/* One ring is reported; the others show once it is open. */
void efi_rule_loop_closed(efi_rules *rules)
{
    const ef_scenario *scenario = rules->scenario;
    for (int crop = 0; crop < scenario->crop_count; crop++)
        for (int material = 0; scenario->crops[crop].receipt && material < scenario->material_count;
             material++)
            if (scenario->crops[crop].receipt[material] > 0.0 &&
                (scenario->has_turns ? efi_rule_turned_loop(rules, crop, material)
                                     : check_loop(rules, crop, material)))
                return;
}

/* Does a crop reach an outlet that is, or may be, for a product? */
static bool reaches_product(const efi_rules *rules, int crop)
{
    const ef_scenario *scenario = rules->scenario;
    for (int s = 0; s < scenario->station_count; s++) {
        const efi_station *station = &scenario->stations[s];
        if (station->kind == EFI_STATION_OUTLET && efi_rule_reached(rules, crop, s) &&
            (station->product || efi_rule_flag_unread(station->origin, "product")))
            return true;
    }
    return false;
}

void efi_rule_product_unreached(efi_rules *rules)
{
    const ef_scenario *scenario = rules->scenario;
    for (int crop = 0; crop < scenario->crop_count; crop++) {
        if (reaches_product(rules, crop))
            continue;
        const efi_crop *of = &scenario->crops[crop];
        ef_diag draft = efi_rule_draft(rules, "crops", of->name, of->origin, NULL);
        draft.message = efi_diags_textf(rules->diags, "%s reaches no outlet with \"product: yes\"", of->name);
        draft.likely = "look at the ways on that depend on the crop";
        efi_diags_add(rules->diags, EFI_DIAG_PRODUCT_UNREACHED, &draft);
    }
}

/* Should the capacity follow from buckets, a screw or a belt? What those lack, or why nothing follows, has a
 * finding of its own. */
static bool has_size(const efi_station *station)
{
    return station->buckets || station->screw || station->belt;
}

/* Crops that pass a station which has no capacity for them; one that could not be read counts as given. */
static void check_capacity(efi_rules *rules, int s)
{
    const ef_scenario *scenario = rules->scenario;
    const efi_station *station = &scenario->stations[s];
    const bool absent = !efi_rule_has(station->origin, "capacity");
    const char *first = NULL;
    int others = 0;
    if (!station->capacity && (!absent || has_size(station)))
        return;
    for (int crop = 0; crop < scenario->crop_count; crop++) {
        const bool given = station->capacity &&
                           (station->capacity[crop].given || station->capacity[crop].bad);
        if (given || !efi_rule_reached(rules, crop, s))
            continue;
        if (first)
            others++;
        else
            first = scenario->crops[crop].name;
    }
    if (!first)
        return;
    ef_diag draft = efi_rule_station(rules, s, "capacity");
    draft.message = efi_diags_textf(rules->diags, "no capacity is given for %s%s, which pass%s here", first,
                                    efi_rule_others(rules, others), others ? "" : "es");
    draft.allowed = "a rate such as 12 t/h or 40 m3/h, one for all crops or one for each";
    draft.likely = absent ? "capacity: 12 t/h" : efi_diags_textf(rules->diags, "%s: 12 t/h", first);
    efi_diags_add(rules->diags, EFI_DIAG_CAPACITY_MISSING, &draft);
}

void efi_rule_capacity_missing(efi_rules *rules)
{
    for (int s = 0; s < rules->scenario->station_count; s++) {
        const efi_class class = efi_station_class((efi_station_kind)rules->scenario->stations[s].kind);
        if (class != EFI_CLASS_BIN && class != EFI_CLASS_OUTLET && class != EFI_CLASS_SPLIT)
            check_capacity(rules, s);
    }
}

/* Does a crop bring a material without a density of its own, and has none either? */
static bool lacks_density(const ef_scenario *scenario, const efi_crop *crop)
{
    if (crop->density_tpm3.given || crop->density_tpm3.bad || !crop->receipt)
        return false;
    for (int m = 0; m < scenario->material_count; m++)
        if (crop->passes && crop->passes[m] && !scenario->materials[m].density_tpm3.given &&
            !scenario->materials[m].density_tpm3.bad)
            return true;
    return false;
}

/* The key that a station's capacity follows from. */
static const efi_node *capacity_key(const efi_station *station)
{
    static const char *const keys[] = {"capacity", "buckets", "screw", "belt", "batch"};
    for (size_t i = 0; i < EF_COUNT(keys); i++)
        if (efi_rule_has(station->origin, keys[i]))
            return efi_node_find_key(station->origin.value, keys[i]);
    return station->origin.key;
}

void efi_rule_density_missing(efi_rules *rules)
{
    const ef_scenario *scenario = rules->scenario;
    for (int crop = 0; crop < scenario->crop_count; crop++) {
        const efi_crop *of = &scenario->crops[crop];
        if (!lacks_density(scenario, of))
            continue;
        int s = 0;
        while (s < scenario->station_count &&
               !(efi_rule_reached(rules, crop, s) && scenario->stations[s].capacity &&
                 scenario->stations[s].capacity[crop].of == EFI_KIND_VOLUME_RATE &&
                 scenario->stations[s].capacity[crop].given))
            s++;
        if (s == scenario->station_count)
            continue;
        ef_diag draft = efi_rule_draft(rules, "crops", of->name, of->origin, NULL);
        draft.message = efi_diags_textf(rules->diags,
                                        "%s has no density, but the capacity of \"%s\" is by volume",
                                        of->name, scenario->stations[s].name);
        draft.allowed = "a density or a test weight for the crop, or a capacity by weight";
        draft.likely = "density: 0.75 t/m3 (as measured)";
        efi_rule_second(rules, &draft, capacity_key(&scenario->stations[s]), "the capacity");
        efi_diags_add(rules->diags, EFI_DIAG_DENSITY_MISSING, &draft);
    }
}
