/* SPDX-License-Identifier: GPL-3.0-or-later
 * Checks on by-passes: branches of a split that lead around a machine which a sibling passes.
 *
 * For a crop and a split, near(A) are the stations that branch A comes to without passing a machine; machines
 * at its edge count as come to. Of a sibling B, the machines at the edge of near(B) which A does not come to
 * are the ones that A may lead around. Behind such a machine, far(B) are the stations that its main stream
 * comes to without passing the split again. A leads around the machine when near(A) and far(B) share a
 * station: there, what went through the machine and what did not meet.
 *
 * The main stream of a machine are those discharges which take more than any other of a wanted material. So
 * middlings that are sent from one deck to another deck beside it make no by-pass, and neither do screenings
 * that meet in a cart.
 */
#include "model/rules.h"

/* Steps along spouts after which the search ends, and what is left of the file goes unchecked: far more than
 * any plant takes, a fraction of a second. It keeps hostile files from taking hours. */
#define MOST_STEPS 20000000L

/* The search for one crop. */
typedef struct search {
    efi_rules *rules;
    const efi_ways *ways;
    bool *main; /* shape [way]: is of the main stream */
    int crop;
    int split;
    int *near; /* shape [station]: the number of the walk that came here last */
    int *far;  /* the same, for the sibling */
    int *edge; /* shape [station], scratch */
    int walk;  /* number of the last walk */
    long left; /* steps */
} search;

static bool is_machine(const search *at, int s)
{
    return efi_station_class((efi_station_kind)at->rules->scenario->stations[s].kind) == EFI_CLASS_MACHINE;
}

/* Is a spout a branch that is marked as a by-pass? */
static bool is_marked(const search *at, const efi_way *way)
{
    return at->rules->scenario->stations[way->from].discharges.items[way->discharge].by_pass;
}

/* The discharge of a machine that takes most of a material; -1 when none takes any. */
static int best_discharge(const ef_scenario *scenario, const efi_station *machine, int crop, int material)
{
    const size_t cell = (size_t)crop * (size_t)scenario->material_count + (size_t)material;
    int best = -1;
    for (int d = 0; d < machine->discharges.count; d++) {
        const double *share = machine->discharges.items[d].share;
        if (share && share[cell] > 0.0 &&
            (best < 0 || share[cell] > machine->discharges.items[best].share[cell]))
            best = d;
    }
    return best;
}

/* Marks the spouts of the main stream: all of what is no machine, and of a machine those that get most of a
 * wanted material. */
static void mark_main(const efi_rules *rules, int crop, bool *main)
{
    const ef_scenario *scenario = rules->scenario;
    const efi_ways *ways = &rules->by_crop[crop];
    const double *receipt = scenario->crops[crop].receipt;
    for (int s = 0; s < scenario->station_count; s++) {
        const efi_station *station = &scenario->stations[s];
        const bool machine = station->discharges.count > 1 &&
                             efi_station_class((efi_station_kind)station->kind) == EFI_CLASS_MACHINE;
        for (int w = ways->first_out[s]; w < ways->first_out[s + 1]; w++)
            main[w] = !machine && rules->carries[crop][w];
        for (int m = 0; machine && m < scenario->material_count; m++) {
            if (!scenario->materials[m].wanted || (receipt && !efi_crop_passes(scenario, crop, m)))
                continue;
            const int best = best_discharge(scenario, station, crop, m);
            for (int w = ways->first_out[s]; w < ways->first_out[s + 1]; w++)
                main[w] = main[w] || ways->way[w].discharge == best;
        }
    }
}

/* Marks with a new number the stations that a branch comes to without passing a machine, the split or a
 * marked by-pass of another split. The machines at the edge go to `edge`; returns how many. */
static int walk_near(search *at, const efi_way *branch, int *marks)
{
    int *stack = at->rules->stack;
    int depth = 0;
    int count = 0;
    at->walk++;
    marks[at->split] = marks[branch->to] = at->walk;
    stack[depth++] = branch->to;
    while (depth > 0) {
        const int s = stack[--depth];
        if (is_machine(at, s)) {
            at->edge[count++] = s;
            continue;
        }
        for (int w = at->ways->first_out[s]; w < at->ways->first_out[s + 1]; w++) {
            const efi_way *way = &at->ways->way[w];
            at->left--;
            if (marks[way->to] == at->walk || !at->rules->carries[at->crop][w] || is_marked(at, way))
                continue;
            marks[way->to] = at->walk;
            stack[depth++] = way->to;
        }
    }
    return count;
}

/* Does the main stream of a machine come to a station that is near by the walk `near`? Stations marked with
 * the walk `far` are known not to lead there. */
static bool meets(search *at, int machine, int near, int far)
{
    int *stack = at->rules->stack;
    int depth = 0;
    at->far[at->split] = far;
    stack[depth++] = machine;
    while (depth > 0 && at->left > 0) {
        const int s = stack[--depth];
        for (int w = at->ways->first_out[s]; w < at->ways->first_out[s + 1]; w++) {
            const int to = at->ways->way[w].to;
            at->left--;
            if (!at->main[w] || at->far[to] == far)
                continue;
            if (at->near[to] == near)
                return true;
            at->far[to] = far;
            stack[depth++] = to;
        }
    }
    return false;
}

/* The first machine that branch `a` leads around because the sibling `b` passes it; -1 when there is none. */
static int machine_between(search *at, int near, const efi_way *b)
{
    const int count = walk_near(at, b, at->far);
    const int far = ++at->walk;
    for (int i = 0; i < count && at->left > 0; i++)
        if (at->near[at->edge[i]] != near && meets(at, at->edge[i], near, far))
            return at->edge[i];
    return -1;
}

/* The spout of a branch for the crop; NULL when the crop does not go there. */
static const efi_way *way_of(const search *at, int branch)
{
    for (int w = at->ways->first_out[at->split]; w < at->ways->first_out[at->split + 1]; w++)
        if (at->ways->way[w].discharge == branch)
            return &at->ways->way[w];
    return NULL;
}

/* A machine that a branch of the split leads around, and the sibling that passes it. */
typedef struct around {
    int machine; /* -1: none */
    int sibling; /* branch */
} around;

static around leads_around(search *at, int branch)
{
    around found = {-1, -1};
    const efi_way *a = way_of(at, branch);
    const int branches = at->rules->scenario->stations[at->split].discharges.count;
    if (!a)
        return found;
    (void)walk_near(at, a, at->near);
    const int near = at->walk;
    for (int sibling = 0; sibling < branches && found.machine < 0; sibling++) {
        const efi_way *b = sibling == branch ? NULL : way_of(at, sibling);
        if (b)
            found = (around){machine_between(at, near, b), sibling};
    }
    return found;
}

/* Begins the search for a crop. */
static void begin_crop(search *at, int crop)
{
    at->crop = crop;
    at->ways = &at->rules->by_crop[crop];
    mark_main(at->rules, crop, at->main);
}

static bool make_search(search *at, efi_rules *rules, efi_arena *arena)
{
    const size_t stations = (size_t)rules->scenario->station_count;
    *at = (search){.rules = rules, .left = MOST_STEPS};
    at->main = rules->way_mark;
    at->near = arena ? efi_arena_get(arena, stations, sizeof *at->near) : NULL;
    at->far = arena ? efi_arena_get(arena, stations, sizeof *at->far) : NULL;
    at->edge = arena ? efi_arena_get(arena, stations, sizeof *at->edge) : NULL;
    const bool good = at->near && at->far && at->edge;
    rules->binder->failed = rules->binder->failed || !good;
    return good;
}

static void report_unmarked(efi_rules *rules, int split, int branch, around found)
{
    const efi_station *machine = &rules->scenario->stations[found.machine];
    const efi_discharges *out = &rules->scenario->stations[split].discharges;
    ef_diag draft = efi_rule_discharge(rules, split, branch, NULL);
    draft.message = efi_diags_textf(
        rules->diags, "this branch leads around \"%s\", which the branch \"%s\" passes, and is not marked",
        machine->name, out->items[found.sibling].name);
    draft.allowed = "branches that each pass a machine before they meet again, or the mark";
    draft.likely = "by-pass: yes, if material may go around it";
    efi_rule_second(rules, &draft, machine->origin.key, "the machine");
    efi_diags_add(rules->diags, EFI_DIAG_BY_PASS_UNMARKED, &draft);
}

static bool is_split(const efi_rules *rules, int s)
{
    return rules->scenario->stations[s].kind == EFI_STATION_SPLIT;
}

/* Looks at the unmarked branches of a split. One finding for each split: others most often follow from it. */
static void check_unmarked(search *at, int split)
{
    efi_rules *rules = at->rules;
    const efi_discharges *out = &rules->scenario->stations[split].discharges;
    at->split = split;
    for (int d = 0; d < out->count && !rules->mark[split]; d++) {
        if (out->items[d].by_pass || efi_rule_flag_unread(out->items[d].origin, "by-pass"))
            continue;
        const around found = leads_around(at, d);
        if (found.machine < 0)
            continue;
        rules->mark[split] = true;
        report_unmarked(rules, split, d, found);
    }
}

void efi_rule_by_pass_unmarked(efi_rules *rules)
{
    search at;
    efi_arena *arena = efi_arena_new();
    efi_rule_clear(rules, rules->mark);
    const bool good = make_search(&at, rules, arena);
    for (int crop = 0; good && crop < rules->scenario->crop_count; crop++) {
        begin_crop(&at, crop);
        for (int s = 0; s < rules->scenario->station_count && at.left > 0; s++)
            if (is_split(rules, s) && efi_rule_reached(rules, crop, s))
                check_unmarked(&at, s);
    }
    efi_arena_free(arena);
}

/* Marks the branches of a split that are by-passes for the crop of the search; bit d of `useful` is branch d.
 * What the search cannot tell counts as one. */
static void mark_useful(search *at, int split, unsigned *useful)
{
    const efi_discharges *out = &at->rules->scenario->stations[split].discharges;
    at->split = split;
    for (int d = 0; d < out->count; d++)
        if (out->items[d].by_pass && !(*useful & 1u << d) &&
            (leads_around(at, d).machine >= 0 || at->left <= 0))
            *useful |= 1u << d;
}

static void report_useless(efi_rules *rules, int split, unsigned useful)
{
    const efi_discharges *out = &rules->scenario->stations[split].discharges;
    for (int d = 0; d < out->count; d++) {
        if (!out->items[d].by_pass || (useful & 1u << d) ||
            efi_rule_only_counted(rules, EFI_DIAG_BY_PASS_USELESS))
            continue;
        ef_diag draft = efi_rule_discharge(rules, split, d, "by-pass");
        draft.message = "this branch is marked as a by-pass, but leads around nothing";
        draft.allowed = "a by-pass leads to where another branch comes after a machine";
        draft.likely = "take the mark out, or lead the branch to after the machine";
        efi_diags_add(rules->diags, EFI_DIAG_BY_PASS_USELESS, &draft);
    }
}

void efi_rule_by_pass_useless(efi_rules *rules)
{
    const int stations = rules->scenario->station_count;
    search at;
    efi_arena *arena = efi_arena_new();
    unsigned *useful = make_search(&at, rules, arena) ? efi_arena_get(arena, (size_t)stations, sizeof *useful)
                                                      : NULL;
    rules->binder->failed = rules->binder->failed || !useful;
    for (int crop = 0; useful && crop < rules->scenario->crop_count; crop++) {
        begin_crop(&at, crop);
        for (int s = 0; s < stations; s++)
            if (is_split(rules, s) && efi_rule_reached(rules, crop, s))
                mark_useful(&at, s, &useful[s]);
    }
    for (int s = 0; useful && s < stations; s++)
        if (is_split(rules, s))
            report_useless(rules, s, useful[s]);
    efi_arena_free(arena);
}
