/* SPDX-License-Identifier: GPL-3.0-or-later
 * Checks on splits as ways: by-passes, and branches that part nothing.
 *
 * A branch A of a split leads around a machine that its sibling B passes when the two meet behind it. N(A):
 * the stations reached from A without going through a machine, the machines at the end of that included.
 * D(B): the stations reached behind the first machines of B, the split itself not passed again. A is a
 * by-pass against B when N(A) and D(B) share a station. */
#include "model/rules.h"

/* Walks from every split over the whole plant: with more than this many steps in prospect they are left out.
 */
#define MOST_STEPS 50000000.0

static bool is_machine(const ef_scenario *scenario, int station)
{
    return efi_station_class((efi_station_kind)scenario->stations[station].kind) == EFI_CLASS_MACHINE;
}

/* Marks what is reached from the stations on the stack, which are marked already; never on from `split`, and
 * never on from a machine when `stop_at_machines`. */
static void spread(efi_rules *rules, int split, bool stop_at_machines, bool *marks, int depth)
{
    const efi_ways *ways = &rules->all;
    while (depth > 0) {
        const int s = rules->stack[--depth];
        if (s == split || (stop_at_machines && is_machine(rules->scenario, s)))
            continue;
        for (int w = ways->first_out[s]; w < ways->first_out[s + 1]; w++) {
            const int to = ways->way[w].to;
            if (!marks[to]) {
                marks[to] = true;
                rules->stack[depth++] = to;
            }
        }
    }
}

/* Marks N of a branch. */
static void mark_near(efi_rules *rules, int split, const efi_way *branch, bool *near)
{
    efi_rule_clear(rules, near);
    near[branch->to] = true;
    rules->stack[0] = branch->to;
    spread(rules, split, true, near, 1);
}

/* Marks D of a branch, given its N. */
static void mark_behind(efi_rules *rules, int split, const bool *near, bool *behind)
{
    const ef_scenario *scenario = rules->scenario;
    const efi_ways *ways = &rules->all;
    int depth = 0;
    efi_rule_clear(rules, behind);
    for (int s = 0; s < scenario->station_count; s++) {
        for (int w = ways->first_out[s]; near[s] && is_machine(scenario, s) && w < ways->first_out[s + 1];
             w++) {
            const int to = ways->way[w].to;
            if (!behind[to]) {
                behind[to] = true;
                rules->stack[depth++] = to;
            }
        }
    }
    spread(rules, split, false, behind, depth);
}

/* The machine of another branch that this way out of a split leads around: a station, or -1. */
static int led_around(efi_rules *rules, int split, int way)
{
    const ef_scenario *scenario = rules->scenario;
    const efi_ways *ways = &rules->all;
    for (int other = ways->first_out[split]; other < ways->first_out[split + 1]; other++) {
        if (ways->way[other].discharge == ways->way[way].discharge)
            continue;
        mark_near(rules, split, &ways->way[other], rules->mark);
        int machine = -1;
        for (int s = 0; s < scenario->station_count && machine < 0; s++)
            machine = rules->mark[s] && is_machine(scenario, s) ? s : -1;
        mark_behind(rules, split, rules->mark, rules->mark_too);
        mark_near(rules, split, &ways->way[way], rules->mark);
        for (int s = 0; s < scenario->station_count; s++)
            if (rules->mark[s] && rules->mark_too[s] && s != split)
                return machine;
    }
    return -1;
}

static bool walks_are_short(const efi_rules *rules)
{
    const ef_scenario *scenario = rules->scenario;
    double branches = 0.0;
    for (int s = 0; s < scenario->station_count; s++)
        if (scenario->stations[s].kind == EFI_STATION_SPLIT) {
            const double out = rules->all.first_out[s + 1] - rules->all.first_out[s];
            branches += out * out;
        }
    return branches * (rules->all.count + scenario->station_count) <= MOST_STEPS;
}

/* Calls `report` for every branch of every split with the machine that it leads around, or -1. */
static void each_branch(efi_rules *rules,
                        void (*report)(efi_rules *rules, const efi_way *branch, int machine))
{
    const ef_scenario *scenario = rules->scenario;
    for (int s = 0; walks_are_short(rules) && s < scenario->station_count; s++)
        for (int w = rules->all.first_out[s];
             scenario->stations[s].kind == EFI_STATION_SPLIT && w < rules->all.first_out[s + 1]; w++)
            report(rules, &rules->all.way[w], led_around(rules, s, w));
}

static const efi_discharge *branch_of(const efi_rules *rules, const efi_way *way)
{
    return &rules->scenario->stations[way->from].discharges.items[way->discharge];
}

static void report_unmarked(efi_rules *rules, const efi_way *way, int machine)
{
    const efi_discharge *branch = branch_of(rules, way);
    if (machine < 0 || branch->by_pass || efi_rule_has(branch->origin, "by-pass"))
        return;
    ef_diag draft = efi_rule_discharge(rules, way->from, way->discharge, NULL);
    draft.message = efi_diags_textf(rules->diags, "\"%s\" leads around %s", branch->name,
                                    rules->scenario->stations[machine].name);
    draft.likely = "by-pass: yes, if that is meant; else lead the branch through a machine of its own";
    efi_rule_second(rules, &draft, rules->scenario->stations[machine].origin.key,
                    "the machine that it leads around");
    efi_diags_add(rules->diags, EFI_DIAG_BY_PASS_UNMARKED, &draft);
}

void efi_rule_by_pass_unmarked(efi_rules *rules)
{
    each_branch(rules, report_unmarked);
}

static void report_useless(efi_rules *rules, const efi_way *way, int machine)
{
    const efi_discharge *branch = branch_of(rules, way);
    if (machine >= 0 || !branch->by_pass)
        return;
    ef_diag draft = efi_rule_discharge(rules, way->from, way->discharge, "by-pass");
    draft.message = efi_diags_textf(
        rules->diags, "\"%s\" is marked as a by-pass, but leads around no machine", branch->name);
    draft.likely = "take the mark out, or look where the branch leads";
    efi_diags_add(rules->diags, EFI_DIAG_BY_PASS_USELESS, &draft);
}

void efi_rule_by_pass_useless(efi_rules *rules)
{
    each_branch(rules, report_useless);
}

void efi_rule_split_single(efi_rules *rules)
{
    const ef_scenario *scenario = rules->scenario;
    for (int s = 0; s < scenario->station_count; s++) {
        if (scenario->stations[s].kind != EFI_STATION_SPLIT || scenario->stations[s].discharges.count != 1)
            continue;
        ef_diag draft = efi_rule_station(rules, s, "branches");
        draft.message = "a split with one branch parts nothing";
        draft.likely = "a second branch, or a conveyor instead";
        efi_diags_add(rules->diags, EFI_DIAG_SPLIT_SINGLE, &draft);
    }
}

/* Do two branches lead to the same station for every crop? */
static bool same_ways(const ef_scenario *scenario, const efi_discharge *a, const efi_discharge *b)
{
    for (int crop = 0; crop < scenario->crop_count; crop++)
        if (!a->to || !b->to || a->to[crop] != b->to[crop])
            return false;
    return scenario->crop_count > 0;
}

void efi_rule_split_same(efi_rules *rules)
{
    const ef_scenario *scenario = rules->scenario;
    for (int s = 0; s < scenario->station_count; s++) {
        const efi_discharges *out = &scenario->stations[s].discharges;
        for (int d = 1; scenario->stations[s].kind == EFI_STATION_SPLIT && d < out->count; d++) {
            for (int earlier = 0; earlier < d; earlier++) {
                if (!same_ways(scenario, &out->items[d], &out->items[earlier]))
                    continue;
                ef_diag draft = efi_rule_discharge(rules, s, d, "to");
                draft.message = efi_diags_textf(rules->diags, "\"%s\" leads where \"%s\" leads already",
                                                out->items[d].name, out->items[earlier].name);
                draft.likely = "one branch for both";
                efi_rule_second(rules, &draft, out->items[earlier].origin.key, "the other branch");
                efi_diags_add(rules->diags, EFI_DIAG_SPLIT_SAME, &draft);
                break;
            }
        }
    }
}
