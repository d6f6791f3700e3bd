/* SPDX-License-Identifier: GPL-3.0-or-later
 * A season for a scheduler: the verdict, and what is in trouble. */
#include "base/number.h"
#include "report/report.h"
#include "report/season_view.h"

#include <evenfeed/report.h>
#include <stdlib.h>

/* ---- verdict --------------------------------------------------------------------------------------------
 */

/* How many runs are of a kind of trouble. */
static int count_unfit(const ef_season *season)
{
    int count = 0;
    for (int r = 0; r < season->run_count; r++)
        count += !season->runs[r].fits;
    return count;
}

static int count_forbidden(const ef_season *season)
{
    int count = 0;
    for (int r = 0; r < season->run_count; r++)
        count += season->runs[r].forbidden;
    return count;
}

static void add_title(efi_paper *paper, const efi_season_view *v)
{
    const ef_season *season = v->season;
    efi_text words = {0};
    efi_text_addf(&words, "%s: %s, plan from ", season->plant, season->scenario_file);
    efi_season_add_when(&words, season->at != EF_SEASON_NONE ? season->at : season->from);
    efi_text_addf(&words, ", seed %llu", (unsigned long long)season->seed);
    efi_paper_title(paper, &words);
}

/* "3 lots are late, by 5.2 d together; 1 starts after its latest start; all find room" */
static void add_counts(efi_text *words, const ef_season *season)
{
    if (season->late_lots > 0) {
        efi_season_add_lots(words, season->late_lots);
        efi_text_addf(words, " %s late, by ", season->late_lots == 1 ? "is" : "are");
        efi_season_add_days(words, season->late_days);
        efi_text_add(words, season->late_lots == 1 ? "" : " together");
    } else {
        efi_text_add(words, "no lot is late");
    }
    if (season->wet_lots > 0)
        efi_text_addf(words, ", %d wet lot%s after %s latest start", season->wet_lots,
                      season->wet_lots == 1 ? " begins" : "s begin", season->wet_lots == 1 ? "its" : "their");
    if (season->roomless_lots > 0)
        efi_text_addf(words, ", %d lot%s no room", season->roomless_lots,
                      season->roomless_lots == 1 ? " finds" : "s find");
    else if (season->store_count > 0)
        efi_text_add(words, ", and all find room");
}

static void add_price(efi_text *words, const efi_season_view *v)
{
    const ef_season *season = v->season;
    efi_text_add(words, "The plan costs ");
    efi_season_add_money(words, v, season->cost.total);
    if (season->gap_share > 0.0) {
        efi_text_add(words, "; no plan costs less than ");
        efi_season_add_money(words, v, season->bound.total);
        efi_text_add(words, " (gap ");
        efi_number_add_fixed(words, season->gap_share * 100.0, 1);
        efi_text_add(words, " %).");
    } else if (season->cost.total > 0.0) {
        efi_text_add(words, ", and no plan costs less.");
    } else {
        efi_text_add(words, ".");
    }
}

static void add_warning(efi_paper *paper, const ef_season *season)
{
    efi_text words = {0};
    const int forbidden = count_forbidden(season);
    const int unfit = count_unfit(season);
    if (season->forbidden == 0)
        return;
    efi_text_add(&words, "Do not follow this plan as it is:");
    if (forbidden > 0)
        efi_text_addf(&words, " %d changeover%s forbidden", forbidden, forbidden == 1 ? " is" : "s are");
    if (unfit > 0) {
        efi_text_add(&words, forbidden > 0 ? " and " : " ");
        efi_season_add_lots(&words, unfit);
        efi_text_addf(&words, " %s not fit into the calendar", unfit == 1 ? "does" : "do");
    }
    efi_text_add(&words, ".");
    efi_paper_say(paper, EFI_WARNING, &words);
}

static void add_verdict(efi_paper *paper, const efi_season_view *v)
{
    const ef_season *season = v->season;
    efi_text words = {0};
    const int count = season->run_count;
    const int unfit = count_unfit(season);
    if (count == 0) {
        efi_paper_words(paper, EFI_VERDICT, "There is nothing left to run.");
        return;
    }
    if (unfit > 0)
        efi_text_addf(&words, "%d of %d lots are run by ", count - unfit, count);
    else if (count > 1)
        efi_text_addf(&words, "All %d lots are run by ", count);
    else
        efi_text_add(&words, "The lot is run by ");
    efi_season_add_when(&words, season->end);
    efi_text_add(&words, ": ");
    add_counts(&words, season);
    efi_text_add(&words, ". ");
    add_price(&words, v);
    efi_paper_say(paper, EFI_VERDICT, &words);
}

/* A given order beside ours. */
static void add_comparison(efi_paper *paper, const efi_season_view *v)
{
    const ef_season *season = v->season;
    efi_text words = {0};
    if (!season->kept_order)
        return;
    efi_text_add(&words, "This is the order that was given, as it is.");
    if (season->has_ours) {
        efi_text_add(&words, " The best order found by search costs ");
        efi_season_add_money(&words, v, season->ours.total);
        efi_text_add(&words, season->ours.total < season->cost.total
                                 ? "; the table of costs below says where the difference lies."
                                 : ": the order given is as good as what the search found.");
    }
    efi_paper_say(paper, EFI_VERDICT, &words);
}

/* Cleaning, overtime, stop of the search: one line. */
static void add_summary(efi_paper *paper, const efi_season_view *v)
{
    const ef_season *season = v->season;
    efi_text words = {0};
    efi_text_add(&words, "Clean-downs take ");
    efi_display_add_duration(&words, season->clean_h);
    if (season->flush_t > 0.0) {
        efi_text_add(&words, " and ");
        efi_display_add_alone(&words, EFI_KIND_MASS, v->units, season->flush_t, 0.0, NULL);
        efi_text_add(&words, " of flushed seed");
    }
    if (season->overtime_h > 0.0) {
        efi_text_add(&words, ", overtime ");
        efi_display_add_duration(&words, season->overtime_h);
    }
    efi_text_add(&words, ".");
    if (season->has_previous) {
        if (season->moved_lots > 0) {
            efi_text_add(&words, " Against the plan that was taken up ");
            efi_season_add_lots(&words, season->moved_lots);
            efi_text_addf(&words, " %s elsewhere.", season->moved_lots == 1 ? "stands" : "stand");
        } else {
            efi_text_add(&words, " The plan that was taken up holds: no lot has moved.");
        }
    }
    if (season->stopped)
        efi_text_add(&words, " The search was stopped; this is the best plan it had.");
    efi_paper_say(paper, EFI_DETAIL, &words);
}

/* ---- trouble --------------------------------------------------------------------------------------------
 */

enum {
    MOST_ROWS = 20 /* of one kind of trouble in the table; the others follow in a sentence */
};

typedef enum trouble {
    FORBIDDEN,
    UNFIT,
    LATE,
    WET,
    NO_RAW,
    NO_FINISHED,
    TROUBLES
} trouble;

typedef struct row {
    trouble what;
    int run;
    double cost;
} row;

static bool has_trouble(const ef_season_run *run, trouble what)
{
    switch (what) {
    case FORBIDDEN:
        return run->forbidden;
    case UNFIT:
        return !run->fits;
    case LATE:
        return run->late_days > 0.0;
    case WET:
        return run->wet_days > 0.0;
    case NO_RAW:
        return run->raw_missing_t > 0.0;
    case NO_FINISHED:
        return run->finished_missing_t > 0.0;
    case TROUBLES:
        break;
    }
    return false;
}

static double cost_of(const ef_season_run *run, trouble what)
{
    switch (what) {
    case LATE:
        return run->late_cost;
    case WET:
        return run->wet_cost;
    case NO_RAW:
        return run->raw_cost;
    case NO_FINISHED:
        return run->finished_cost;
    case FORBIDDEN:
    case UNFIT:
    case TROUBLES:
        break;
    }
    return 0.0;
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

static const char *lot_before(const efi_season_view *v, const ef_season_run *run)
{
    return run->before >= 0 ? v->season->lots[run->before].name : "";
}

static void add_what(efi_text *words, const efi_season_view *v, const ef_season_run *run, trouble what)
{
    const ef_season_lot *lot = &v->season->lots[run->lot];
    switch (what) {
    case FORBIDDEN:
        efi_text_addf(words, "must not follow %s", *lot_before(v, run) ? lot_before(v, run) : "as the first");
        break;
    case UNFIT:
        efi_text_add(words, "does not fit into the calendar");
        break;
    case LATE:
        efi_text_add(words, "late by ");
        efi_season_add_days(words, run->late_days);
        break;
    case WET:
        efi_text_add(words, "wet, ");
        efi_season_add_days(words, run->wet_days);
        efi_text_add(words, " past latest start");
        break;
    case NO_RAW:
        efi_text_add(words, "no raw room for ");
        efi_season_add_amount(words, v, lot, run->raw_missing_t);
        break;
    case NO_FINISHED:
        efi_text_add(words, "no finished room for ");
        efi_season_add_amount(words, v, lot, run->finished_missing_t);
        break;
    case TROUBLES:
        break;
    }
}

/* What keeps the lot from running earlier. */
static void add_held(efi_text *words, const efi_season_view *v, const ef_season_run *run)
{
    const ef_season_lot *lot = &v->season->lots[run->lot];
    switch (run->held_by) {
    case EF_SEASON_HELD_BY_NOTHING:
        efi_text_add(words, "runs first, takes too long");
        break;
    case EF_SEASON_HELD_BY_ARRIVAL:
        efi_text_add(words, "arrives ");
        if (lot->arrives != EF_SEASON_NONE)
            efi_season_add_short_day(words, lot->arrives);
        break;
    case EF_SEASON_HELD_BY_LINE:
        efi_text_addf(words, "waits for %s", *lot_before(v, run) ? lot_before(v, run) : "its line");
        break;
    case EF_SEASON_HELD_BY_FIRST_PASS:
        efi_text_addf(words, "comes after %s", lot->after);
        if (lot->wait_h > 0.0) {
            efi_text_add(words, " and ");
            efi_display_add_duration(words, lot->wait_h);
        }
        break;
    case EF_SEASON_HELD_BY_CALENDAR:
        efi_text_add(words, "the line is closed before");
        break;
    case EF_SEASON_HELD_BY_STATE:
        efi_text_addf(words, "is %s", efi_season_state_word(lot->state));
        break;
    }
}

static void add_why(efi_text *words, const efi_season_view *v, const ef_season_run *run, trouble what)
{
    switch (what) {
    case FORBIDDEN:
        efi_text_addf(words, "rule \"%s\"", run->rule);
        break;
    case UNFIT:
        efi_text_add(words, "no working time is left");
        break;
    case LATE:
    case WET:
        add_held(words, v, run);
        break;
    case NO_RAW:
        efi_text_add(words, "raw stores full from ");
        efi_season_add_short_day(words, run->raw_from);
        break;
    case NO_FINISHED:
        efi_text_add(words, "finished stores full from ");
        efi_season_add_short_day(words, run->finished_from);
        break;
    case TROUBLES:
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
static void add_earlier(efi_paper *paper, const efi_season_view *v, const ef_season_run *run, trouble what)
{
    efi_text words = {0};
    if (run->has_earlier && (what == LATE || what == WET)) {
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
    if (r->what == LATE)
        add_chance(paper, run);
    else
        efi_paper_cell(paper, NULL);
}

/* The rows of one kind that the table has no room for, in a sentence: nothing is left out. */
static void add_rest(efi_paper *paper, const efi_season_view *v, const row *rows, int count)
{
    efi_text words = {0};
    efi_text_addf(&words, "%d more: ", count);
    for (int i = 0; i < count; i++) {
        const ef_season_run *run = &v->season->runs[rows[i].run];
        efi_text_addf(&words, "%s%s ", i ? "; " : "", v->season->lots[run->lot].name);
        add_what(&words, v, run, rows[i].what);
    }
    efi_text_add(&words, ".");
    efi_paper_say(paper, EFI_WARNING, &words);
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
    efi_text_addf(&costs, "Costs %s", v->money.name);
    const efi_column columns[] = {
        {.title = "Lot", .align = 'l'},     {.title = "Trouble", .align = 'l'},
        {.title = "Why", .align = 'l'},     {.title = efi_text_get(&costs), .align = 'r'},
        {.title = "Earlier", .align = 'r'}, {.title = "Chance", .align = 'r'}};
    const efi_table_form form = {.name = "trouble",
                                 .caption = "Trouble first. Earlier: what the whole plan would cost more "
                                            "with the lot one place earlier on its line; chance: of being "
                                            "late, by simulated stops."};
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
    row *rows = efi_new((size_t)season->run_count * TROUBLES, sizeof *rows);
    int count = 0;
    if (!rows) {
        paper->failed = true;
        return;
    }
    for (int r = 0; r < season->run_count; r++)
        for (trouble what = FORBIDDEN; what < TROUBLES; what++)
            if (has_trouble(&season->runs[r], what))
                rows[count++] = (row){what, r, cost_of(&season->runs[r], what)};
    if (count > 0) {
        qsort(rows, (size_t)count, sizeof *rows, compare);
        add_rows(paper, v, rows, count);
    }
    efi_free(rows);
}

/* ---- the whole ------------------------------------------------------------------------------------------
 */

static void add_pictures(efi_paper *paper, const efi_season_view *v)
{
    char *svg = NULL;
    if (!paper->with_pictures)
        return;
    efi_paper_picture(paper, "season", ef_report_season_svg(v->season, v->units, &svg), &svg);
    efi_paper_picture(paper, "stores", ef_report_stores_svg(v->season, v->units, &svg), &svg);
}

void efi_season_paper(efi_paper *paper, const ef_season *season, ef_units units)
{
    const efi_season_view v = efi_season_view_of(season, units);
    add_title(paper, &v);
    add_warning(paper, season);
    add_verdict(paper, &v);
    add_comparison(paper, &v);
    add_summary(paper, &v);
    efi_paper_gap(paper);
    paper->depth = 1;
    efi_season_add_trouble(paper, &v);
    efi_season_add_order(paper, &v);
    efi_season_add_chart(paper, &v);
    add_pictures(paper, &v);
    efi_season_add_tables(paper, &v);
}

ef_status ef_report_season_text(const ef_season *season, ef_units units, char **text)
{
    efi_paper paper = {0};
    efi_season_paper(&paper, season, units);
    return efi_paper_give_text(&paper, text);
}
