/* SPDX-License-Identifier: GPL-3.0-or-later
 * What is in trouble in a season: what must not be, late lots, lots without room. */
#include "base/tongue.h"
#include "report/season_view.h"
#include "report/words_list.h"

#include <stdlib.h>

enum {
    MOST_ROWS = 20 /* of one kind of trouble in the table; the others follow in a sentence */
};

typedef struct row {
    efi_trouble what;
    int run;
    double cost;
} row;

bool efi_season_has_trouble(const ef_season_run *run, efi_trouble what)
{
    switch (what) {
    case EFI_TROUBLE_FORBIDDEN:
        return run->forbidden;
    case EFI_TROUBLE_UNFIT:
        return !run->fits;
    case EFI_TROUBLE_MISSES:
        return run->misses_start;
    case EFI_TROUBLE_IN_VAIN:
        return run->waits_in_vain;
    case EFI_TROUBLE_LATE:
        return run->late_days > 0.0;
    case EFI_TROUBLE_WET:
        return run->wet_days > 0.0;
    case EFI_TROUBLE_NO_RAW:
        return run->raw_missing_t > 0.0;
    case EFI_TROUBLE_NO_FINISHED:
        return run->finished_missing_t > 0.0;
    case EFI_TROUBLES:
        break;
    }
    return false;
}

static double cost_of(const ef_season_run *run, efi_trouble what)
{
    switch (what) {
    case EFI_TROUBLE_LATE:
        return run->late_cost;
    case EFI_TROUBLE_WET:
        return run->wet_cost;
    case EFI_TROUBLE_NO_RAW:
        return run->raw_cost;
    case EFI_TROUBLE_NO_FINISHED:
        return run->finished_cost;
    case EFI_TROUBLE_FORBIDDEN:
    case EFI_TROUBLE_UNFIT:
    case EFI_TROUBLE_MISSES:
    case EFI_TROUBLE_IN_VAIN:
    case EFI_TROUBLES:
        break;
    }
    return 0.0;
}

int efi_season_count(const ef_season *season, efi_trouble what)
{
    int count = 0;
    for (int r = 0; r < season->run_count; r++)
        count += efi_season_has_trouble(&season->runs[r], what);
    return count;
}

/* By kind, the dearest first. */
static int compare(const void *a, const void *b)
{
    const row *one = a;
    const row *other = b;
    if (one->what != other->what)
        return one->what < other->what ? -1 : 1;
    if (one->cost != other->cost)
        return one->cost > other->cost ? -1 : 1;
    return one->run < other->run ? -1 : one->run > other->run;
}

/* The lot before on its line; NULL for the first. */
static const char *lot_before(const efi_season_view *v, const ef_season_run *run)
{
    return run->before >= 0 ? v->season->lots[run->before].name : NULL;
}

static void add_what(efi_text *words, const efi_season_view *v, const ef_season_run *run, efi_trouble what)
{
    const ef_season_lot *lot = &v->season->lots[run->lot];
    const char *before = lot_before(v, run);
    switch (what) {
    case EFI_TROUBLE_FORBIDDEN:
        if (before)
            efi_text_addf(words, efi_tr("must not follow %s"), before);
        else
            efi_text_add(words, efi_tr("must not follow as the first"));
        break;
    case EFI_TROUBLE_UNFIT:
        efi_text_add(words, efi_tr("does not fit into the calendar"));
        break;
    case EFI_TROUBLE_MISSES:
        efi_text_add(words, efi_tr("misses its frozen start"));
        break;
    case EFI_TROUBLE_IN_VAIN:
        efi_text_add(words, efi_tr("its first pass is not done"));
        break;
    case EFI_TROUBLE_LATE:
        efi_text_addf(words, efi_tr("late by %s"), efi_season_days(run->late_days).words);
        break;
    case EFI_TROUBLE_WET:
        efi_text_addf(words, efi_tr("wet, %s past latest start"), efi_season_days(run->wet_days).words);
        break;
    case EFI_TROUBLE_NO_RAW:
        efi_text_addf(words, efi_tr("no raw room for %s"),
                      efi_season_amount(v, lot, run->raw_missing_t).words);
        break;
    case EFI_TROUBLE_NO_FINISHED:
        efi_text_addf(words, efi_tr("no finished room for %s"),
                      efi_season_amount(v, lot, run->finished_missing_t).words);
        break;
    case EFI_TROUBLES:
        break;
    }
}

static void add_first_pass(efi_text *words, const ef_season_lot *lot)
{
    if (lot->wait_h > 0.0)
        efi_text_addf(words, efi_tr("comes after %s and %s"), lot->after,
                      efi_piece_duration(lot->wait_h).words);
    else
        efi_text_addf(words, efi_tr("comes after %s"), lot->after);
}

static const char *is_in(ef_season_state state)
{
    switch (state) {
    case EF_SEASON_WAITING:
        return efi_tr("is waiting");
    case EF_SEASON_FROZEN:
        return efi_tr("is frozen");
    case EF_SEASON_RUNNING:
        return efi_tr("is running");
    case EF_SEASON_DONE:
        return efi_tr("is done");
    }
    return "";
}

/* What keeps the lot from running earlier. */
static void add_held(efi_text *words, const efi_season_view *v, const ef_season_run *run)
{
    const ef_season_lot *lot = &v->season->lots[run->lot];
    const char *before = lot_before(v, run);
    switch (run->held_by) {
    case EF_SEASON_HELD_BY_NOTHING:
        efi_text_add(words, efi_tr("runs first, takes too long"));
        break;
    case EF_SEASON_HELD_BY_ARRIVAL:
        if (lot->arrives != EF_SEASON_NONE)
            efi_text_addf(words, efi_tr("arrives %s"), efi_season_short_day(lot->arrives).words);
        else
            efi_text_add(words, efi_tr("arrives later"));
        break;
    case EF_SEASON_HELD_BY_LINE:
        if (before)
            efi_text_addf(words, efi_tr("waits for %s"), before);
        else
            efi_text_add(words, efi_tr("waits for its line"));
        break;
    case EF_SEASON_HELD_BY_FIRST_PASS:
        add_first_pass(words, lot);
        break;
    case EF_SEASON_HELD_BY_CALENDAR:
        efi_text_add(words, efi_tr("the line is closed before"));
        break;
    case EF_SEASON_HELD_BY_STATE:
        efi_text_add(words, is_in(lot->state));
        break;
    }
}

static void add_why(efi_text *words, const efi_season_view *v, const ef_season_run *run, efi_trouble what)
{
    switch (what) {
    case EFI_TROUBLE_FORBIDDEN:
        efi_text_addf(words, efi_tr("rule \"%s\""), run->rule);
        break;
    case EFI_TROUBLE_UNFIT:
        efi_text_add(words, efi_tr("no working time is left"));
        break;
    case EFI_TROUBLE_IN_VAIN:
        add_first_pass(words, v->season->lots + run->lot);
        break;
    case EFI_TROUBLE_MISSES:
        if (lot_before(v, run))
            efi_text_addf(words, efi_tr("%s is not done by then"), lot_before(v, run));
        else
            efi_text_add(words, efi_tr("its line is not done by then"));
        break;
    case EFI_TROUBLE_LATE:
    case EFI_TROUBLE_WET:
        add_held(words, v, run);
        break;
    case EFI_TROUBLE_NO_RAW:
        efi_text_addf(words, efi_tr("raw stores full from %s"), efi_season_short_day(run->raw_from).words);
        break;
    case EFI_TROUBLE_NO_FINISHED:
        efi_text_addf(words, efi_tr("finished stores full from %s"),
                      efi_season_short_day(run->finished_from).words);
        break;
    case EFI_TROUBLES:
        break;
    }
}

static void add_chance(efi_paper *paper, const ef_season_run *run)
{
    if (run->chance_late >= 0.0)
        efi_paper_percent(paper, run->chance_late, 0);
    else
        efi_paper_cell(paper, NULL);
}

/* What it would cost to run it one place earlier. */
static void add_earlier(efi_paper *paper, const efi_season_view *v, const ef_season_run *run,
                        efi_trouble what)
{
    efi_text words = {0};
    if (run->has_earlier && (what == EFI_TROUBLE_LATE || what == EFI_TROUBLE_WET)) {
        efi_text_add(&words, run->earlier_cost > 0.0 ? "+" : "");
        efi_display_add_number(&words, &v->money, run->earlier_cost);
    }
    efi_paper_take(paper, &words);
}

static void add_trouble_row(efi_paper *paper, const efi_season_view *v, const row *r)
{
    const ef_season_run *run = &v->season->runs[r->run];
    efi_text words = {0};
    efi_paper_cell(paper, v->season->lots[run->lot].name);
    efi_paper_strong(paper);
    add_what(&words, v, run, r->what);
    efi_paper_take(paper, &words);
    add_why(&words, v, run, r->what);
    efi_paper_take(paper, &words);
    if (r->cost > 0.0)
        efi_paper_number(paper, &v->money, r->cost);
    else
        efi_paper_cell(paper, NULL);
    add_earlier(paper, v, run, r->what);
    if (r->what == EFI_TROUBLE_LATE)
        add_chance(paper, run);
    else
        efi_paper_cell(paper, NULL);
}

/* The rows of one kind that the table has no room for, in a sentence: nothing is left out. */
static void add_rest(efi_paper *paper, const efi_season_view *v, const row *rows, int count)
{
    efi_text words = {0};
    efi_words_list list = {0};
    for (int i = 0; i < count; i++) {
        const ef_season_run *run = &v->season->runs[rows[i].run];
        efi_text item = {0};
        efi_text_addf(&item, "%s ", v->season->lots[run->lot].name);
        add_what(&item, v, run, rows[i].what);
        efi_words_list_take(&list, &item);
    }
    efi_text_addf(&words, efi_tr("%d more: %s."), count, efi_words_list_get(&list, EFI_JOINT_SEMICOLONS));
    efi_words_list_free(&list, &words);
    efi_paper_say(paper, EFI_DETAIL, &words);
}

/* How many rows from `from` on are of the same kind. */
static int count_same(const row *rows, int count, int from)
{
    int same = 0;
    while (from + same < count && rows[from + same].what == rows[from].what)
        same++;
    return same;
}

static void add_rows(efi_paper *paper, const efi_season_view *v, const row *rows, int count)
{
    efi_text costs = {0};
    efi_text_addf(&costs, efi_tr("Costs %s"), v->money.name);
    const efi_column columns[] = {
        {.title = EFI_TR("Lot"), .align = 'l'},     {.title = EFI_TR("Trouble"), .align = 'l'},
        {.title = EFI_TR("Why"), .align = 'l'},     {.title = efi_text_get(&costs), .align = 'r'},
        {.title = EFI_TR("Earlier"), .align = 'r'}, {.title = EFI_TR("Chance"), .align = 'r'}};
    const efi_table_form form = {
        .name = "trouble",
        .caption = EFI_TR("Trouble first. Earlier: what the whole plan would cost more "
                          "with the lot one place earlier on its line; chance: of "
                          "being late, by simulated stops.")};
    efi_paper_table(paper, &form, columns, (int)EF_COUNT(columns));
    for (int from = 0; from < count;) {
        const int same = count_same(rows, count, from);
        for (int i = from; i < from + same && i < from + MOST_ROWS; i++)
            add_trouble_row(paper, v, &rows[i]);
        from += same;
    }
    for (int from = 0; from < count;) {
        const int same = count_same(rows, count, from);
        if (same > MOST_ROWS)
            add_rest(paper, v, &rows[from + MOST_ROWS], same - MOST_ROWS);
        from += same;
    }
    efi_paper_gap(paper);
    paper->failed = paper->failed || costs.failed;
    efi_text_free(&costs);
}

void efi_season_add_trouble(efi_paper *paper, const efi_season_view *v)
{
    const ef_season *season = v->season;
    row *rows = efi_new((size_t)season->run_count * EFI_TROUBLES, sizeof *rows);
    int count = 0;
    if (!rows) {
        paper->failed = true;
        return;
    }
    for (int r = 0; r < season->run_count; r++)
        for (efi_trouble what = EFI_TROUBLE_FORBIDDEN; what < EFI_TROUBLES; what++)
            if (efi_season_has_trouble(&season->runs[r], what))
                rows[count++] = (row){what, r, cost_of(&season->runs[r], what)};
    if (count > 0) {
        qsort(rows, (size_t)count, sizeof *rows, compare);
        add_rows(paper, v, rows, count);
    }
    efi_free(rows);
}
