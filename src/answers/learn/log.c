/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "answers/learn/logs.h"
#include "base/quantity.h"

#include <stdlib.h>
#include <string.h>

static const char time_fits[] = "the plant's own clock, year first: 2026-11-25T06:30 or 2026-11-25 06:30:15";

void efi_log_report(efi_log *log, int row, int column, efi_diag_code code, const char *message,
                    const char *allowed, const char *likely)
{
    if (efi_diags_full(log->diags, EF_WARNING)) {
        const ef_diag more = {.place = {.file = log->csv.name}};
        efi_diags_add(log->diags, code, &more);
        return;
    }
    ef_diag draft = efi_csv_draft(&log->csv, log->arena, row, column < 0 ? 0 : column);
    if (row == 0 || !draft.key || !*draft.key)
        draft.key = NULL;
    draft.message = message;
    draft.allowed = allowed;
    draft.likely = likely && *likely ? likely : NULL;
    efi_diags_add(log->diags, code, &draft);
}

const char *efi_log_text(efi_log *log, int row, int column)
{
    if (column < 0)
        return "";
    const efi_csv_cell *cell = efi_csv_at(&log->csv, row, column);
    return efi_arena_text(log->arena, cell->text, cell->length);
}

/* ---- times ----------------------------------------------------------------------------------------------
 */

static int rising(const void *left, const void *right)
{
    const int64_t a = *(const int64_t *)left;
    const int64_t b = *(const int64_t *)right;
    return (a > b) - (a < b);
}

int64_t efi_log_middle(int64_t *moments_s, int count)
{
    if (count == 0)
        return 0;
    qsort(moments_s, (size_t)count, sizeof *moments_s, rising);
    return moments_s[count / 2];
}

/* A moment that its clock never shows, or shows twice, is named; it is used as it stands. */
static void look_at_clock(efi_log *log, int row, int column, int64_t moment_s)
{
    if (efi_clock_is_missing(log->rule, moment_s))
        efi_log_report(log, row, column, EFI_DIAG_LOG_CLOCK,
                       "the clock was put forward over this hour; taken as that of a clock not yet changed",
                       NULL, NULL);
    else if (efi_clock_is_double(log->rule, moment_s))
        efi_log_report(log, row, column, EFI_DIAG_LOG_CLOCK,
                       "the clock showed this hour twice that night; taken so that lengths are shortest",
                       NULL, NULL);
}

bool efi_log_moment(efi_log *log, int row, int column, int64_t *moment_s)
{
    const efi_csv_cell *cell = efi_csv_at(&log->csv, row, column);
    efi_date_error error;
    if (cell->length == 0) {
        efi_log_report(log, row, column, EFI_DIAG_LOG_TIME, "no time stands here; the row is not used",
                       time_fits, NULL);
        return false;
    }
    bool read = efi_moment_parse(cell->text, cell->length, moment_s, &error);
    if (!read &&
        (error.fault == EFI_DATE_ORDER || error.fault == EFI_DATE_FORM || error.fault == EFI_CLOCK_FORM) &&
        efi_moment_parse(error.likely, strlen(error.likely), moment_s, NULL)) {
        read = true;
        efi_log_report(
            log, row, column, EFI_DIAG_LOG_TIME,
            efi_diags_textf(log->diags, "this time is not written year first; taken as %s", error.likely),
            NULL, NULL);
    }
    if (!read) {
        efi_log_report(log, row, column, EFI_DIAG_LOG_TIME,
                       efi_diags_textf(log->diags, "\"%.*s\" %s; the row is not used",
                                       (int)(error.end - error.start), cell->text + error.start,
                                       efi_date_fault_words(error.fault)),
                       time_fits, error.likely);
        return false;
    }
    look_at_clock(log, row, column, *moment_s);
    return true;
}

/* Does a night on which some rule changes the clock lie in from .. to, taken with some hours around it? */
static bool is_near_change(int64_t from_s, int64_t to_s, bool back)
{
    const int64_t year = efi_civil_of(efi_moment_day(from_s)).year;
    for (int rule = EFI_CHANGE_EU; rule <= EFI_CHANGE_US; rule++) {
        const int64_t at = back ? efi_clock_double_hour((efi_clock_rule)rule, year)
                                : efi_clock_missing_hour((efi_clock_rule)rule, year);
        /* clocks are changed between 01:00 and 04:00, by zone */
        if (from_s < at + 2 * EFI_HOUR_S && to_s > at - EFI_HOUR_S)
            return true;
    }
    return false;
}

/* Where the rule is not known: was the clock put back during a row that seems to end before it begins? */
static bool was_put_back(const efi_log *log, int64_t from_s, int64_t to_s)
{
    return log->rule == EFI_CHANGE_NONE && to_s < from_s && to_s > from_s - EFI_HOUR_S &&
           is_near_change(to_s, from_s, true);
}

bool efi_log_elapsed(efi_log *log, int row, int64_t from_s, int64_t to_s, int64_t *elapsed_s)
{
    *elapsed_s = efi_clock_elapsed(log->rule, from_s, to_s, NULL);
    if (was_put_back(log, from_s, to_s)) {
        *elapsed_s += EFI_HOUR_S;
        efi_log_report(
            log, row, log->to, EFI_DIAG_LOG_CLOCK,
            "ends before it begins on a night on which clocks are put back; taken as an hour longer", NULL,
            "--clock-change eu or us");
        return true;
    }
    if (*elapsed_s > 0) {
        if (log->rule == EFI_CHANGE_NONE && *elapsed_s < EFI_DAY_S / 2 &&
            (is_near_change(from_s, to_s, true) || is_near_change(from_s, to_s, false)))
            efi_log_report(log, row, log->to, EFI_DIAG_LOG_CLOCK,
                           "clocks may have been changed during this time; taken as if they were not", NULL,
                           "--clock-change eu or us");
        return true;
    }
    return false;
}

/* ---- stations -------------------------------------------------------------------------------------------
 */

static int find_station(const ef_scenario *scenario, const char *name, size_t length, char *room,
                        size_t room_bytes)
{
    const int exact = efi_index_find(&scenario->station_index, name, length);
    if (exact >= 0 || length >= room_bytes)
        return exact;
    memcpy(room, name, length);
    room[length] = '\0';
    for (int s = 0; s < scenario->station_count; s++)
        if (efi_text_same_word(room, scenario->stations[s].name))
            return s;
    return -1;
}

static int find_discharge(const efi_station *station, const char *name)
{
    for (int d = 0; d < station->discharges.count; d++)
        if (efi_text_same_word(name, station->discharges.items[d].name))
            return d;
    return -1;
}

/* The known station nearest to a misspelt name, NULL without one or without memory. */
static const char *nearest_station(efi_log *log, const char *name)
{
    const ef_scenario *scenario = log->scenario;
    const char **names = efi_arena_get(log->arena, (size_t)scenario->station_count, sizeof *names);
    for (int s = 0; names && s < scenario->station_count; s++)
        names[s] = scenario->stations[s].name;
    return names ? efi_text_nearest(name, names, scenario->station_count) : NULL;
}

bool efi_log_station(efi_log *log, int row, int *station, int *discharge)
{
    char room[256];
    const char *text = efi_log_text(log, row, log->station);
    if (!text)
        return false;
    if (discharge)
        *discharge = -1;
    *station = find_station(log->scenario, text, strlen(text), room, sizeof room);
    for (const char *dot = strchr(text, '.'); discharge && *station < 0 && dot; dot = strchr(dot + 1, '.')) {
        const int found = find_station(log->scenario, text, (size_t)(dot - text), room, sizeof room);
        const int way = found >= 0 ? find_discharge(&log->scenario->stations[found], dot + 1) : -1;
        if (way >= 0) {
            *station = found;
            *discharge = way;
        }
    }
    if (*station >= 0)
        return true;
    if (*text == '\0')
        efi_log_report(log, row, log->station, EFI_DIAG_LOG_NAME,
                       "no station stands here; the row is not used", "a station of the scenario", NULL);
    else
        efi_log_report(
            log, row, log->station, EFI_DIAG_LOG_NAME,
            efi_diags_textf(log->diags, "the scenario has no station \"%s\"; the row is not used", text),
            discharge ? "a station of the scenario, or a station and a discharge with a dot between them"
                      : "a station of the scenario",
            nearest_station(log, text));
    return false;
}

/* ---- amounts --------------------------------------------------------------------------------------------
 */

/* Tonnes of a text with or without unit; false with `*error` filled, its fault the limit for bushels of a
 * crop without trade weight. */
static bool parse_tonnes(const efi_log *log, const char *text, size_t length, double *tonnes,
                         efi_quantity_error *error)
{
    const efi_number number = efi_number_parse(text, length);
    if (number.fault == EFI_NUMBER_FINE && number.used == length) {
        *tonnes = number.value;
        return true;
    }
    efi_quantity quantity;
    if (!efi_quantity_parse(text, length, EFI_KIND_SET(EFI_KIND_MASS), &quantity, error))
        return false;
    if (efi_quantity_needs_trade_weight(&quantity)) {
        const efi_value weight = log->scenario->crops[log->crop].trade_weight_tpbu;
        if (!weight.given) {
            *error = (efi_quantity_error){.fault = EFI_QUANTITY_FAULT_LIMIT};
            return false;
        }
        quantity = efi_quantity_weigh(quantity, weight.value);
    }
    *tonnes = quantity.value;
    return true;
}

/* A decimal comma: its text with a point, in `room`. A single comma with a number of digits after it that is
 * not three is one, whatever the separator; with three it is one where the table is not parted by commas. */
static bool mend_comma(const efi_log *log, const efi_csv_cell *cell, char *room, size_t room_bytes)
{
    if (cell->length >= room_bytes)
        return false;
    memcpy(room, cell->text, cell->length);
    room[cell->length] = '\0';
    char *comma = strchr(room, ',');
    if (!comma || strchr(comma + 1, ',') || strchr(room, '.'))
        return false;
    *comma = '.';
    const size_t digits = strspn(comma + 1, "0123456789");
    return comma > room && digits > 0 && (digits != 3 || log->csv.separator != ',');
}

bool efi_log_tonnes(efi_log *log, int row, double *tonnes)
{
    static const char fits[] =
        "tonnes, or a number with t, kg, lb, short_ton, cwt or bu (with a trade weight)";
    const efi_csv_cell *cell = efi_csv_at(&log->csv, row, log->amount);
    efi_quantity_error error = {0};
    char room[64];
    const char *text = cell->text;
    if (cell->length == 0) {
        efi_log_report(log, row, log->amount, EFI_DIAG_LOG_AMOUNT,
                       "no amount stands here; the row is not used", fits, NULL);
        return false;
    }
    const bool mended = mend_comma(log, cell, room, sizeof room);
    if (mended)
        text = room;
    if (!parse_tonnes(log, text, cell->length, tonnes, &error)) {
        efi_log_report(log, row, log->amount, EFI_DIAG_LOG_AMOUNT,
                       efi_diags_textf(log->diags, "\"%.*s\" %s; the row is not used", (int)cell->length,
                                       cell->text,
                                       error.fault == EFI_QUANTITY_FAULT_LIMIT
                                           ? "is in bushels, but the crop has no trade weight"
                                           : efi_quantity_fault_words(error.fault)),
                       fits, error.likely);
        return false;
    }
    if (!(*tonnes >= 0.0 && *tonnes <= 1e7)) {
        efi_log_report(log, row, log->amount, EFI_DIAG_LOG_AMOUNT,
                       "an amount that no interval has; the row is not used", "0 to 10,000,000 t", NULL);
        return false;
    }
    if (mended)
        efi_log_report(log, row, log->amount, EFI_DIAG_LOG_AMOUNT,
                       efi_diags_textf(log->diags, "has a decimal comma; taken as %s", room), NULL, NULL);
    return true;
}

/* ---- columns --------------------------------------------------------------------------------------------
 */

static int column_of(efi_log *log, const char *name, const char *other)
{
    const int found = efi_csv_column(&log->csv, name);
    return found >= 0 || !other ? found : efi_csv_column(&log->csv, other);
}

static void miss_column(efi_log *log, const char *name, const char *allowed)
{
    efi_log_report(log, 0, 0, EFI_DIAG_KEY_MISSING,
                   efi_diags_textf(log->diags, "the log has no column \"%s\"", name), allowed, name);
}

bool efi_log_open(efi_log *log, const ef_learn_file *file, bool is_totals, ef_status *status)
{
    static const char stop_columns[] = "station, from, to and, where wanted, reason";
    static const char total_columns[] = "from, to, station (or outlet) and tonnes";
    const char *allowed = is_totals ? total_columns : stop_columns;
    const int errors = efi_diags_errors(log->diags);
    *status = efi_csv_read(&log->csv, log->arena, file->name, file->bytes, file->length, log->diags);
    if (*status != EF_OK)
        return false;
    if (log->csv.rows < 1) {
        const ef_diag draft = {
            .place = {.file = file->name}, .message = "the log is empty", .allowed = allowed};
        if (efi_diags_errors(log->diags) == errors)
            efi_diags_add(log->diags, EFI_DIAG_LOG_EMPTY, &draft);
        return false;
    }
    log->from = column_of(log, "from", NULL);
    log->to = column_of(log, "to", NULL);
    log->station = column_of(log, "station", is_totals ? "outlet" : NULL);
    log->reason = column_of(log, "reason", NULL);
    log->amount = column_of(log, "tonnes", "amount");
    if (log->station < 0)
        miss_column(log, "station", allowed);
    if (log->from < 0)
        miss_column(log, "from", allowed);
    if (log->to < 0)
        miss_column(log, "to", allowed);
    if (is_totals && log->amount < 0)
        miss_column(log, "tonnes", allowed);
    return log->station >= 0 && log->from >= 0 && log->to >= 0 && (!is_totals || log->amount >= 0);
}
