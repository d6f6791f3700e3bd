/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "model/turns.h"

#include <string.h>

/* Shares of one material may add up to this much over 1 before it counts as an error. */
#define TURNED_SUM_TOLERANCE 1e-9

double efi_station_turned(const ef_scenario *scenario, const efi_station *station, int crop, int from,
                          int into)
{
    const size_t materials = (size_t)scenario->material_count;
    if (!station->turns)
        return from == into ? 1.0 : 0.0;
    return station->turns[((size_t)crop * materials + (size_t)from) * materials + (size_t)into];
}

bool efi_crop_passes(const ef_scenario *scenario, int crop, int material)
{
    return scenario->crops[crop].passes && scenario->crops[crop].passes[material];
}

/* ---- reading ---------------------------------------------------------------------------------------------
 */

static bool report_itself(efi_binder *b, const efi_node *key, const efi_path *path)
{
    efi_bind_report(b, EFI_DIAG_TURNS_ITSELF, path, key, "a material cannot be turned into itself",
                    "other materials", "take it out: what is not turned into others stays as it is");
    return false;
}

/* Puts the shares of one material, shape [crop][material], into its rows, with what stays; false where they
 * add up to more than there is. */
static bool put_rows(efi_binder *b, const efi_node *key, const efi_path *path, const double *share, int from,
                     double *turns)
{
    const size_t materials = (size_t)b->scenario->material_count;
    for (size_t crop = 0; crop < (size_t)b->scenario->crop_count; crop++) {
        double *row = turns + (crop * materials + (size_t)from) * materials;
        double sum = 0.0;
        for (size_t m = 0; m < materials; m++) {
            row[m] = share[crop * materials + m];
            sum += row[m];
        }
        if (sum > 1.0 + TURNED_SUM_TOLERANCE) {
            efi_bind_report(b, EFI_DIAG_TURNS_OVER, path, key,
                            efi_diags_textf(b->diags, "%s %% of %s of %s is turned into others",
                                            efi_bind_percent(b, sum), b->scenario->materials[from].name,
                                            b->scenario->crops[crop].name),
                            "at most 100 % of each material; what is left stays as it is", NULL);
            return false;
        }
        for (size_t m = 0; sum > 1.0 && m < materials; m++)
            row[m] /= sum;
        row[from] = sum < 1.0 ? 1.0 - sum : 0.0;
    }
    return true;
}

/* What becomes of one material; false when it cannot be read. */
static bool turn_material(efi_binder *b, const efi_node *key, const efi_path *path, double *share,
                          double *turns)
{
    const int from = efi_bind_find(b, EFI_NAMES_MATERIALS, key, path);
    const efi_node *map = key + 1;
    const size_t cells = (size_t)b->scenario->crop_count * (size_t)b->scenario->material_count;
    if (map->kind == EFI_NODE_TEXT && !map->unsound) {
        efi_bind_report(
            b, EFI_DIAG_VALUE_SHAPE, path, map, "a single value stands where shares by material belong",
            "a share for each material that it becomes, say {sound seed: 70 %, hulls: 25 %}", NULL);
        return false;
    }
    if (!efi_bind_is_map(b, map, path, "materials"))
        return false;
    bool good = from >= 0 && !map->unsound;
    memset(share, 0, cells * sizeof *share);
    for (int i = 0; i < (int)map->length; i++) {
        const efi_node *into = efi_node_key(map, i);
        const efi_path here = efi_path_to(path, into);
        const int material = efi_bind_find(b, EFI_NAMES_MATERIALS, into, &here);
        if (material >= 0 && material == from)
            good = report_itself(b, into, &here);
        else
            good = material >= 0 && efi_bind_material_share(b, into + 1, &here, share, material) && good;
    }
    return good && put_rows(b, key, path, share, from, turns);
}

void efi_bind_turns(efi_binder *b, const efi_node *node, const efi_path *path, const double **turns)
{
    const size_t materials = (size_t)b->scenario->material_count;
    const size_t rows = (size_t)b->scenario->crop_count * materials;
    if (!efi_bind_is_map(b, node, path, "materials") || !efi_bind_cells(b, rows * (materials + 1), node))
        return;
    double *share = efi_bind_get(b, rows, sizeof *share);
    double *matrix = efi_bind_get(b, rows * materials, sizeof *matrix);
    if (!share || !matrix)
        return;
    for (size_t row = 0; row < rows; row++)
        matrix[row * materials + row % materials] = 1.0;
    bool good = !node->unsound;
    for (int i = 0; i < (int)node->length; i++) {
        const efi_node *key = efi_node_key(node, i);
        const efi_path here = efi_path_to(path, key);
        good = turn_material(b, key, &here, share, matrix) && good;
    }
    if (good)
        *turns = matrix;
}

/* Marks what is made of what passes already; returns whether something new is. */
static bool spread(const ef_scenario *scenario, int crop, bool *passes)
{
    bool more = false;
    for (int s = 0; s < scenario->station_count; s++) {
        const efi_station *station = &scenario->stations[s];
        for (int m = 0; station->turns && m < scenario->material_count; m++) {
            for (int k = 0; passes[m] && k < scenario->material_count; k++) {
                if (passes[k] || !(efi_station_turned(scenario, station, crop, m, k) > 0.0))
                    continue;
                passes[k] = more = true;
            }
        }
    }
    return more;
}

void efi_turns_finish(efi_binder *b)
{
    ef_scenario *scenario = b->scenario;
    for (int s = 0; s < scenario->station_count; s++)
        scenario->has_turns = scenario->has_turns || scenario->stations[s].turns;
    for (int c = 0; c < scenario->crop_count; c++) {
        efi_crop *crop = &scenario->crops[c];
        bool *passes = crop->receipt ? efi_bind_get(b, (size_t)scenario->material_count, sizeof *passes)
                                     : NULL;
        crop->passes = passes;
        for (int m = 0; passes && m < scenario->material_count; m++)
            passes[m] = crop->receipt[m] > 0.0;
        while (passes && scenario->has_turns && spread(scenario, c, passes))
            ;
    }
}

/* ---- following -------------------------------------------------------------------------------------------
 */

/* A walk over what comes where: a station and a material are one number. */
typedef struct walk {
    const ef_scenario *scenario;
    int crop;
    bool *pairs;
    int *stack;
    int depth;
} walk;

static void push(walk *w, int station, int material)
{
    const int pair = station * w->scenario->material_count + material;
    if (w->pairs[pair])
        return;
    w->pairs[pair] = true;
    w->stack[w->depth++] = pair;
}

void efi_turns_receive(const ef_scenario *scenario, int crop, int material, bool *pairs)
{
    const int materials = scenario->material_count;
    const double *receipt = scenario->crops[crop].receipt;
    for (int s = 0; receipt && s < scenario->station_count; s++)
        for (int m = 0; efi_station_receives(&scenario->stations[s], crop) && m < materials; m++)
            if (receipt[m] > 0.0 && (material < 0 || m == material))
                pairs[s * materials + m] = true;
}

void efi_turns_down(const efi_ways *ways, const ef_scenario *scenario, int crop, bool *pairs, int *stack)
{
    const int materials = scenario->material_count;
    walk w = {.scenario = scenario, .crop = crop, .pairs = pairs, .stack = stack};
    for (int pair = 0; pair < scenario->station_count * materials; pair++)
        if (pairs[pair])
            stack[w.depth++] = pair;
    while (w.depth > 0) {
        const int pair = stack[--w.depth];
        const int s = pair / materials;
        for (int k = 0; k < materials; k++) {
            if (!(efi_station_turned(scenario, &scenario->stations[s], crop, pair % materials, k) > 0.0))
                continue;
            for (int way = ways->first_out[s]; way < ways->first_out[s + 1]; way++)
                if (efi_ways_carries(scenario, &ways->way[way], crop, k))
                    push(&w, ways->way[way].to, k);
        }
    }
}

void efi_turns_up(const efi_ways *ways, const ef_scenario *scenario, int crop, bool *pairs, int *stack)
{
    const int materials = scenario->material_count;
    walk w = {.scenario = scenario, .crop = crop, .pairs = pairs, .stack = stack};
    for (int s = 0; s < scenario->station_count; s++)
        for (int m = 0; scenario->stations[s].kind == EFI_STATION_OUTLET && m < materials; m++)
            push(&w, s, m);
    while (w.depth > 0) {
        const int pair = stack[--w.depth];
        const int k = pair % materials;
        for (int i = ways->first_in[pair / materials]; i < ways->first_in[pair / materials + 1]; i++) {
            const efi_way *way = &ways->way[ways->into[i]];
            if (!efi_ways_carries(scenario, way, crop, k))
                continue;
            for (int m = 0; m < materials; m++)
                if (efi_station_turned(scenario, &scenario->stations[way->from], crop, m, k) > 0.0)
                    push(&w, way->from, m);
        }
    }
}
