/* SPDX-License-Identifier: GPL-3.0-or-later
 * A season for a scheduler: the verdict, and what is in trouble. */
#include "base/number.h"
#include "report/report.h"
#include "report/season_view.h"

#include <evenfeed/report.h>
#include <stdio.h>

/* ---- verdict --------------------------------------------------------------------------------------------
 */

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

/* What must not be, in so many runs: "1 changeover is forbidden", "2 lots do not fit into the calendar". */
static void add_must_not(efi_text *words, int count, const char *what, const char *one, const char *several)
{
    if (count == 0)
        return;
    efi_text_addf(words, "%s%d %s%s %s", words->length ? ", " : "Do not follow this plan as it is: ", count,
                  what, count == 1 ? "" : "s", count == 1 ? one : several);
}

static void add_warning(efi_paper *paper, const ef_season *season)
{
    efi_text words = {0};
    if (season->forbidden == 0)
        return;
    add_must_not(&words, efi_season_count(season, EFI_TROUBLE_FORBIDDEN), "changeover", "is forbidden",
                 "are forbidden");
    add_must_not(&words, efi_season_count(season, EFI_TROUBLE_UNFIT), "lot", "does not fit into the calendar",
                 "do not fit into the calendar");
    add_must_not(&words, efi_season_count(season, EFI_TROUBLE_MISSES), "frozen lot", "misses its start",
                 "miss their start");
    add_must_not(&words, efi_season_count(season, EFI_TROUBLE_IN_VAIN), "lot",
                 "runs before its first pass is done", "run before their first pass is done");
    efi_text_add(&words, ".");
    efi_paper_say(paper, EFI_WARNING, &words);
}

static void add_verdict(efi_paper *paper, const efi_season_view *v)
{
    const ef_season *season = v->season;
    efi_text words = {0};
    const int count = season->run_count;
    const int unfit = efi_season_count(season, EFI_TROUBLE_UNFIT);
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
    if (season->has_previous && !season->kept_order) {
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

/* ---- the whole ------------------------------------------------------------------------------------------
 */

typedef ef_status picture(const ef_season *season, int page, ef_units units, char **text);

/* A picture on as many pages as it needs. */
static void add_pages(efi_paper *paper, const efi_season_view *v, const char *what, picture *draw)
{
    ef_status status = EF_OK;
    for (int page = 0; status == EF_OK && !paper->failed; page++) {
        char name[40];
        char *svg = NULL;
        (void)snprintf(name, sizeof name, page > 0 ? "%s-%d" : "%s", what, page + 1);
        status = draw(v->season, page, v->units, &svg);
        if (status != EF_USAGE) /* behind the last page */
            efi_paper_picture(paper, name, status, &svg);
    }
}

/* What to know first. */
static void add_beginning(efi_paper *paper, const efi_season_view *v)
{
    add_warning(paper, v->season);
    add_verdict(paper, v);
    add_comparison(paper, v);
    add_summary(paper, v);
    efi_paper_gap(paper);
}

void efi_season_verdict_put(efi_paper *paper, const ef_season *season, ef_units units)
{
    const efi_season_view v = efi_season_view_of(season, units);
    add_warning(paper, season);
    add_verdict(paper, &v);
}

void efi_season_costs_put(efi_paper *paper, const ef_season *season, ef_units units)
{
    const efi_season_view v = efi_season_view_of(season, units);
    add_beginning(paper, &v);
    efi_season_add_costs(paper, &v);
}

void efi_season_sheet_put(efi_paper *paper, const ef_season *season, ef_units units)
{
    const efi_season_view v = efi_season_view_of(season, units);
    add_title(paper, &v);
    add_beginning(paper, &v);
    efi_season_add_trouble(paper, &v);
    efi_season_add_tables(paper, &v);
}

void efi_season_paper(efi_paper *paper, const ef_season *season, ef_units units)
{
    const efi_season_view v = efi_season_view_of(season, units);
    add_title(paper, &v);
    add_beginning(paper, &v);
    paper->depth = 1;
    efi_season_add_trouble(paper, &v);
    if (paper->with_pictures)
        add_pages(paper, &v, "season", ef_report_season_svg);
    efi_season_add_order(paper, &v);
    efi_season_add_chart(paper, &v);
    if (paper->with_pictures)
        add_pages(paper, &v, "stores", ef_report_stores_svg);
    efi_season_add_tables(paper, &v);
}

ef_status ef_report_season_text(const ef_season *season, ef_units units, char **text)
{
    efi_paper paper = {0};
    efi_season_paper(&paper, season, units);
    return efi_paper_give_text(&paper, text);
}
