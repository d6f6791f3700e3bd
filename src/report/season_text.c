/* SPDX-License-Identifier: GPL-3.0-or-later
 * A season for a scheduler: the verdict, and what is in trouble. */
#include "base/tongue.h"
#include "report/report.h"
#include "report/season_view.h"
#include "report/words_list.h"

#include <evenfeed/report.h>
#include <stdio.h>

/* ---- verdict --------------------------------------------------------------------------------------------
 */

static void add_title(efi_paper *paper, const efi_season_view *v)
{
    const ef_season *season = v->season;
    efi_text words = {0};
    efi_text_addf(&words, efi_tr("%s: %s, plan from %s, seed %llu"), season->plant, season->scenario_file,
                  efi_piece_when(season->at != EF_SEASON_NONE ? season->at : season->from).words,
                  (unsigned long long)season->seed);
    efi_paper_title(paper, &words);
}

/* "3 lots are late, by 5.2 d together", "1 lot finds no room" */
static void add_counts(efi_words_list *list, const ef_season *season)
{
    if (season->late_lots > 0)
        efi_words_list_addf(
            list, efi_tr_n("%d lot is late, by %s", "%d lots are late, by %s together", season->late_lots),
            season->late_lots, efi_season_days(season->late_days).words);
    else
        efi_words_list_add(list, efi_tr("no lot is late"));
    if (season->wet_lots > 0)
        efi_words_list_addf(list,
                            efi_tr_n("%d wet lot begins after its latest start",
                                     "%d wet lots begin after their latest start", season->wet_lots),
                            season->wet_lots);
    if (season->roomless_lots > 0)
        efi_words_list_addf(list,
                            efi_tr_n("%d lot finds no room", "%d lots find no room", season->roomless_lots),
                            season->roomless_lots);
    else if (season->store_count > 0)
        efi_words_list_add(list, efi_tr("and all find room"));
}

static void add_price(efi_text *words, const efi_season_view *v)
{
    const ef_season *season = v->season;
    const efi_piece cost = efi_season_sum(v, season->cost.total);
    if (season->gap_share > 0.0)
        efi_text_addf(words, efi_tr("The plan costs %s; no plan costs less than %s (gap %s)."), cost.words,
                      efi_season_sum(v, season->bound.total).words,
                      efi_piece_percent(season->gap_share, 1).words);
    else if (season->cost.total > 0.0)
        efi_text_addf(words, efi_tr("The plan costs %s, and no plan costs less."), cost.words);
    else
        efi_text_addf(words, efi_tr("The plan costs %s."), cost.words);
}

/* What must not be, in so many runs; nothing for none. */
static void add_must_not(efi_words_list *list, const ef_season *season, efi_trouble what)
{
    const int count = efi_season_count(season, what);
    if (count == 0)
        return;
    switch (what) {
    case EFI_TROUBLE_FORBIDDEN:
        efi_words_list_addf(
            list, efi_tr_n("%d changeover is forbidden", "%d changeovers are forbidden", count), count);
        break;
    case EFI_TROUBLE_UNFIT:
        efi_words_list_addf(
            list,
            efi_tr_n("%d lot does not fit into the calendar", "%d lots do not fit into the calendar", count),
            count);
        break;
    case EFI_TROUBLE_MISSES:
        efi_words_list_addf(
            list, efi_tr_n("%d frozen lot misses its start", "%d frozen lots miss their start", count),
            count);
        break;
    case EFI_TROUBLE_IN_VAIN:
        efi_words_list_addf(list,
                            efi_tr_n("%d lot runs before its first pass is done",
                                     "%d lots run before their first pass is done", count),
                            count);
        break;
    case EFI_TROUBLE_LATE:
    case EFI_TROUBLE_WET:
    case EFI_TROUBLE_NO_RAW:
    case EFI_TROUBLE_NO_FINISHED:
    case EFI_TROUBLES:
        break;
    }
}

static void add_warning(efi_paper *paper, const ef_season *season)
{
    efi_text words = {0};
    efi_words_list list = {0};
    if (season->forbidden == 0)
        return;
    for (efi_trouble what = EFI_TROUBLE_FORBIDDEN; what < EFI_TROUBLE_LATE; what++)
        add_must_not(&list, season, what);
    efi_text_addf(&words, efi_tr("Do not follow this plan as it is: %s."),
                  efi_words_list_get(&list, EFI_JOINT_COMMAS));
    efi_words_list_free(&list, &words);
    efi_paper_say(paper, EFI_WARNING, &words);
}

static void add_verdict(efi_paper *paper, const efi_season_view *v)
{
    const ef_season *season = v->season;
    efi_text words = {0};
    efi_words_list list = {0};
    const int count = season->run_count;
    const int unfit = efi_season_count(season, EFI_TROUBLE_UNFIT);
    const efi_piece end = efi_piece_when(season->end);
    if (count == 0) {
        efi_paper_words(paper, EFI_VERDICT, efi_tr("There is nothing left to run."));
        return;
    }
    add_counts(&list, season);
    const char *counts = efi_words_list_get(&list, EFI_JOINT_COMMAS);
    if (unfit > 0)
        efi_text_addf(&words, efi_tr("%d of %d lots are run by %s: %s."), count - unfit, count, end.words,
                      counts);
    else if (count > 1)
        efi_text_addf(&words, efi_tr("All %d lots are run by %s: %s."), count, end.words, counts);
    else
        efi_text_addf(&words, efi_tr("The lot is run by %s: %s."), end.words, counts);
    efi_text_add(&words, " ");
    add_price(&words, v);
    efi_words_list_free(&list, &words);
    efi_paper_say(paper, EFI_VERDICT, &words);
}

/* A given order beside ours. */
static void add_comparison(efi_paper *paper, const efi_season_view *v)
{
    const ef_season *season = v->season;
    efi_text words = {0};
    if (!season->kept_order)
        return;
    efi_text_add(&words, efi_tr("This is the order that was given, as it is."));
    if (season->has_ours) {
        const efi_piece ours = efi_season_sum(v, season->ours.total);
        efi_text_add(&words, " ");
        if (season->ours.total < season->cost.total)
            efi_text_addf(&words,
                          efi_tr("The best order found by search costs %s; the table of costs below says "
                                 "where the difference lies."),
                          ours.words);
        else
            efi_text_addf(&words,
                          efi_tr("The best order found by search costs %s: the order given is as good as "
                                 "what the search found."),
                          ours.words);
    }
    efi_paper_say(paper, EFI_VERDICT, &words);
}

static void add_cleaning(efi_text *words, const efi_season_view *v)
{
    const ef_season *season = v->season;
    const efi_piece clean = efi_piece_duration(season->clean_h);
    const efi_piece flush = efi_season_mass(v, season->flush_t);
    const efi_piece overtime = efi_piece_duration(season->overtime_h);
    if (season->flush_t > 0.0 && season->overtime_h > 0.0)
        efi_text_addf(words, efi_tr("Clean-downs take %s and %s of flushed seed, overtime %s."), clean.words,
                      flush.words, overtime.words);
    else if (season->flush_t > 0.0)
        efi_text_addf(words, efi_tr("Clean-downs take %s and %s of flushed seed."), clean.words, flush.words);
    else if (season->overtime_h > 0.0)
        efi_text_addf(words, efi_tr("Clean-downs take %s, overtime %s."), clean.words, overtime.words);
    else
        efi_text_addf(words, efi_tr("Clean-downs take %s."), clean.words);
}

/* Cleaning, overtime, stop of the search: one line. */
static void add_summary(efi_paper *paper, const efi_season_view *v)
{
    const ef_season *season = v->season;
    efi_text words = {0};
    add_cleaning(&words, v);
    if (season->has_previous && !season->kept_order) {
        efi_text_add(&words, " ");
        if (season->moved_lots > 0)
            efi_text_addf(&words,
                          efi_tr_n("Against the plan that was taken up %d lot stands elsewhere.",
                                   "Against the plan that was taken up %d lots stand elsewhere.",
                                   season->moved_lots),
                          season->moved_lots);
        else
            efi_text_add(&words, efi_tr("The plan that was taken up holds: no lot has moved."));
    }
    if (season->stopped) {
        efi_text_add(&words, " ");
        efi_text_add(&words, efi_tr("The search was stopped; this is the best plan it had."));
    }
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
