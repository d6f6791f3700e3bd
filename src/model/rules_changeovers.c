/* SPDX-License-Identifier: GPL-3.0-or-later
 * Checks on the season as a whole and on its rules for cleaning: which lots they can mean, and what they say.
 */
#include "model/rules.h"

#include <string.h>

static const efi_season *season_of(const efi_rules *rules)
{
    return rules->scenario->season;
}

static ef_diag draft_rule(efi_rules *rules, const efi_changeover *rule, const char *key)
{
    return efi_rule_draft(rules, "season.changeovers", rule->name, rule->origin, key);
}

/* A rule whose `when` could not be read says nothing that can be checked. */
static bool is_read(const efi_changeover *rule)
{
    const efi_node *when = efi_node_find(rule->origin.value, "when");
    return when && efi_node_is(when, efi_change_word((efi_change)rule->when));
}

static bool is_class(efi_change when)
{
    return when == EFI_CHANGE_CLASS || when == EFI_CHANGE_CLASS_DOWN || when == EFI_CHANGE_CLASS_UP;
}

static bool is_edge(efi_change when)
{
    return when == EFI_CHANGE_FIRST || when == EFI_CHANGE_LAST;
}

/* ---- the season as a whole ------------------------------------------------------------------------------
 */

void efi_rule_season_span(efi_rules *rules)
{
    const efi_season *season = season_of(rules);
    if (!season->from.given || !season->to.given || !season->is_given)
        return;
    const int64_t days = season->to.value - season->from.value;
    if (days >= 0 && days <= EFI_RULE_MOST_DAYS)
        return;
    const efi_node *at = efi_node_find_key(rules->scenario->tree.root, "season");
    const efi_origin origin = {at, at ? at + 1 : NULL};
    const char *key = efi_rule_has(origin, "to") ? "to" : "from";
    ef_diag draft = efi_rule_season(rules, key);
    efi_text start = {0};
    efi_date_add(&start, season->from.value);
    const char *from = efi_bind_keep(rules->binder, &start);
    draft.message = days < 0 ? "the season ends before it begins"
                             : "the season is longer than a hundred years";
    draft.allowed = efi_diags_textf(rules->diags, "%s or later, at most a hundred years", from ? from : "");
    if (efi_rule_has(origin, "from"))
        efi_rule_second(rules, &draft, efi_node_find(origin.value, "from"), "the beginning");
    efi_diags_add(rules->diags, EFI_DIAG_END_EARLY, &draft);
}

int efi_season_class(const efi_season *season, const char *class)
{
    for (int i = 0; i < season->class_count; i++)
        if (strcmp(season->classes[i], class) == 0)
            return i;
    return -1;
}

void efi_rule_report_class(efi_rules *rules, ef_diag draft, const char *class)
{
    const efi_season *season = season_of(rules);
    efi_text list = {0};
    for (int i = 0; i < season->class_count; i++)
        efi_text_addf(&list, "%s%s", i ? ", " : "", season->classes[i]);
    draft.message = efi_diags_textf(rules->diags, "no class is called \"%s\"", class);
    draft.allowed = efi_bind_keep(rules->binder, &list);
    draft.likely = efi_text_nearest(class, season->classes, season->class_count);
    efi_diags_add(rules->diags, EFI_DIAG_NAME_UNKNOWN, &draft);
}

void efi_rule_class_twice(efi_rules *rules)
{
    const efi_season *season = season_of(rules);
    for (int i = 1; i < season->class_count; i++) {
        if (efi_season_class(season, season->classes[i]) == i)
            continue;
        ef_diag draft = efi_rule_season(rules, "classes");
        draft.message = efi_diags_textf(rules->diags, "\"%s\" stands twice among the classes",
                                        season->classes[i]);
        draft.allowed = "each class once, the highest first";
        efi_diags_add(rules->diags, EFI_DIAG_KEY_TWICE, &draft);
    }
}

/* ---- who is meant ---------------------------------------------------------------------------------------
 */

/* Calls `visit` for each word that a rule of this kind may name, until it returns true; returns whether it
 * did. */
static bool each_word(const ef_scenario *scenario, efi_change when, bool (*visit)(void *, const char *),
                      void *context)
{
    const efi_lot_trait trait = efi_change_trait(when);
    const bool any = trait == EFI_LOT_TRAITS;
    bool found = !any && visit(context, EFI_TRAIT_NONE);
    for (int c = 0; any && !found && c < scenario->crop_count; c++)
        found = visit(context, scenario->crops[c].name);
    for (int l = 0; !found && l < scenario->lot_count; l++) {
        const efi_scenario_lot *lot = &scenario->lots[l];
        found = any && visit(context, lot->name);
        for (int t = 0; t < EFI_LOT_TRAITS && !found; t++)
            found = (any || t == (int)trait) && lot->trait[t] && visit(context, lot->trait[t]);
    }
    return found;
}

static bool is_word(void *context, const char *word)
{
    const char *const *wanted = context;
    return strcmp(*wanted, word) == 0;
}

/* The words, to look for the nearest. */
typedef struct words {
    const char **item;
    int count;
} words;

static bool add_word(void *context, const char *word)
{
    words *all = context;
    all->item[all->count++] = word;
    return false;
}

static const char *nearest_word(efi_rules *rules, efi_change when, const char *word)
{
    const ef_scenario *scenario = rules->scenario;
    const size_t most = (size_t)scenario->lot_count * (EFI_LOT_TRAITS + 1) + (size_t)scenario->crop_count + 1;
    words all = {.item = efi_new(most, sizeof(const char *))};
    if (!all.item) {
        rules->binder->failed = true;
        return NULL;
    }
    (void)each_word(scenario, when, add_word, &all);
    const char *nearest = efi_text_nearest(word, all.item, all.count);
    efi_free(all.item);
    return nearest;
}

static void check_trait(efi_rules *rules, const efi_changeover *rule, const char *key, const char *word)
{
    const efi_change when = (efi_change)rule->when;
    const efi_lot_trait trait = efi_change_trait(when);
    if (rules->scenario->lot_count == 0 || each_word(rules->scenario, when, is_word, &word) ||
        efi_rule_only_counted(rules, EFI_DIAG_CHANGEOVER_UNUSED))
        return;
    ef_diag draft = draft_rule(rules, rule, key);
    draft.message = trait == EFI_LOT_TRAITS
                        ? efi_diags_textf(rules->diags, "nothing about any lot is called \"%s\"", word)
                        : efi_diags_textf(rules->diags, "no lot has the %s \"%s\"", efi_trait_key(trait),
                                          word);
    draft.likely = nearest_word(rules, when, word);
    efi_diags_add(rules->diags, EFI_DIAG_CHANGEOVER_UNUSED, &draft);
}

static void check_word(efi_rules *rules, const efi_changeover *rule, const char *key, const char *word)
{
    const efi_season *season = season_of(rules);
    const efi_change when = (efi_change)rule->when;
    const efi_node *node = efi_node_find(rule->origin.value, key);
    if (!word || !node)
        return;
    if (is_class(when) && season->class_count > 0) {
        if (efi_season_class(season, word) < 0 && strcmp(word, EFI_TRAIT_NONE) != 0)
            efi_rule_report_class(rules, draft_rule(rules, rule, key), word);
    } else if (when == EFI_CHANGE_CROP) {
        efi_rule_find(rules, EFI_NAMES_CROPS, node, draft_rule(rules, rule, key).key);
    } else if (when == EFI_CHANGE_LOT) {
        if (rules->scenario->lot_count > 0)
            efi_rule_find(rules, EFI_NAMES_LOTS, node, draft_rule(rules, rule, key).key);
    } else {
        check_trait(rules, rule, key, word);
    }
}

void efi_rule_changeover_words(efi_rules *rules)
{
    const efi_season *season = season_of(rules);
    for (int r = 0; r < season->changeover_count; r++) {
        const efi_changeover *rule = &season->changeovers[r];
        if (!is_read(rule))
            continue;
        check_word(rules, rule, "from", rule->from);
        check_word(rules, rule, "to", rule->to);
    }
}

void efi_rule_pair_missing(efi_rules *rules)
{
    const efi_season *season = season_of(rules);
    for (int r = 0; r < season->changeover_count; r++) {
        const efi_changeover *rule = &season->changeovers[r];
        const bool from = efi_rule_has(rule->origin, "from");
        if (!is_read(rule) || rule->when != EFI_CHANGE_LOT || (from && efi_rule_has(rule->origin, "to")))
            continue;
        ef_diag draft = draft_rule(rules, rule, NULL);
        draft.found = NULL;
        draft.message = efi_diags_textf(
            rules->diags, "the key \"%s\" is missing: a rule for two lots names both", from ? "to" : "from");
        draft.likely = efi_diags_textf(rules->diags, "%s: the name of the other lot", from ? "to" : "from");
        efi_diags_add(rules->diags, EFI_DIAG_KEY_MISSING, &draft);
    }
}

void efi_rule_classes_missing(efi_rules *rules)
{
    const efi_season *season = season_of(rules);
    for (int r = 0; r < season->changeover_count; r++) {
        const efi_changeover *rule = &season->changeovers[r];
        const bool ordered = rule->when == EFI_CHANGE_CLASS_DOWN || rule->when == EFI_CHANGE_CLASS_UP;
        if (!is_read(rule) || !ordered || season->class_count > 0)
            continue;
        ef_diag draft = draft_rule(rules, rule, "when");
        draft.message = "nothing says which seed class is higher";
        draft.likely = "classes: [pre-basic, basic, certified], the highest first, under season";
        efi_diags_add(rules->diags, EFI_DIAG_CLASSES_MISSING, &draft);
    }
}

/* ---- what it says ---------------------------------------------------------------------------------------
 */

void efi_rule_changeover_never(efi_rules *rules)
{
    static const char *const keys[] = {"takes", "flush", "people", "cost", "stations"};
    const efi_season *season = season_of(rules);
    for (int r = 0; r < season->changeover_count; r++) {
        const efi_changeover *rule = &season->changeovers[r];
        const char *beside = NULL;
        for (size_t k = 0; k < EF_COUNT(keys) && !beside; k++)
            if (efi_rule_has(rule->origin, keys[k]))
                beside = keys[k];
        const bool edge = is_read(rule) && is_edge((efi_change)rule->when);
        if (!rule->never || (!beside && !edge))
            continue;
        ef_diag draft = draft_rule(rules, rule, "never");
        draft.message = beside
                            ? efi_diags_textf(
                                  rules->diags,
                                  "what must never follow is not cleaned, so \"%s\" contradicts it", beside)
                            : "nothing could run if that must never be";
        draft.allowed = beside ? "never alone, or what the cleaning takes" : NULL;
        if (beside)
            efi_rule_second(rules, &draft, efi_node_find_key(rule->origin.value, beside), "beside it");
        efi_diags_add(rules->diags, EFI_DIAG_CHANGEOVER_NEVER, &draft);
    }
}

/* Does a rule without conditions of one kind leave nothing for a later one of another? */
static bool covers(efi_change first, efi_change later)
{
    if (first == later)
        return true;
    if (is_edge(first) || is_edge(later) || later == EFI_CHANGE_LOT || first == EFI_CHANGE_LOT)
        return false;
    return first == EFI_CHANGE_ANY || (first == EFI_CHANGE_CLASS && is_class(later)) ||
           (first == EFI_CHANGE_VARIETY && later == EFI_CHANGE_CROP);
}

static bool has_conditions(const efi_changeover *rule)
{
    return efi_rule_has(rule->origin, "from") || efi_rule_has(rule->origin, "to") ||
           efi_rule_has(rule->origin, "lines");
}

void efi_rule_changeover_hidden(efi_rules *rules)
{
    const efi_season *season = season_of(rules);
    for (int r = 0; r < season->changeover_count; r++) {
        const efi_changeover *rule = &season->changeovers[r];
        const efi_changeover *first = NULL;
        for (int e = 0; e < r && !first; e++) {
            const efi_changeover *one = &season->changeovers[e];
            if (is_read(one) && is_read(rule) && !has_conditions(one) &&
                covers((efi_change)one->when, (efi_change)rule->when))
                first = one;
        }
        if (!first || efi_rule_only_counted(rules, EFI_DIAG_CHANGEOVER_UNUSED))
            continue;
        ef_diag draft = draft_rule(rules, rule, NULL);
        draft.message = efi_diags_textf(rules->diags, "\"%s\" comes before it and leaves it nothing",
                                        first->name);
        draft.likely = "put it before that one: the first rule that applies counts";
        efi_rule_second(rules, &draft, first->origin.key, "the rule before");
        efi_diags_add(rules->diags, EFI_DIAG_CHANGEOVER_UNUSED, &draft);
    }
}

static void report_idle(efi_rules *rules, ef_diag draft, const char *message, const char *likely)
{
    if (efi_rule_only_counted(rules, EFI_DIAG_KEY_IDLE))
        return;
    draft.message = message;
    draft.likely = likely;
    efi_diags_add(rules->diags, EFI_DIAG_KEY_IDLE, &draft);
}

void efi_rule_season_key_idle(efi_rules *rules)
{
    const efi_season *season = season_of(rules);
    const bool whole = season->cleaning == EFI_CLEANING_LINE;
    if (whole && season->teams > 1)
        report_idle(rules, efi_rule_season(rules, "teams"), "a line that is cleaned as a whole has one team",
                    "cleaning: station by station");
    for (int r = 0; r < season->changeover_count; r++) {
        const efi_changeover *rule = &season->changeovers[r];
        const bool takes = efi_rule_has(rule->origin, "takes");
        if (whole && rule->station_count > 0)
            report_idle(rules, draft_rule(rules, rule, "stations"),
                        takes ? "the line is cleaned as a whole, for as long as \"takes\" says"
                              : "the line is cleaned as a whole: the longest of them counts for all",
                        "cleaning: station by station, under season");
        if (is_read(rule) && rule->when == EFI_CHANGE_FIRST && efi_rule_has(rule->origin, "from"))
            report_idle(rules, draft_rule(rules, rule, "from"), "nothing runs before the first lot",
                        "to, for the first lot itself");
        if (is_read(rule) && rule->when == EFI_CHANGE_LAST && efi_rule_has(rule->origin, "to"))
            report_idle(rules, draft_rule(rules, rule, "to"), "nothing runs after the last lot",
                        "from, for the last lot itself");
    }
}

/* ---- what it costs --------------------------------------------------------------------------------------
 */

static bool has_seed_price(const ef_scenario *scenario, int crop)
{
    bool found = crop < 0 || scenario->crops[crop].price.given || scenario->crops[crop].price.bad;
    for (int s = 0; s < scenario->station_count && !found; s++) {
        const efi_station *station = &scenario->stations[s];
        found = station->product && station->price &&
                (station->price[crop].given || station->price[crop].bad);
    }
    return found;
}

/* A lot whose seed has no price; -1 when all have one. */
static int lot_without_price(const ef_scenario *scenario)
{
    for (int l = 0; l < scenario->lot_count; l++)
        if (!has_seed_price(scenario, scenario->lots[l].crop))
            return l;
    return -1;
}

void efi_rule_cleaning_free(efi_rules *rules)
{
    const ef_scenario *scenario = rules->scenario;
    const efi_season *season = season_of(rules);
    const efi_value labour = scenario->plant->labour_price;
    bool priced = labour.given || labour.bad || scenario->lot_count == 0;
    const efi_changeover *flush = NULL;
    const efi_changeover *hours = NULL;
    for (int r = season->changeover_count - 1; r >= 0; r--) {
        const efi_changeover *rule = &season->changeovers[r];
        priced = priced || efi_rule_has(rule->origin, "cost");
        if (rule->flush_t.given && rule->flush_t.value > 0.0)
            flush = rule;
        if ((rule->takes_h.given && rule->takes_h.value > 0.0) || rule->station_count > 0)
            hours = rule;
    }
    const int lot = flush ? lot_without_price(scenario) : -1;
    if (lot >= 0 && !efi_rule_only_counted(rules, EFI_DIAG_CLEANING_FREE)) {
        ef_diag draft = draft_rule(rules, flush, "flush");
        const char *crop = scenario->crops[scenario->lots[lot].crop].name;
        draft.message = efi_diags_textf(
            rules->diags, "seed of %s that is flushed costs nothing, for it has no price", crop);
        draft.likely = efi_diags_textf(rules->diags, "a price at its product outlet, or under crops.%s",
                                       crop);
        efi_diags_add(rules->diags, EFI_DIAG_CLEANING_FREE, &draft);
    }
    if (!hours || priced || (flush && lot < 0) || efi_rule_only_counted(rules, EFI_DIAG_CLEANING_FREE))
        return;
    ef_diag draft = draft_rule(rules, hours, NULL);
    draft.message = "cleaning takes time but costs nothing: neither labour nor any rule has a price";
    draft.likely = "a labour price of the plant, or a cost of the rules";
    efi_diags_add(rules->diags, EFI_DIAG_CLEANING_FREE, &draft);
}
