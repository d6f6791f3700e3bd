/* SPDX-License-Identifier: GPL-3.0-or-later
 * Checks on where lots can run and lie: lines that their crop passes, stores that hold them. */
#include "model/rules.h"

#include <string.h>

/* ---- lines ----------------------------------------------------------------------------------------------
 */

static bool belongs(const efi_station *station, int line)
{
    return station->line == -1 || station->line == line;
}

/* Can `crop` go from an intake over stations of the line, and shared ones, to an outlet for the product?
 * Where the plant names its lines, some station on the way must be one of the line. */
static bool line_passes(efi_rules *rules, int crop, int line)
{
    const ef_scenario *scenario = rules->scenario;
    const efi_ways *ways = &rules->by_crop[crop];
    bool own = scenario->line_count == 0;
    bool product = false;
    int depth = 0;
    efi_rule_clear(rules, rules->mark);
    for (int s = 0; s < scenario->station_count; s++) {
        if (!efi_station_receives(&scenario->stations[s], crop) || !belongs(&scenario->stations[s], line))
            continue;
        rules->mark[s] = true;
        rules->stack[depth++] = s;
    }
    while (depth > 0) {
        const int s = rules->stack[--depth];
        own = own || scenario->stations[s].line == line;
        product = product ||
                  (scenario->stations[s].kind == EFI_STATION_OUTLET && scenario->stations[s].product);
        for (int w = ways->first_out[s]; w < ways->first_out[s + 1]; w++) {
            const int to = ways->way[w].to;
            if (rules->mark[to] || !belongs(&scenario->stations[to], line))
                continue;
            rules->mark[to] = true;
            rules->stack[depth++] = to;
        }
    }
    return own && product;
}

/* Lines that a crop can pass, as bits. */
static unsigned lines_of_crop(efi_rules *rules, int crop)
{
    const int lines = rules->scenario->line_count > 0 ? rules->scenario->line_count : 1;
    unsigned passes = 0;
    for (int line = 0; line < lines; line++)
        if (line_passes(rules, crop, line))
            passes |= 1u << line;
    return passes;
}

static unsigned allowed_lines(const efi_scenario_lot *lot)
{
    unsigned allowed = lot->lines.count > 0 || lot->lines.bad ? 0 : ~0u;
    for (int i = 0; i < lot->lines.count; i++)
        allowed |= 1u << lot->lines.items[i];
    return allowed;
}

/* The names of lines, for "allowed". */
static const char *line_words(efi_rules *rules, unsigned lines)
{
    efi_text text = {0};
    for (int line = 0; line < rules->scenario->line_count; line++)
        if (lines & 1u << line)
            efi_text_addf(&text, "%s%s", text.length ? ", " : "", rules->scenario->lines[line].name);
    return efi_bind_keep(rules->binder, &text);
}

static void check_lot(efi_rules *rules, int l, unsigned passes)
{
    const efi_scenario_lot *lot = &rules->scenario->lots[l];
    const char *crop = rules->scenario->crops[lot->crop].name;
    const unsigned allowed = allowed_lines(lot);
    const bool placed = lot->state != EFI_LOT_WAITING && lot->line >= 0;
    const bool misplaced = placed && !(passes & allowed & 1u << lot->line);
    if (lot->lines.bad || (passes & allowed && !misplaced))
        return;
    const bool by_lines = !misplaced || efi_node_find(lot->origin.value, "line") == NULL;
    ef_diag draft = efi_rule_lot(rules, l, by_lines ? (lot->lines.count ? "lines" : "crop") : "line");
    if (misplaced && passes & 1u << lot->line)
        draft.message = "its line is not among the lines that may run it";
    else
        draft.message = efi_diags_textf(rules->diags,
                                        !passes     ? "no line takes %s from an intake to a product outlet"
                                        : misplaced ? "this line takes no %s to a product outlet"
                                                    : "none of these lines takes %s to a product outlet",
                                        crop);
    if (passes & allowed)
        draft.allowed = line_words(rules, passes & allowed);
    else if (passes)
        draft.allowed = line_words(rules, passes);
    efi_diags_add(rules->diags, EFI_DIAG_LOT_WITHOUT_LINE, &draft);
}

#define NOT_LOOKED (1u << 31)

void efi_rule_lot_without_line(efi_rules *rules)
{
    const ef_scenario *scenario = rules->scenario;
    unsigned *passes = efi_bind_get(rules->binder, (size_t)scenario->crop_count, sizeof *passes);
    for (int c = 0; passes && c < scenario->crop_count; c++)
        passes[c] = NOT_LOOKED;
    for (int l = 0; passes && l < scenario->lot_count; l++) {
        const int crop = scenario->lots[l].crop;
        if (crop < 0 || scenario->lots[l].state == EFI_LOT_DONE)
            continue; /* what is done need not be run again */
        if (passes[crop] == NOT_LOOKED)
            passes[crop] = lines_of_crop(rules, crop);
        check_lot(rules, l, passes[crop]);
    }
}

/* ---- stores ---------------------------------------------------------------------------------------------
 */

static ef_diag draft_store(efi_rules *rules, const efi_store *store, const char *key)
{
    return efi_rule_draft(rules, "season.stores", store->name, store->origin, key);
}

void efi_rule_store_shared(efi_rules *rules)
{
    const efi_season *season = rules->scenario->season;
    for (int s = 0; s < season->store_count; s++) {
        const efi_store *store = &season->stores[s];
        if (!store->is_shared || store->use != EFI_STORE_RAW || !efi_rule_has(store->origin, "use"))
            continue;
        ef_diag draft = draft_store(rules, store, "shared");
        draft.message = "lots that are not yet cleaned must not lie together";
        draft.allowed = "shared: yes for finished stores alone";
        draft.likely = "shared: no, with a count of bins or bays";
        efi_diags_add(rules->diags, EFI_DIAG_STORE_SHARED, &draft);
    }
}

/* What all stores of a use hold of a crop together, t; below 0 where that is not known. */
static double room_of(const ef_scenario *scenario, efi_store_use use, int crop)
{
    const efi_season *season = scenario->season;
    const efi_value density = scenario->crops[crop].density_tpm3;
    double room_t = 0.0;
    for (int s = 0; s < season->store_count; s++) {
        const efi_store *store = &season->stores[s];
        const bool by_volume = store->holds.of == EFI_KIND_VOLUME;
        if (store->use != (int)use)
            continue;
        if (!store->holds.given || (by_volume && !density.given))
            return -1.0;
        room_t += store->count * store->holds.value * (by_volume ? density.value : 1.0);
    }
    return room_t;
}

/* The lot that needs most above what there is room for; -1 without. */
static int lot_without_room(const ef_scenario *scenario, efi_store_use use, double *needs_t, double *room_t)
{
    int worst = -1;
    double most = 0.0;
    for (int l = 0; l < scenario->lot_count; l++) {
        const efi_scenario_lot *lot = &scenario->lots[l];
        if (lot->crop < 0 || !lot->amount_t.given || lot->state == EFI_LOT_DONE)
            continue;
        const double *receipt = scenario->crops[lot->crop].receipt;
        double share = use == EFI_STORE_RAW ? 1.0 : 0.0;
        for (int m = 0; use == EFI_STORE_FINISHED && receipt && m < scenario->material_count; m++)
            share += scenario->materials[m].wanted ? receipt[m] : 0.0;
        const double needed = lot->left_t.given ? lot->left_t.value * share : 0.0;
        const double room = room_of(scenario, use, lot->crop);
        if (room < 0.0 || needed - room <= most + EFI_RULE_NO_SHARE)
            continue;
        most = needed - room;
        *needs_t = needed;
        *room_t = room;
        worst = l;
    }
    return worst;
}

static void check_room(efi_rules *rules, efi_store_use use)
{
    const efi_season *season = rules->scenario->season;
    const efi_store *first = NULL;
    for (int s = 0; s < season->store_count && !first; s++)
        if (season->stores[s].use == (int)use)
            first = &season->stores[s];
    double needs_t = 0.0;
    double room_t = 0.0;
    const int lot = first ? lot_without_room(rules->scenario, use, &needs_t, &room_t) : -1;
    if (lot < 0 || efi_rule_only_counted(rules, EFI_DIAG_STORE_SMALL))
        return;
    ef_diag draft = draft_store(rules, first, "holds");
    draft.message = efi_diags_textf(rules->diags, "all %s stores together hold %s t, but \"%s\" needs %s%s t",
                                    use == EFI_STORE_RAW ? "raw" : "finished", efi_rule_number(rules, room_t),
                                    rules->scenario->lots[lot].name, use == EFI_STORE_RAW ? "" : "about ",
                                    efi_rule_number(rules, needs_t));
    draft.likely = "a count of bins, or another unit; else the lot finds no room, which costs \"no room\"";
    efi_rule_second(rules, &draft, rules->scenario->lots[lot].origin.key, "the lot");
    efi_diags_add(rules->diags, EFI_DIAG_STORE_SMALL, &draft);
}

void efi_rule_store_small(efi_rules *rules)
{
    check_room(rules, EFI_STORE_RAW);
    if (!rules->scenario->has_turns)
        check_room(rules, EFI_STORE_FINISHED);
}
