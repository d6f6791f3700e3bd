/* SPDX-License-Identifier: GPL-3.0-or-later
 * Checks on how stations stop and how loads come: what is said twice, not at all, or to no effect. */
#include "base/display.h"
#include "base/memory.h"
#include "model/rules.h"

#include <stdlib.h>

static bool is_given(efi_origin origin, const char *key)
{
    return efi_rule_has(origin, key);
}

/* A finding about a key of one stop of a station. */
static ef_diag draft_stop(efi_rules *rules, int station, const efi_stop *stop, const char *key)
{
    const char *list = efi_diags_textf(rules->diags, "stations.%s.stops",
                                       rules->scenario->stations[station].name);
    return efi_rule_draft(rules, list ? list : "", stop->name, stop->origin, key);
}

/* Calls `check` for every stop of every station. */
static void each_stop(efi_rules *rules, void (*check)(efi_rules *, int, const efi_stop *))
{
    for (int s = 0; s < rules->scenario->station_count; s++)
        for (int i = 0; i < rules->scenario->stations[s].stops.count; i++)
            check(rules, s, &rules->scenario->stations[s].stops.items[i]);
}

/* ---- when -----------------------------------------------------------------------------------------------
 */

static void check_when(efi_rules *rules, int s, const efi_stop *stop)
{
    static const char *const keys[] = {"between", "every", "after", "at"};
    const char *given = NULL;
    const char *second = NULL;
    for (size_t i = 0; i < EF_COUNT(keys); i++) {
        if (!is_given(stop->origin, keys[i]))
            continue;
        second = given && !second ? keys[i] : second;
        given = given ? given : keys[i];
    }
    if (given && !second)
        return;
    ef_diag draft = draft_stop(rules, s, stop, second);
    draft.found = NULL;
    draft.message = given ? efi_diags_textf(rules->diags, "it goes by \"%s\" and by \"%s\"", given, second)
                          : "it does not say when it comes";
    draft.allowed = "one of between (random), every, after, at (planned)";
    if (given)
        efi_rule_second(rules, &draft, efi_node_find_key(stop->origin.value, given), "the first of the two");
    efi_diags_add(rules->diags, EFI_DIAG_STOP_WHEN, &draft);
}

void efi_rule_stop_when(efi_rules *rules)
{
    each_stop(rules, check_when);
}

/* ---- forms and shapes -----------------------------------------------------------------------------------
 */

static bool has_shape(int form)
{
    return form == EFI_FORM_WEIBULL || form == EFI_FORM_LOGNORMAL || form == EFI_FORM_GAMMA;
}

static const char *form_word(int form)
{
    static const char *const words[] = {
#define WORD(code, word, meaning) word,
        EFI_FORM_LIST(WORD)
#undef WORD
    };
    return words[form];
}

static void report_shape(efi_rules *rules, ef_diag draft, const char *key, int form)
{
    draft.message = efi_diags_textf(rules->diags, "the form \"%s\" needs its shape", form_word(form));
    draft.likely = efi_diags_textf(rules->diags, "%s: 1.5", key);
    efi_diags_add(rules->diags, EFI_DIAG_SHAPE_MISSING, &draft);
}

static void check_shapes(efi_rules *rules, int s, const efi_stop *stop)
{
    if (has_shape(stop->between_form) && !is_given(stop->origin, "between shape"))
        report_shape(rules, draft_stop(rules, s, stop, "between form"), "between shape", stop->between_form);
    if (has_shape(stop->lasts_form) && !is_given(stop->origin, "lasts shape"))
        report_shape(rules, draft_stop(rules, s, stop, "lasts form"), "lasts shape", stop->lasts_form);
}

void efi_rule_shape_missing(efi_rules *rules)
{
    each_stop(rules, check_shapes);
    for (int s = 0; s < rules->scenario->station_count; s++) {
        const efi_receipts *receipts = rules->scenario->stations[s].receipts;
        const efi_node *at = efi_node_find(rules->scenario->stations[s].origin.value, "receipts");
        if (receipts && at && has_shape(receipts->form) && !efi_node_find(at, "shape"))
            report_shape(rules, efi_rule_within(rules, s, "receipts", "form"), "shape", receipts->form);
    }
}

/* ---- keys without effect --------------------------------------------------------------------------------
 */

static void report_idle(efi_rules *rules, ef_diag draft, const char *message)
{
    if (efi_rule_only_counted(rules, EFI_DIAG_KEY_IDLE))
        return;
    draft.message = message;
    draft.likely = "take it out";
    efi_diags_add(rules->diags, EFI_DIAG_KEY_IDLE, &draft);
}

static void check_idle(efi_rules *rules, int s, const efi_stop *stop)
{
    static const char *const random_only[] = {"between form", "between shape"};
    const efi_origin origin = stop->origin;
    for (size_t i = 0; i < EF_COUNT(random_only); i++)
        if (is_given(origin, random_only[i]) && !is_given(origin, "between"))
            report_idle(rules, draft_stop(rules, s, stop, random_only[i]),
                        "without \"between\" this has no effect");
    if (is_given(origin, "between shape") && is_given(origin, "between") && !has_shape(stop->between_form))
        report_idle(
            rules, draft_stop(rules, s, stop, "between shape"),
            efi_diags_textf(rules->diags, "the form \"%s\" has no shape", form_word(stop->between_form)));
    if (is_given(origin, "lasts shape") && !has_shape(stop->lasts_form))
        report_idle(rules, draft_stop(rules, s, stop, "lasts shape"),
                    stop->lasts_form < 0 ? "without \"lasts form\" this has no effect"
                                         : efi_diags_textf(rules->diags, "the form \"%s\" has no shape",
                                                           form_word(stop->lasts_form)));
    if (is_given(origin, "counts") && (is_given(origin, "after") || is_given(origin, "at")))
        report_idle(rules, draft_stop(rules, s, stop, "counts"),
                    is_given(origin, "at") ? "a stop at times of the day counts nothing"
                                           : "a stop after so many tonnes counts those");
    if (is_given(origin, "days") && !is_given(origin, "at"))
        report_idle(rules, draft_stop(rules, s, stop, "days"), "without \"at\" this has no effect");
}

static void check_idle_station(efi_rules *rules, int s)
{
    const efi_station *station = &rules->scenario->stations[s];
    const efi_receipts *receipts = station->receipts;
    const efi_node *at = efi_node_find(station->origin.value, "receipts");
    const bool warm = is_given(station->origin, "warm-up") && station->kind != EFI_STATION_UNKNOWN;
    const bool several = receipts && at && efi_node_find(at, "shape") && !has_shape(receipts->form);
    const bool waits = receipts && at && receipts->instant && efi_node_find(at, "queue");
    if (several)
        report_idle(rules, efi_rule_within(rules, s, "receipts", "shape"),
                    efi_diags_textf(rules->diags, "the form \"%s\" has no shape", form_word(receipts->form)));
    if (waits)
        report_idle(rules, efi_rule_within(rules, s, "receipts", "queue"),
                    "loads that are tipped at once never wait");
    if (receipts && at && efi_node_find(at, "days") && !efi_node_find(at, "from") && !efi_node_find(at, "to"))
        report_idle(rules, efi_rule_within(rules, s, "receipts", "days"),
                    "without \"from\" and \"to\" this has no effect");
    if (receipts && at && efi_node_find(at, "from") && !rules->scenario->calendar->is_given)
        report_idle(rules, efi_rule_within(rules, s, "receipts", "from"),
                    "without a calendar loads come at all hours");
    if (warm && !station->steady_band.given && !station->steady_band.bad)
        report_idle(rules, efi_rule_station(rules, s, "warm-up"), "without a steady feed this has no effect");
}

static void check_idle_crew(efi_rules *rules, const efi_crew *crew)
{
    static const char *const hours[] = {"from", "on call"};
    const bool own = is_given(crew->origin, "from") || is_given(crew->origin, "to");
    if (is_given(crew->origin, "days") && !own)
        report_idle(rules, efi_rule_draft(rules, "crews", crew->name, crew->origin, "days"),
                    "without \"from\" and \"to\" this has no effect");
    if (crew->stays && crew->on_call)
        report_idle(rules, efi_rule_draft(rules, "crews", crew->name, crew->origin, "stays"),
                    "a crew that comes at all hours never goes off duty");
    for (size_t i = 0; i < EF_COUNT(hours) && !rules->scenario->calendar->is_given; i++)
        if (is_given(crew->origin, hours[i]))
            report_idle(rules, efi_rule_draft(rules, "crews", crew->name, crew->origin, hours[i]),
                        "without a calendar the crew is always there");
}

void efi_rule_key_idle(efi_rules *rules)
{
    each_stop(rules, check_idle);
    for (int i = 0; i < rules->scenario->crew_count; i++)
        check_idle_crew(rules, &rules->scenario->crews[i]);
    for (int s = 0; s < rules->scenario->station_count; s++)
        check_idle_station(rules, s);
}

/* ---- lengths --------------------------------------------------------------------------------------------
 */

static int rising(const void *left, const void *right)
{
    const int a = *(const int *)left;
    const int b = *(const int *)right;
    return (a > b) - (a < b);
}

/* The shortest time between two starts of a stop at times of the day, h: days apart count as neighbours, so
 * that a longer time is never taken for a shorter one. */
static double shortest_gap_h(const efi_stop *stop)
{
    int sorted[100] = {0};
    const int count = stop->at.count < 100 ? stop->at.count : 100;
    for (int i = 0; i < count; i++)
        sorted[i] = stop->at.items[i];
    qsort(sorted, (size_t)count, sizeof *sorted, rising);
    double shortest_s = EFI_DAY_S;
    const bool daily = stop->days.value == EFI_WEEKDAYS_ALL;
    if (count > 0 && daily)
        shortest_s = EFI_DAY_S - (sorted[count - 1] - sorted[0]);
    for (int i = 1; i < count; i++)
        if (sorted[i] > sorted[i - 1] && sorted[i] - sorted[i - 1] < shortest_s)
            shortest_s = sorted[i] - sorted[i - 1];
    return shortest_s > 0.0 ? shortest_s / EFI_HOUR_S : 24.0;
}

/* What the least length is made of, for people. */
typedef struct least_words {
    const char *key; /* the longer of its parts */
    const char *message;
    const char *second;
} least_words;

static least_words words_of(const efi_stop *stop)
{
    const double entry_h = stop->bin_entry_h.given ? stop->bin_entry_h.value : 0.0;
    const double lockout_h = stop->lockout_h.given ? stop->lockout_h.value : 0.0;
    if (entry_h > 0.0 && lockout_h > 0.0)
        return (least_words){entry_h > lockout_h ? "bin entry" : "lock-out",
                             "it is always shorter than its lock-out and bin entry together, so these are "
                             "what it lasts",
                             "lock-out and bin entry follow one another"};
    if (entry_h > 0.0)
        return (least_words){"bin entry",
                             "it is always shorter than its bin entry, so the bin entry is what it lasts",
                             "the bin entry"};
    return (least_words){"lock-out",
                         "it is always shorter than its lock-out, so the lock-out is what it lasts",
                         "the lock-out"};
}

static void check_length(efi_rules *rules, int s, const efi_stop *stop)
{
    const bool at = stop->at.count > 0 && !stop->at.bad;
    const bool clock = stop->every_h.given && stop->counts != EFI_COUNTS_RUNNING;
    if (!stop->lasts_h.given || !(at || clock))
        return;
    const double gap_h = at ? shortest_gap_h(stop) : stop->every_h.value;
    const double least_h = efi_stop_least_h(stop);
    const bool locked = least_h > stop->lasts_h.value;
    const double length_h = locked ? least_h : stop->lasts_h.value;
    if (length_h < gap_h)
        return;
    ef_diag draft = draft_stop(rules, s, stop, locked ? words_of(stop).key : "lasts");
    draft.message = "it lasts as long as the time from one to the next, so the station never runs between";
    efi_text allowed = {0};
    efi_text_add(&allowed, "less than ");
    efi_display_add_duration(&allowed, gap_h);
    draft.allowed = efi_bind_keep(rules->binder, &allowed);
    efi_rule_second(rules, &draft, efi_node_find_key(stop->origin.value, at ? "at" : "every"),
                    "from one to the next");
    efi_diags_add(rules->diags, EFI_DIAG_STOP_LONG, &draft);
}

void efi_rule_stop_long(efi_rules *rules)
{
    each_stop(rules, check_length);
}

static void check_lockout(efi_rules *rules, int s, const efi_stop *stop)
{
    const bool fixed = stop->lasts_form == EFI_FORM_FIXED ||
                       (stop->lasts_form < 0 && !is_given(stop->origin, "between"));
    if (!fixed || !stop->lasts_h.given || !(efi_stop_least_h(stop) > stop->lasts_h.value) ||
        efi_rule_only_counted(rules, EFI_DIAG_LOCK_OUT_OVER))
        return;
    ef_diag draft = draft_stop(rules, s, stop, "lasts");
    const least_words words = words_of(stop);
    draft.message = words.message;
    efi_rule_second(rules, &draft, efi_node_find_key(stop->origin.value, words.key), words.second);
    efi_diags_add(rules->diags, EFI_DIAG_LOCK_OUT_OVER, &draft);
}

void efi_rule_lock_out_over(efi_rules *rules)
{
    each_stop(rules, check_lockout);
}

/* ---- loads ----------------------------------------------------------------------------------------------
 */

void efi_rule_instant_without_bin(efi_rules *rules)
{
    const ef_scenario *scenario = rules->scenario;
    for (int s = 0; s < scenario->station_count; s++) {
        const efi_station *station = &scenario->stations[s];
        if (!station->receipts || !station->receipts->instant || !station->to)
            continue;
        for (int crop = 0; crop < scenario->crop_count; crop++) {
            const int to = station->to[crop];
            const efi_station *next = to >= 0 ? &scenario->stations[to] : NULL;
            if (!next || next->live_m3.bad ||
                (next->kind == EFI_STATION_BIN && next->live_m3.given && next->live_m3.value > 0.0))
                continue;
            ef_diag draft = efi_rule_within(rules, s, "receipts", "instant");
            draft.message = efi_diags_textf(
                rules->diags, "a load is tipped at once into the bin behind the intake, but %s is %s",
                next->name, next->kind == EFI_STATION_BIN ? "a bin without live volume" : "no bin");
            draft.allowed = "a bin with its live volume right behind the intake";
            efi_rule_second(rules, &draft, next->origin.key, "what is behind it");
            efi_diags_add(rules->diags, EFI_DIAG_INSTANT_WITHOUT_BIN, &draft);
            break;
        }
    }
}

/* ---- recorded stops -------------------------------------------------------------------------------------
 */

static ef_diag draft_record(efi_rules *rules, const efi_record *record, const char *key)
{
    return efi_rule_draft(rules, "recorded stops", record->name, record->origin, key);
}

void efi_rule_record_unfit(efi_rules *rules)
{
    const ef_scenario *scenario = rules->scenario;
    for (int i = 0; i < scenario->record_count; i++) {
        const efi_station_list *list = &scenario->records[i].stations;
        for (int k = 0; k < list->count; k++) {
            const efi_station *station = &scenario->stations[list->items[k]];
            const efi_class class = efi_station_class((efi_station_kind)station->kind);
            if (class != EFI_CLASS_BIN && class != EFI_CLASS_SPLIT && class != EFI_CLASS_OUTLET)
                continue;
            ef_diag draft = draft_record(rules, &scenario->records[i], "station");
            draft.message = efi_diags_textf(rules->diags, "%s is of kind \"%s\", which never stops",
                                            station->name, efi_station_word((efi_station_kind)station->kind));
            draft.allowed = "an intake, a machine or a conveyor";
            efi_rule_second(rules, &draft, station->origin.key, "the station");
            efi_diags_add(rules->diags, EFI_DIAG_RECORD_UNFIT, &draft);
        }
    }
}

void efi_rule_calendar_missing(efi_rules *rules)
{
    const ef_scenario *scenario = rules->scenario;
    for (int i = 0; i < scenario->record_count && !scenario->calendar->is_given; i++) {
        const efi_record *record = &scenario->records[i];
        const bool from = record->from.given && !record->from.is_relative;
        if (!from && !(record->to.given && !record->to.is_relative))
            continue;
        ef_diag draft = draft_record(rules, record, from ? "from" : "to");
        draft.message = "it is a date, but no calendar says when hours begin to count";
        draft.likely = "a calendar with its start, or hours";
        efi_diags_add(rules->diags, EFI_DIAG_CALENDAR_MISSING, &draft);
        return;
    }
}

/* One recorded stop of one station. */
typedef struct stretch {
    int station;
    int record;
    int64_t from_s;
    int64_t to_s;
} stretch;

static int by_station_and_time(const void *left, const void *right)
{
    const stretch *a = left;
    const stretch *b = right;
    if (a->station != b->station)
        return a->station < b->station ? -1 : 1;
    if (a->from_s != b->from_s)
        return a->from_s < b->from_s ? -1 : 1;
    return (a->record > b->record) - (a->record < b->record);
}

/* All that are known in full, sorted. NULL without memory. The caller frees it. */
static stretch *sort_records(const ef_scenario *scenario, int *count)
{
    size_t most = 0;
    for (int i = 0; i < scenario->record_count; i++)
        most += (size_t)scenario->records[i].stations.count;
    stretch *all = efi_new(most, sizeof *all);
    *count = 0;
    for (int i = 0; all && i < scenario->record_count; i++) {
        const efi_record *record = &scenario->records[i];
        for (int k = 0; k < record->stations.count && record->from.given && record->to.given; k++)
            all[(*count)++] = (stretch){record->stations.items[k], i, record->from.value, record->to.value};
    }
    if (all)
        qsort(all, (size_t)*count, sizeof *all, by_station_and_time);
    return all;
}

void efi_rule_records_overlap(efi_rules *rules)
{
    const ef_scenario *scenario = rules->scenario;
    int count;
    stretch *all = sort_records(scenario, &count);
    if (!all) {
        rules->binder->failed = true;
        return;
    }
    int last = 0; /* that of the station so far which ends last */
    for (int i = 1; i < count; i++) {
        const bool same = all[i].station == all[last].station;
        if (same && all[i].from_s < all[last].to_s) {
            const efi_record *record = &scenario->records[all[i].record];
            ef_diag draft = draft_record(rules, record, "from");
            draft.message = efi_diags_textf(rules->diags, "%s stands already then",
                                            scenario->stations[all[i].station].name);
            draft.allowed = "stops of one station that do not overlap";
            efi_rule_second(rules, &draft, scenario->records[all[last].record].origin.key,
                            "the stop that is on");
            efi_diags_add(rules->diags, EFI_DIAG_RECORDS_OVERLAP, &draft);
        }
        if (!same || all[i].to_s > all[last].to_s)
            last = i;
    }
    efi_free(all);
}
