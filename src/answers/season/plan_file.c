/* SPDX-License-Identifier: GPL-3.0-or-later
 * Reads a plan file: a table with a row for each lot, in the order of its line. */
#include "answers/season/season.h"
#include "base/csv.h"
#include "base/date.h"
#include "base/diag.h"
#include "base/locale.h"
#include "base/number.h"
#include "base/text.h"
#include "model/beside.h"

#include <math.h>
#include <string.h>

/* Columns: code, heading. What ef_report_season_plan writes; of all but the first four only the difference
 * to the scenario is told. */
#define COLUMN_LIST(X)                                                                                       \
    X(LOT, "lot")                                                                                            \
    X(LINE, "line")                                                                                          \
    X(START, "start")                                                                                        \
    X(END, "end")                                                                                            \
    X(STATE, "state")                                                                                        \
    X(CROP, "crop")                                                                                          \
    X(VARIETY, "variety")                                                                                    \
    X(CLASS, "class")                                                                                        \
    X(TONNES, "tonnes")                                                                                      \
    X(CLEAN_DOWN, "clean-down")                                                                              \
    X(RULE, "rule")                                                                                          \
    X(FROM, "from")                                                                                          \
    X(TO, "to")                                                                                              \
    X(DUE, "due")                                                                                            \
    X(LATE, "late")                                                                                          \
    X(NOTE, "note")

typedef enum column {
#define COLUMN_ENUM(code, heading) code,
    COLUMN_LIST(COLUMN_ENUM)
#undef COLUMN_ENUM
    COLUMNS
} column;

static const char *const headings[COLUMNS] = {
#define HEADING(code, heading) heading,
    COLUMN_LIST(HEADING)
#undef HEADING
};

/* Tonnes are printed rounded, and rounded again by spreadsheets. */
#define NEAR_T     0.05
#define NEAR_SHARE 0.001

enum {
    MOST_NAMED = 12, /* lots that are lacking, in one sentence */
    NUMBER_ROOM = 64
};

typedef struct reader {
    const ef_scenario *scenario;
    ef_season_plan *plan;
    efi_arena *arena; /* of the plan */
    ef_diags *diags;
    efi_csv table;
    int place[COLUMNS];     /* of a heading in the table, -1 not there */
    int *row_of;            /* shape [lot]: the row that names it, 0 none */
    const char **lot_name;  /* shape [lot_count], for the nearest word */
    const char **line_name; /* shape [lines] */
    bool failed;            /* memory was short */
} reader;

/* ---- cells ----------------------------------------------------------------------------------------------
 */

static void report(reader *r, int row, int at, efi_diag_code code, const char *message, const char *allowed,
                   const char *likely)
{
    ef_diag draft = efi_csv_draft(&r->table, r->arena, row, at);
    if (row == 0 || !draft.key || !*draft.key)
        draft.key = NULL;
    draft.message = message;
    draft.allowed = allowed;
    draft.likely = likely && *likely ? likely : NULL;
    r->failed = r->failed || !draft.found || !draft.excerpt;
    efi_diags_add(r->diags, code, &draft);
}

/* The text of a cell of a column, without the apostrophe that keeps a spreadsheet from taking it for a
 * formula; "" where there is no such column. NULL without memory. */
static const char *text_at(reader *r, int row, column which)
{
    if (r->place[which] < 0)
        return "";
    const efi_csv_cell *cell = efi_csv_at(&r->table, row, r->place[which]);
    const bool guarded = cell->length > 1 && cell->text[0] == '\'' && strchr("=+-@", cell->text[1]) != NULL;
    const size_t skip = guarded ? 1 : 0;
    const char *text = efi_arena_text(r->arena, cell->text + skip, cell->length - skip);
    r->failed = r->failed || !text;
    return text;
}

/* ---- headings -------------------------------------------------------------------------------------------
 */

/* The heading without a unit in brackets: "late [d]" is "late". */
static char *bare_heading(reader *r, int at)
{
    const efi_csv_cell *cell = efi_csv_at(&r->table, 0, at);
    char *word = efi_arena_text(r->arena, cell->text, cell->length);
    char *open = word ? strpbrk(word, "([") : NULL;
    while (open && open > word && open[-1] == ' ')
        open--;
    if (open && open > word)
        *open = '\0';
    return word;
}

/* Which column a heading is; COLUMNS for none. */
static int column_of(const char *word)
{
    int which = 0;
    while (which < COLUMNS && !efi_text_same_word(word, headings[which]))
        which++;
    return which;
}

/* Is it a column without which the plan cannot be read, and not there? */
static bool is_lacking(const reader *r, int which)
{
    return r->place[which] < 0 && (which == LOT || (which == LINE && r->plan->line_count > 1));
}

/* A heading that is none: the misspelt one of a column that is lacking, or one more. */
static void report_heading(reader *r, int at, const char *word, bool *told)
{
    const char *nearest = efi_text_nearest(word, headings, COLUMNS);
    const int which = nearest ? column_of(nearest) : COLUMNS;
    if (which < COLUMNS && is_lacking(r, which) && !told[which]) {
        told[which] = true;
        report(r, 0, at, EFI_DIAG_KEY_UNKNOWN,
               efi_diags_textf(r->diags, "no column of a plan is called \"%s\"", word),
               which == LOT ? "lot, for the names of the lots" : "line, as the plant has several", nearest);
        return;
    }
    report(r, 0, at, EFI_DIAG_PLAN_COLUMN,
           efi_diags_textf(r->diags, "no column of a plan is called \"%s\"; it is not read", word),
           "lot and line; the others are only for people", nearest);
}

static ef_status read_headings(reader *r)
{
    bool told[COLUMNS] = {false};
    const char **words = efi_arena_get(r->arena, (size_t)r->table.columns, sizeof *words);
    if (!words)
        return EF_MEMORY;
    for (int c = 0; c < COLUMNS; c++)
        r->place[c] = -1;
    for (int at = 0; at < r->table.columns; at++) {
        words[at] = bare_heading(r, at);
        if (!words[at])
            return EF_MEMORY;
        const int which = column_of(words[at]);
        if (which < COLUMNS && r->place[which] >= 0)
            report(r, 0, at, EFI_DIAG_KEY_TWICE, "this column stands twice", "each column once", NULL);
        else if (which < COLUMNS)
            r->place[which] = at;
    }
    for (int at = 0; at < r->table.columns; at++)
        if (*words[at] && column_of(words[at]) == COLUMNS)
            report_heading(r, at, words[at], told);
    for (int which = LOT; which <= LINE; which++)
        if (is_lacking(r, which) && !told[which])
            report(r, 0, 0, EFI_DIAG_KEY_MISSING,
                   efi_diags_textf(r->diags, "the plan has no column \"%s\"", headings[which]),
                   which == LOT ? "a column for the names of the lots"
                                : "a column for the line of each lot, as the plant has several",
                   headings[which]);
    return EF_OK;
}

/* ---- lots and lines -------------------------------------------------------------------------------------
 */

/* The lot that a row names; -1 after a finding, or for a row without a name. */
static int read_lot(reader *r, int row)
{
    const char *name = text_at(r, row, LOT);
    if (!name)
        return -1;
    const efi_csv_cell *cell = efi_csv_at(&r->table, row, r->place[LOT]);
    const efi_index *index = &r->scenario->lot_index;
    int lot = efi_index_find(index, cell->text, cell->length);
    if (lot < 0)
        lot = efi_index_find(index, name, strlen(name));
    if (*name == '\0') {
        report(r, row, r->place[LOT], EFI_DIAG_VALUE_EMPTY, "this row names no lot",
               "the name of a lot; or take the row out", NULL);
    } else if (lot < 0) {
        report(r, row, r->place[LOT], EFI_DIAG_NAME_UNKNOWN,
               efi_diags_textf(r->diags, "the scenario has no lot \"%s\"", name),
               "a lot of the scenario; a new lot is added there first",
               efi_text_nearest(name, r->lot_name, r->scenario->lot_count));
    } else if (r->row_of[lot] > 0) {
        ef_diag draft = efi_csv_draft(&r->table, r->arena, row, r->place[LOT]);
        draft.message = efi_diags_textf(r->diags, "lot \"%s\" stands twice in the plan", name);
        draft.allowed = "each lot once";
        draft.second = efi_csv_place(&r->table, efi_csv_at(&r->table, r->row_of[lot], r->place[LOT]));
        draft.second_words = "first given here";
        r->failed = r->failed || !draft.found || !draft.excerpt;
        efi_diags_add(r->diags, EFI_DIAG_KEY_TWICE, &draft);
        lot = -1;
    }
    if (lot >= 0)
        r->row_of[lot] = row;
    return lot;
}

/* Is the lot allowed on the line? */
static bool is_allowed(const efi_scenario_lot *lot, int line)
{
    for (int i = 0; i < lot->lines.count; i++)
        if (lot->lines.items[i] == line)
            return true;
    return lot->lines.count == 0;
}

/* The names of the lines with commas between them. */
static const char *line_names(reader *r)
{
    const char *names = r->line_name[0];
    for (int l = 1; names && l < r->plan->line_count; l++)
        names = efi_diags_textf(r->diags, "%s, %s", names, r->line_name[l]);
    return names;
}

/* The line that a row names; -1: none, the lot is still to be planned, or after a finding. */
static int read_line(reader *r, int row, int lot)
{
    if (r->place[LINE] < 0)
        return r->plan->line_count == 1 ? 0 : -1;
    const char *name = text_at(r, row, LINE);
    if (!name || *name == '\0')
        return -1;
    for (int line = 0; line < r->plan->line_count; line++) {
        if (strcmp(name, r->line_name[line]) != 0)
            continue;
        if (lot < 0 || is_allowed(&r->scenario->lots[lot], line))
            return line;
        report(r, row, r->place[LINE], EFI_DIAG_OUT_OF_RANGE,
               efi_diags_textf(r->diags, "lot \"%s\" must not run on %s", r->lot_name[lot], name),
               "one of the lines that the scenario gives for this lot, or nothing to have it planned", NULL);
        return -1;
    }
    report(r, row, r->place[LINE], EFI_DIAG_NAME_UNKNOWN,
           efi_diags_textf(r->diags, "the scenario has no line \"%s\"", name),
           efi_diags_textf(r->diags, "%s; or nothing for a lot that is still to be planned", line_names(r)),
           efi_text_nearest(name, r->line_name, r->plan->line_count));
    return -1;
}

/* ---- moments --------------------------------------------------------------------------------------------
 */

/* A moment, also as a spreadsheet has rewritten it where that can mean only one; a date alone is its
 * beginning. */
static bool parse_moment(const char *text, int64_t *moment, efi_date_error *error)
{
    if (efi_moment_parse(text, strlen(text), moment, error))
        return true;
    const char *likely = error->likely;
    return *likely && error->fault != EFI_DATE_ZONE && efi_moment_parse(likely, strlen(likely), moment, NULL);
}

static int64_t read_moment(reader *r, int row, column which)
{
    int64_t moment = EF_SEASON_NONE;
    efi_date_error error = {0};
    const char *text = text_at(r, row, which);
    if (!text || *text == '\0' || parse_moment(text, &moment, &error))
        return moment;
    report(r, row, r->place[which], EFI_DIAG_DATE_BAD,
           efi_diags_textf(r->diags, "\"%s\" %s", text, efi_date_fault_words(error.fault)),
           error.offered[0] ? error.offered
                            : "a date and a time such as 2026-11-25T06:30, or nothing: the order of the rows "
                              "counts",
           error.likely);
    return EF_SEASON_NONE;
}

/* ---- what only the scenario says ------------------------------------------------------------------------
 */

static void report_apart(reader *r, int row, column which, const char *found, const char *scenario_says)
{
    report(r, row, r->place[which], EFI_DIAG_PLAN_APART,
           efi_diags_textf(r->diags, "\"%s\" stands here, %s%s%s in the scenario, which counts", found,
                           *scenario_says ? "\"" : "", *scenario_says ? scenario_says : "nothing",
                           *scenario_says ? "\"" : ""),
           "only lot, line, start and end are read from a plan; the rest is changed in the scenario", NULL);
}

/* Blanks and line ends at the edges aside. */
static bool is_same_text(const char *a, const char *b)
{
    size_t length = strlen(a);
    size_t other = strlen(b);
    while (length > 0 && strchr(" \t\r\n", a[length - 1]))
        length--;
    while (other > 0 && strchr(" \t\r\n", b[other - 1]))
        other--;
    return length == other && memcmp(a, b, length) == 0;
}

static void compare_text(reader *r, int row, column which, const char *scenario_says)
{
    if (r->place[which] < 0)
        return;
    const char *found = text_at(r, row, which);
    const char *says = scenario_says ? scenario_says : "";
    if (found && !is_same_text(found, says))
        report_apart(r, row, which, found, says);
}

/* Does the text say about this number, with a decimal comma or with commas between thousands? */
static bool is_near(const char *text, double value)
{
    for (int reading = 0; reading < 2; reading++) {
        char number[NUMBER_ROOM];
        size_t length = 0;
        for (const char *at = text; *at && length + 1 < sizeof number; at++)
            if (*at != ',' || reading == 0)
                number[length++] = *at == ',' ? '.' : *at;
        number[length] = '\0';
        const efi_number read = efi_number_parse(number, length);
        const bool whole = read.fault == EFI_NUMBER_FINE &&
                           (read.used == length || strcmp(number + read.used, " t") == 0);
        if (whole && fabs(read.value - value) <= NEAR_T + NEAR_SHARE * value)
            return true;
    }
    return false;
}

static void compare_tonnes(reader *r, int row, const efi_scenario_lot *lot)
{
    efi_text says = {0};
    const char *found = text_at(r, row, TONNES);
    if (!found || *found == '\0' || is_near(found, lot->amount_t.value))
        return;
    efi_number_add_significant(&says, lot->amount_t.value, 12);
    report_apart(r, row, TONNES, found, efi_text_get(&says));
    r->failed = r->failed || says.failed;
    efi_text_free(&says);
}

/* The due moment; the date of a whole day may be written as such. */
static void compare_due(reader *r, int row, const efi_scenario_lot *lot)
{
    int64_t moment = EF_SEASON_NONE;
    efi_date_error error = {0};
    efi_text says = {0};
    const char *found = text_at(r, row, DUE);
    if (!found || r->place[DUE] < 0 || (*found == '\0' && !lot->due.moment.given))
        return;
    const bool read = *found && parse_moment(found, &moment, &error);
    const int64_t due = lot->due.moment.value;
    if (read && lot->due.moment.given && (moment == due || (lot->due.whole_day && moment == due - EFI_DAY_S)))
        return;
    if (lot->due.moment.given && lot->due.whole_day)
        efi_date_add(&says, efi_moment_day(due) - 1);
    else if (lot->due.moment.given)
        efi_moment_add(&says, due);
    report_apart(r, row, DUE, found, efi_text_get(&says));
    r->failed = r->failed || says.failed;
    efi_text_free(&says);
}

/* A lot that the scenario has waiting cannot be frozen in a plan. */
static void compare_state(reader *r, int row, const efi_scenario_lot *lot)
{
    const char *found = text_at(r, row, STATE);
    const char *frozen = efi_lot_state_word(EFI_LOT_FROZEN);
    if (found && lot->state == EFI_LOT_WAITING && strcmp(found, frozen) == 0)
        report_apart(r, row, STATE, found, efi_lot_state_word((efi_lot_state)lot->state));
}

static void compare(reader *r, int row, int number)
{
    const efi_scenario_lot *lot = &r->scenario->lots[number];
    if (efi_diags_full(r->diags, EF_WARNING))
        return;
    compare_text(r, row, CROP, lot->crop >= 0 ? r->scenario->crops[lot->crop].name : "");
    compare_text(r, row, VARIETY, lot->trait[EFI_LOT_VARIETY]);
    compare_text(r, row, CLASS, lot->trait[EFI_LOT_CLASS]);
    compare_text(r, row, NOTE, lot->note);
    compare_tonnes(r, row, lot);
    compare_due(r, row, lot);
    compare_state(r, row, lot);
}

/* ---- the whole ------------------------------------------------------------------------------------------
 */

/* What has to be planned still, in one finding. */
static void report_lacking(reader *r)
{
    efi_text names = {0};
    int count = 0;
    for (int l = 0; l < r->scenario->lot_count; l++) {
        if (r->row_of[l] > 0 || r->scenario->lots[l].state == EFI_LOT_DONE)
            continue;
        if (count < MOST_NAMED)
            efi_text_addf(&names, "%s%s", count ? ", " : "", r->lot_name[l]);
        count++;
    }
    if (count > MOST_NAMED)
        efi_text_addf(&names, " and %d more", count - MOST_NAMED);
    if (count > 0) {
        const ef_diag draft = {
            .place = {.file = r->table.name},
            .message = efi_diags_textf(r->diags, "the plan does not name %s; %s where %s least",
                                       efi_text_get(&names), count == 1 ? "it is put" : "they are put",
                                       count == 1 ? "it costs" : "they cost")};
        efi_diags_add(r->diags, EFI_DIAG_PLAN_LACKS, &draft);
    }
    r->failed = r->failed || names.failed;
    efi_text_free(&names);
}

static ef_status get_room(reader *r)
{
    ef_season_plan *plan = r->plan;
    const size_t lots = (size_t)r->scenario->lot_count;
    plan->line_count = efi_season_lines(r->scenario);
    plan->lines = efi_arena_get(r->arena, (size_t)plan->line_count, sizeof *plan->lines);
    r->row_of = efi_arena_get(r->arena, lots, sizeof *r->row_of);
    r->lot_name = efi_arena_get(r->arena, lots, sizeof *r->lot_name);
    r->line_name = efi_arena_get(r->arena, (size_t)plan->line_count, sizeof *r->line_name);
    if (!plan->lines || !r->row_of || !r->lot_name || !r->line_name)
        return EF_MEMORY;
    for (size_t l = 0; l < lots; l++)
        r->lot_name[l] = r->scenario->lots[l].name;
    for (int l = 0; l < plan->line_count; l++) {
        r->line_name[l] = efi_season_line_name(r->scenario, l);
        plan->lines[l].lots = efi_arena_get(r->arena, lots, sizeof *plan->lines[l].lots);
        if (!plan->lines[l].lots)
            return EF_MEMORY;
    }
    return EF_OK;
}

static void read_row(reader *r, int row)
{
    const int lot = read_lot(r, row);
    const int line = read_line(r, row, lot);
    const int64_t start = read_moment(r, row, START);
    const int64_t end = read_moment(r, row, END);
    if (lot < 0)
        return;
    compare(r, row, lot);
    if (line >= 0) {
        efi_plan_line *to = &r->plan->lines[line];
        to->lots[to->count++] = (efi_plan_lot){.lot = lot, .start = start, .end = end};
    }
}

static ef_status read_plan(reader *r, const char *name, const char *bytes, size_t length)
{
    EF_TRY(get_room(r));
    const int errors_before = efi_diags_errors(r->diags);
    EF_TRY(efi_csv_read(&r->table, r->arena, name, bytes, length, r->diags));
    if (efi_diags_errors(r->diags) > errors_before)
        return EF_OK; /* what a broken table seems to say is not worth looking at */
    if (r->table.rows < 1 || r->table.columns < 1) {
        const ef_diag draft = {.place = {.file = name},
                               .message = "the plan is empty",
                               .allowed = "a heading with lot and line, and a row for each lot below it"};
        efi_diags_add(r->diags, EFI_DIAG_VALUE_EMPTY, &draft);
        return EF_OK;
    }
    EF_TRY(read_headings(r));
    if (r->place[LOT] < 0)
        return EF_OK;
    for (int row = 1; row < r->table.rows; row++)
        read_row(r, row);
    if (efi_diags_errors(r->diags) == errors_before)
        report_lacking(r);
    return EF_OK;
}

ef_status ef_season_plan_read(const ef_scenario *scenario, const char *name, const char *bytes, size_t length,
                              ef_diags *diags, ef_season_plan **plan)
{
    efi_locale locale;
    EF_TRY(efi_locale_enter(&locale));
    const int errors_before = efi_diags_errors(diags);
    reader r = {.scenario = scenario, .arena = efi_arena_new(), .diags = diags};
    r.plan = r.arena ? efi_arena_get(r.arena, 1, sizeof *r.plan) : NULL;
    ef_status status = r.plan ? EF_OK : EF_MEMORY;
    if (status == EF_OK) {
        r.plan->arena = r.arena;
        status = read_plan(&r, name, bytes, length);
    }
    if (status == EF_OK && (r.failed || efi_diags_failed(diags)))
        status = EF_MEMORY;
    if (status == EF_OK && efi_diags_errors(diags) > errors_before)
        status = EF_SCENARIO;
    efi_diags_sort(diags);
    if (status == EF_OK)
        *plan = r.plan;
    else
        efi_arena_free(r.arena);
    efi_locale_leave(&locale);
    return status;
}

ef_status ef_season_plan_load(const ef_scenario *scenario, const char *path, ef_diags *diags,
                              ef_season_plan **plan)
{
    char *bytes = NULL;
    size_t length = 0;
    EF_TRY(efi_file_read(path, &bytes, &length));
    const ef_status status = ef_season_plan_read(scenario, path, bytes, length, diags, plan);
    efi_free(bytes);
    return status;
}

void ef_season_plan_free(ef_season_plan *plan)
{
    if (plan)
        efi_arena_free(plan->arena);
}

int ef_season_plan_order(const ef_season_plan *plan, int line, int *lots)
{
    if (line < 0 || line >= plan->line_count)
        return 0;
    for (int i = 0; lots && i < plan->lines[line].count; i++)
        lots[i] = plan->lines[line].lots[i].lot;
    return plan->lines[line].count;
}
