/* SPDX-License-Identifier: GPL-3.0-or-later
 * The files of a report: the page, and where asked for tables and JSON. */
#include "base/base.h"
#include "cli/report.h"

#include <ctype.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

/* ---- a list of files ------------------------------------------------------------------------------------
 */

typedef struct file_list {
    cli_file *files; /* shape [count]; texts are owned, names in the arena */
    int count;
    size_t room;
    efi_arena *arena;
} file_list;

/* Adds a word fit for a file name: "Winter wheat" is winter-wheat. Other letters stay as they are. */
static void add_slug(efi_text *name, const char *word)
{
    for (; *word; word++) {
        const unsigned char c = (unsigned char)*word;
        const char low = (char)tolower(c);
        efi_text_add_bytes(name, c >= 0x80 || isalnum(c) ? &low : "-", 1);
    }
}

static bool has_name(const file_list *list, const char *name)
{
    for (int i = 0; i < list->count; i++)
        if (strcmp(list->files[i].name, name) == 0)
            return true;
    return false;
}

/* The name "before-word.after", with a number where it is taken; NULL without memory. */
static const char *find_name(const file_list *list, const char *before, const char *word, const char *after)
{
    const char *kept = NULL;
    for (int number = 1; !kept || has_name(list, kept); number++) {
        efi_text name = {0};
        efi_text_add(&name, before);
        efi_text_add(&name, *before && *word ? "-" : "");
        add_slug(&name, word);
        if (number > 1)
            efi_text_addf(&name, "-%d", number);
        efi_text_add(&name, after);
        kept = name.failed ? NULL : efi_arena_text(list->arena, efi_text_get(&name), name.length);
        efi_text_free(&name);
        if (!kept)
            return NULL;
    }
    return kept;
}

/* Takes a text over as one more file; `made` is what making it came to. */
static ef_status add_file(file_list *list, ef_status made, char **text, const char *before, const char *word,
                          const char *after)
{
    if (made != EF_OK)
        return made;
    const char *name = find_name(list, before, word, after);
    if (!name || efi_grow(&list->files, (size_t)list->count, &list->room, sizeof *list->files) != 0) {
        ef_report_free(*text);
        return EF_MEMORY;
    }
    list->files[list->count++] = (cli_file){.name = name, .text = *text};
    return EF_OK;
}

static void free_files(file_list *list)
{
    for (int i = 0; i < list->count; i++)
        ef_report_free((char *)(uintptr_t)list->files[i].text);
    efi_free(list->files);
}

/* ---- what goes into it ----------------------------------------------------------------------------------
 */

static ef_report_answers answers_of(const cli_report_work *w, const char *command)
{
    return (ef_report_answers){.plant = ef_scenario_plant(w->scenario),
                               .scenario_file = w->call->operands[0],
                               .command = command,
                               .units = w->units,
                               .balance = w->balance,
                               .bins = w->bins,
                               .shifts = (const ef_shift *const *)w->shifts,
                               .shift_count = w->shift_count,
                               .season = w->season,
                               .missing = w->missing,
                               .missing_count = w->missing_count};
}

static ef_status add_page(file_list *list, const ef_report_answers *answers)
{
    char *text = NULL;
    return add_file(list, ef_report_html(answers, &text), &text, "report", "", ".html");
}

static ef_status write_workbook(const void *answers, const char *path)
{
    return ef_report_workbook(answers, path);
}

static ef_status add_workbook(file_list *list, const ef_report_answers *answers)
{
    if (efi_grow(&list->files, (size_t)list->count, &list->room, sizeof *list->files) != 0)
        return EF_MEMORY;
    list->files[list->count++] = (cli_file){
        .name = "report.xlsx", .write = write_workbook, .context = answers};
    return EF_OK;
}

static ef_status add_json(file_list *list, const cli_report_work *w)
{
    char *text = NULL;
    if (w->balance)
        EF_TRY(add_file(list, ef_report_balance_json(w->balance, &text), &text, "balance", "", ".json"));
    if (w->bins)
        EF_TRY(add_file(list, ef_report_bins_json(w->bins, &text), &text, "bins", "", ".json"));
    for (int i = 0; i < w->shift_count; i++)
        EF_TRY(add_file(list, ef_report_shift_json(w->shifts[i], &text), &text, "shift", w->shifts[i]->crop,
                        ".json"));
    if (w->season)
        EF_TRY(add_file(list, ef_report_season_json(w->season, &text), &text, "season", "", ".json"));
    return EF_OK;
}

/* Everything as tables, and the plan that --plan takes up. */
static ef_status add_season_tables(file_list *list, const cli_call *call, const ef_season *season)
{
    char *text = NULL;
    for (int t = 0; ef_report_season_table(t); t++) {
        efi_text name = {0};
        efi_text_addf(&name, "season-%s", ef_report_season_table(t));
        ef_status status = name.failed ? EF_MEMORY
                                       : cli_table(call, ef_report_season_csv(season, t, &text), &text);
        status = add_file(list, status, &text, efi_text_get(&name), "", "");
        efi_text_free(&name);
        EF_TRY(status);
    }
    return add_file(list, cli_table(call, ef_report_season_plan(season, &text), &text), &text, "season-plan",
                    "", ".csv");
}

static ef_status add_calendar(file_list *list, const cli_report_work *w)
{
    char *text = NULL;
    if (!w->season)
        return EF_OK;
    return add_file(list, ef_report_season_ics(w->season, w->units, &text), &text, "season", "", ".ics");
}

static ef_status add_shift_tables(file_list *list, const cli_call *call, const ef_shift *shift)
{
    efi_text before = {0};
    efi_text_add(&before, "shift-");
    add_slug(&before, shift->crop);
    ef_status status = before.failed ? EF_MEMORY : EF_OK;
    for (int t = 0; status == EF_OK && ef_report_shift_table(t); t++) {
        efi_text name = {0};
        char *text = NULL;
        efi_text_addf(&name, "%s-%s", efi_text_get(&before), ef_report_shift_table(t));
        status = name.failed ? EF_MEMORY : cli_table(call, ef_report_shift_csv(shift, t, &text), &text);
        status = add_file(list, status, &text, efi_text_get(&name), "", "");
        efi_text_free(&name);
    }
    efi_text_free(&before);
    return status;
}

static ef_status add_tables(file_list *list, const cli_report_work *w, const ef_report_answers *answers)
{
    ef_status status = EF_OK;
    for (int t = 0; status == EF_OK; t++) {
        char *name = NULL;
        char *text = NULL;
        status = cli_table(w->call, ef_report_csv(answers, t, &name, &text), &text);
        status = add_file(list, status, &text, "", name ? name : "", ".csv");
        ef_report_free(name);
    }
    if (status != EF_NO_ANSWER)
        return status;
    for (int i = 0; i < w->shift_count; i++)
        EF_TRY(add_shift_tables(list, w->call, w->shifts[i]));
    return w->season ? add_season_tables(list, w->call, w->season) : EF_OK;
}

/* ---- writing --------------------------------------------------------------------------------------------
 */

void cli_report_folder(const cli_call *call, efi_text *out)
{
    const char *given = cli_value(call, "out");
    const char *file = call->operands[0];
    const char *slash = strrchr(file, '/');
    const char *base = slash ? slash + 1 : file;
    const char *dot = strrchr(base, '.');
    if (given)
        efi_text_add(out, given);
    else if (strcmp(base, "-") == 0)
        efi_text_add(out, "report");
    else
        efi_text_addf(out, "%.*s-report", dot && dot > base ? (int)(dot - base) : (int)strlen(base), base);
}

static int print_places(const char *folder, const file_list *list)
{
    efi_text out = {0};
    efi_text_addf(&out, "%s/report.html is written", folder);
    if (list->count > 1)
        efi_text_addf(&out, ", and %d more file%s beside it", list->count - 1, list->count > 2 ? "s" : "");
    efi_text_add(&out, "\n");
    const int code = out.failed ? cli_fail(EF_MEMORY, NULL) : cli_print(efi_text_get(&out), 0);
    efi_text_free(&out);
    return code;
}

int cli_report_write(const cli_report_work *w)
{
    file_list list = {.arena = w->arena};
    efi_text command = {0};
    efi_text folder = {0};
    cli_call_words(w->call, &command);
    cli_report_folder(w->call, &folder);
    const ef_report_answers answers = answers_of(w, efi_text_get(&command));
    ef_status status = command.failed || folder.failed ? EF_MEMORY : add_page(&list, &answers);
    if (status == EF_OK && cli_value(w->call, "workbook"))
        status = add_workbook(&list, &answers);
    if (status == EF_OK && cli_value(w->call, "json"))
        status = add_json(&list, w);
    if (status == EF_OK && cli_value(w->call, "csv"))
        status = add_tables(&list, w, &answers);
    if (status == EF_OK && cli_value(w->call, "calendar"))
        status = add_calendar(&list, w);
    int code = status == EF_OK ? 0 : cli_fail(status, NULL);
    if (code == 0)
        code = cli_write_folder(efi_text_get(&folder), list.files, list.count,
                                cli_value(w->call, "force") != NULL);
    if (code == 0)
        code = print_places(efi_text_get(&folder), &list);
    free_files(&list);
    efi_text_free(&folder);
    efi_text_free(&command);
    return code;
}
