/* SPDX-License-Identifier: GPL-3.0-or-later
 * Checks on the lots of a season: what they are, when they come and must be done, in which state they are. */
#include "model/rules.h"

/* No plant receives more in one lot, t; our choice. */
#define MOST_AMOUNT_T 1e6

static const efi_season *season_of(const efi_rules *rules)
{
    return rules->scenario->season;
}

ef_diag efi_rule_lot(efi_rules *rules, int lot, const char *key)
{
    const efi_scenario_lot *of = &rules->scenario->lots[lot];
    return efi_rule_draft(rules, "lots", of->name, of->origin, key);
}

const efi_node *efi_rule_lot_value(const efi_rules *rules, int lot, const char *key)
{
    const efi_node *at = efi_node_find_key(rules->scenario->lots[lot].origin.value, key);
    return at ? at + 1 : NULL;
}

static bool says(const efi_rules *rules, int lot, const char *key)
{
    return efi_rule_lot_value(rules, lot, key) != NULL;
}

/* ---- what it is -----------------------------------------------------------------------------------------
 */

/* How many lots of one file lack their crop; the first of them. */
static int without_crop(const ef_scenario *scenario, unsigned source, int *first)
{
    int count = 0;
    for (int l = scenario->lot_count - 1; l >= 0; l--) {
        if (scenario->lots[l].crop != EFI_NOWHERE || scenario->lots[l].origin.key->source != source)
            continue;
        *first = l;
        count++;
    }
    return count;
}

void efi_rule_lot_crop_missing(efi_rules *rules)
{
    const ef_scenario *scenario = rules->scenario;
    for (int source = 0; source < scenario->tree.source_count && scenario->crop_count > 1; source++) {
        int first = 0;
        const int count = without_crop(scenario, (unsigned)source, &first);
        if (count == 0)
            continue;
        ef_diag draft = efi_rule_lot(rules, first, NULL);
        draft.found = NULL;
        draft.message = count == 1
                            ? "the key \"crop\" is missing, and the scenario has several"
                            : efi_diags_textf(rules->diags,
                                              "the key \"crop\" is missing here and in %d more lot%s of this "
                                              "file, and the scenario has several",
                                              count - 1, count == 2 ? "" : "s");
        draft.likely = efi_diags_textf(rules->diags, "crop: %s", scenario->crops[0].name);
        efi_diags_add(rules->diags, EFI_DIAG_KEY_MISSING, &draft);
    }
}

void efi_rule_lot_class_unknown(efi_rules *rules)
{
    const efi_season *season = season_of(rules);
    for (int l = 0; l < rules->scenario->lot_count && season->class_count > 0; l++) {
        const char *class = rules->scenario->lots[l].trait[EFI_LOT_CLASS];
        if (class && efi_season_class(season, class) < 0)
            efi_rule_report_class(rules, efi_rule_lot(rules, l, "class"), class);
    }
}

void efi_rule_lot_range(efi_rules *rules)
{
    for (int l = 0; l < rules->scenario->lot_count; l++) {
        const efi_value amount_t = rules->scenario->lots[l].amount_t;
        if (!amount_t.given || amount_t.value <= MOST_AMOUNT_T)
            continue;
        ef_diag draft = efi_rule_lot(rules, l, "amount");
        draft.message = efi_diags_textf(rules->diags, "\"%s\" is more than any lot holds", draft.found);
        draft.allowed = "at most 1000000 t";
        efi_diags_add(rules->diags, EFI_DIAG_OUT_OF_RANGE, &draft);
    }
}

void efi_rule_left_over(efi_rules *rules)
{
    for (int l = 0; l < rules->scenario->lot_count; l++) {
        const efi_scenario_lot *lot = &rules->scenario->lots[l];
        if (!lot->left_t.given || !lot->amount_t.given || lot->left_t.value <= lot->amount_t.value)
            continue;
        ef_diag draft = efi_rule_lot(rules, l, "left");
        draft.message = efi_diags_textf(rules->diags, "\"%s\" is more than the whole lot", draft.found);
        draft.allowed = "what is still to be run of its amount";
        efi_rule_second(rules, &draft, efi_rule_lot_value(rules, l, "amount"), "the amount");
        efi_diags_add(rules->diags, EFI_DIAG_LEFT_OVER, &draft);
    }
}

/* ---- when -----------------------------------------------------------------------------------------------
 */

enum {
    MOMENTS = 5,
    COMING = 3 /* the first three say when something happens, the others by when it must */
};
static const char *const moment_keys[MOMENTS] = {"arrives", "arrives latest", "starts", "due",
                                                 "latest start"};

static efi_when moment_of(const efi_scenario_lot *lot, int which)
{
    const efi_by_date *const moments[MOMENTS] = {&lot->arrives, &lot->arrives_latest, &lot->starts, &lot->due,
                                                 &lot->latest_start};
    return moments[which]->moment;
}

/* When the plan counts with the lot; NULL: it is there from the start. */
static const efi_by_date *arrival(const efi_scenario_lot *lot, const char **key)
{
    *key = lot->arrives_latest.moment.given ? "arrives latest" : "arrives";
    const efi_by_date *when = lot->arrives_latest.moment.given ? &lot->arrives_latest : &lot->arrives;
    return when->moment.given ? when : NULL;
}

void efi_rule_lot_times(efi_rules *rules)
{
    for (int l = 0; l < rules->scenario->lot_count; l++) {
        const efi_scenario_lot *lot = &rules->scenario->lots[l];
        const efi_when first = lot->arrives.moment;
        const efi_when last = lot->arrives_latest.moment;
        if (!first.given || !last.given || last.value >= first.value)
            continue;
        ef_diag draft = efi_rule_lot(rules, l, "arrives latest");
        draft.message = "the latest arrival is before the earliest";
        draft.allowed = "arrives latest at or after arrives";
        efi_rule_second(rules, &draft, efi_rule_lot_value(rules, l, "arrives"), "the earliest");
        efi_diags_add(rules->diags, EFI_DIAG_LOT_TIMES, &draft);
    }
}

/* `least_s`: how long after its arrival the moment must be. */
static void check_early(efi_rules *rules, int l, const char *key, efi_when limit, int64_t least_s,
                        const char *words)
{
    const char *arrival_key;
    const efi_by_date *there = arrival(&rules->scenario->lots[l], &arrival_key);
    if (!limit.given || !there || limit.value - there->moment.value >= least_s ||
        efi_rule_only_counted(rules, EFI_DIAG_DUE_EARLY))
        return;
    ef_diag draft = efi_rule_lot(rules, l, key);
    draft.message = words;
    draft.likely = "another year or month, or day and month the other way round";
    efi_rule_second(rules, &draft, efi_rule_lot_value(rules, l, arrival_key), "when it is there");
    efi_diags_add(rules->diags, EFI_DIAG_DUE_EARLY, &draft);
}

void efi_rule_due_early(efi_rules *rules)
{
    for (int l = 0; l < rules->scenario->lot_count; l++) {
        const efi_scenario_lot *lot = &rules->scenario->lots[l];
        if (lot->state == EFI_LOT_DONE)
            continue;
        check_early(rules, l, "due", lot->due.moment, 1,
                    "it is due before it is there, and late whatever is done");
        check_early(rules, l, "latest start", lot->latest_start.moment, 0,
                    "its latest start is before it is there");
        if (lot->state == EFI_LOT_FROZEN)
            check_early(rules, l, "starts", lot->starts.moment, 0, "it is to start before it is there");
    }
}

static void check_moment(efi_rules *rules, int l, int which)
{
    const efi_season *season = season_of(rules);
    const efi_when when = moment_of(&rules->scenario->lots[l], which);
    const int64_t from_s = season->from.value * EFI_DAY_S;
    const int64_t apart_s = when.value > from_s ? when.value - from_s : from_s - when.value;
    const int64_t end_s = (season->to.value + 1) * EFI_DAY_S;
    const bool far = apart_s > EFI_RULE_MOST_DAYS * EFI_DAY_S;
    if (!when.given || (!far && (which >= COMING || when.value < end_s)))
        return;
    ef_diag draft = efi_rule_lot(rules, l, moment_keys[which]);
    efi_text span = {0};
    efi_date_add(&span, season->from.value);
    efi_text_add(&span, " to ");
    efi_date_add(&span, season->to.value);
    draft.message = far ? efi_diags_textf(rules->diags, "\"%s\" is more than a hundred years from the season",
                                          draft.found)
                        : efi_diags_textf(rules->diags, "\"%s\" is after the end of the season", draft.found);
    draft.allowed = efi_diags_textf(rules->diags, "the season: %s", efi_bind_keep(rules->binder, &span));
    if (!far)
        draft.likely = "a later \"to\" of the season, or another date";
    efi_diags_add(rules->diags, far ? EFI_DIAG_OUT_OF_RANGE : EFI_DIAG_LOT_OUTSIDE, &draft);
}

void efi_rule_lot_outside(efi_rules *rules)
{
    const efi_season *season = season_of(rules);
    for (int l = 0; l < rules->scenario->lot_count && season->from.given && season->to.given; l++)
        for (int which = 0; which < MOMENTS; which++)
            check_moment(rules, l, which);
}

/* ---- one after the other ---------------------------------------------------------------------------------
 */

static void report_loop(efi_rules *rules, int first)
{
    enum {
        MOST_SHOWN = 5
    };
    const ef_scenario *scenario = rules->scenario;
    efi_text ring = {0};
    int at = first;
    int count = 0;
    do {
        if (count < MOST_SHOWN)
            efi_text_addf(&ring, "%s after ", scenario->lots[at].name);
        at = scenario->lots[at].after;
        count++;
    } while (at != first);
    efi_text_addf(&ring, "%s%s", count > MOST_SHOWN ? "... after " : "", scenario->lots[first].name);
    ef_diag draft = efi_rule_lot(rules, first, "after");
    const char *shown = efi_bind_keep(rules->binder, &ring);
    draft.message = count == 1 ? "it comes after itself"
                               : efi_diags_textf(rules->diags, "lots that wait for each other in a ring: %s",
                                                 shown ? shown : "");
    draft.likely = count == 1 ? "take \"after\" out" : "the first of them without \"after\"";
    efi_diags_add(rules->diags, EFI_DIAG_AFTER_LOOP, &draft);
}

void efi_rule_after_loop(efi_rules *rules)
{
    const ef_scenario *scenario = rules->scenario;
    const int count = scenario->lot_count;
    int *walk = efi_bind_get(rules->binder, (size_t)count,
                             sizeof *walk); /* number of the walk that came by */
    for (int l = 0; walk && l < count; l++) {
        int at = l;
        while (at >= 0 && walk[at] == 0) {
            walk[at] = l + 1;
            at = scenario->lots[at].after;
        }
        if (at < 0 || walk[at] != l + 1)
            continue; /* it ends, or in a ring that was told */
        int first = at;
        for (int next = scenario->lots[at].after; next != at; next = scenario->lots[next].after)
            first = next < first ? next : first;
        report_loop(rules, first);
    }
}

/* ---- states ---------------------------------------------------------------------------------------------
 */

void efi_rule_lot_place_missing(efi_rules *rules)
{
    const ef_scenario *scenario = rules->scenario;
    for (int l = 0; l < scenario->lot_count; l++) {
        const efi_scenario_lot *lot = &scenario->lots[l];
        const bool planned = lot->state == EFI_LOT_FROZEN || lot->state == EFI_LOT_RUNNING;
        const bool line = planned && lot->line == EFI_NOWHERE;
        const bool start = lot->state == EFI_LOT_FROZEN && !lot->starts.moment.given &&
                           !lot->starts.moment.bad;
        if (!line && !start)
            continue;
        ef_diag draft = efi_rule_lot(rules, l, "state");
        draft.message = efi_diags_textf(rules->diags, "a %s lot must say %s",
                                        efi_lot_state_word((efi_lot_state)lot->state),
                                        line && start ? "on which line it is, and when it starts"
                                        : line        ? "on which line it is"
                                                      : "when it starts");
        draft.likely = line ? efi_diags_textf(rules->diags, "line: %s", scenario->lines[0].name)
                            : "starts: 2026-09-14T06:00";
        efi_diags_add(rules->diags, EFI_DIAG_LOT_PLACE_MISSING, &draft);
    }
}

void efi_rule_running_twice(efi_rules *rules)
{
    const ef_scenario *scenario = rules->scenario;
    const int lines = scenario->line_count > 0 ? scenario->line_count : 1;
    for (int line = 0; line < lines; line++) {
        int first = -1;
        for (int l = 0; l < scenario->lot_count; l++) {
            if (scenario->lots[l].state != EFI_LOT_RUNNING || scenario->lots[l].line != line)
                continue;
            if (first < 0) {
                first = l;
                continue;
            }
            ef_diag draft = efi_rule_lot(rules, l, "state");
            draft.message = efi_diags_textf(rules->diags, "\"%s\" is running on the same line",
                                            scenario->lots[first].name);
            draft.allowed = "one running lot on each line";
            draft.likely = "state: done, for the one that has ended";
            efi_rule_second(rules, &draft, efi_rule_lot_value(rules, first, "state"), "the other one");
            efi_diags_add(rules->diags, EFI_DIAG_RUNNING_TWICE, &draft);
        }
    }
}

void efi_rule_lot_done_odd(efi_rules *rules)
{
    for (int l = 0; l < rules->scenario->lot_count; l++) {
        const efi_scenario_lot *lot = &rules->scenario->lots[l];
        const bool left = says(rules, l, "left") && lot->left_t.given && lot->left_t.value > 0.0;
        const bool placeless = lot->line == EFI_NOWHERE && !left;
        if (lot->state != EFI_LOT_DONE || (!left && !placeless) ||
            efi_rule_only_counted(rules, EFI_DIAG_LOT_DONE_ODD))
            continue;
        ef_diag draft = efi_rule_lot(rules, l, left ? "left" : "state");
        draft.message = left ? "of a done lot nothing is left to be run"
                             : "without its line nobody knows which line has to be cleaned after it";
        draft.likely = left ? "state: running"
                            : efi_diags_textf(rules->diags, "line: %s", rules->scenario->lines[0].name);
        efi_diags_add(rules->diags, EFI_DIAG_LOT_DONE_ODD, &draft);
    }
}

static void report_idle(efi_rules *rules, int l, const char *key, const char *message)
{
    if (!says(rules, l, key) || efi_rule_only_counted(rules, EFI_DIAG_KEY_IDLE))
        return;
    ef_diag draft = efi_rule_lot(rules, l, key);
    draft.message = message;
    efi_diags_add(rules->diags, EFI_DIAG_KEY_IDLE, &draft);
}

void efi_rule_lot_key_idle(efi_rules *rules)
{
    static const char waiting[] = "a waiting lot is planned anew, so this has no effect";
    for (int l = 0; l < rules->scenario->lot_count; l++) {
        const efi_scenario_lot *lot = &rules->scenario->lots[l];
        if (lot->state == EFI_LOT_WAITING) {
            report_idle(rules, l, "line", "a waiting lot is planned anew; \"lines\" says where it may run");
            report_idle(rules, l, "starts", waiting);
        }
        if (lot->state == EFI_LOT_WAITING || lot->state == EFI_LOT_FROZEN)
            report_idle(rules, l, "left", "only of a running lot is something left to be run");
        if (lot->after == EFI_NOWHERE)
            report_idle(rules, l, "wait", "without \"after\" this has no effect");
    }
}
