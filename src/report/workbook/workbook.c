/* SPDX-License-Identifier: GPL-3.0-or-later
 * A report as a workbook: a sheet for what several answers say together, then one for each answer, with its
 * charts below its words and tables. */
#include "base/tongue.h"
#include "report/balance_view.h"
#include "report/bins_view.h"
#include "report/html/html.h"
#include "report/season_view.h"
#include "report/shift_view.h"
#include "report/workbook/book.h"

#include <string.h>

/* A sheet that holds one paper; NULL when there is no memory for it. */
static efi_sheet *put_paper(efi_book *book, const char *name, efi_paper *paper)
{
    efi_sheet *sheet = efi_book_sheet(book, name);
    efi_sheet_paper(sheet, paper);
    efi_paper_free(paper);
    return sheet;
}

/* ---- what several answers say together ------------------------------------------------------------------
 */

static void put_overview(efi_book *book, const ef_report_answers *a)
{
    efi_sheet *sheet = efi_book_sheet(book, efi_tr("Overview"));
    efi_paper papers[3] = {{0}};
    efi_sheet_words(sheet, EFI_LOOK_TITLE, a->plant);
    efi_overview_put(&papers[0], a);
    efi_planning_put(&papers[1], a);
    efi_cautions_put(&papers[2], a);
    for (size_t i = 0; i < EF_COUNT(papers); i++) {
        efi_sheet_paper(sheet, &papers[i]);
        efi_paper_free(&papers[i]);
    }
    for (int i = 0; i < a->missing_count; i++) {
        efi_sheet_words(sheet, EFI_LOOK_WARNING, efi_tr(a->missing[i].answer));
        efi_sheet_words(sheet, EFI_LOOK_PLAIN, a->missing[i].why);
    }
    efi_sheet_gap(sheet);
    efi_sheet_words(sheet, EFI_LOOK_CAPTION, efi_tr("How to make this workbook again"));
    efi_sheet_words(sheet, EFI_LOOK_PLAIN, a->scenario_file);
    efi_sheet_words(sheet, EFI_LOOK_PLAIN, a->command);
    efi_sheet_words(sheet, EFI_LOOK_PLAIN, "evenfeed " EF_VERSION);
}

/* ---- the balance ----------------------------------------------------------------------------------------
 */

enum {
    MOST_RUNGS = 16
};

static ef_status put_ladder(efi_sheet *sheet, const ef_balance_crop *crop)
{
    const char *names[MOST_RUNGS] = {efi_tr_in("ladder", "now")};
    double intake[MOST_RUNGS] = {crop->intake.total_tph};
    double product[MOST_RUNGS] = {crop->product.total_tph};
    efi_text texts[MOST_RUNGS] = {{0}};
    int count = 1;
    for (; count <= crop->rung_count && count < MOST_RUNGS; count++) {
        efi_text_addf(&texts[count], efi_tr("rung %d"), count);
        names[count] = efi_text_get(&texts[count]);
        intake[count] = crop->rungs[count - 1].intake_tph;
        product[count] = crop->rungs[count - 1].product_tph;
    }
    efi_text title = {0};
    efi_text_addf(&title, efi_tr("%s: what to enlarge next"), crop->name);
    const efi_series series[] = {{efi_tr("Rung"), NULL, names},
                                 {efi_tr("Intake [t/h]"), intake, NULL},
                                 {efi_tr("Product [t/h]"), product, NULL}};
    const efi_chart_form form = {EFI_CHART_BARS, efi_text_get(&title), efi_tr("Rung of the ladder"), "t/h"};
    if (crop->rung_count > 0)
        efi_sheet_chart(sheet, &form, series, EF_COUNT(series), count);
    bool failed = title.failed;
    for (int i = 0; i < count; i++) {
        failed = failed || texts[i].failed;
        efi_text_free(&texts[i]);
    }
    efi_text_free(&title);
    return failed ? EF_MEMORY : EF_OK;
}

static ef_status put_balance(efi_book *book, const ef_report_answers *a)
{
    efi_paper paper = {0};
    if (!a->balance)
        return EF_OK;
    efi_balance_put(&paper, a->balance, a->units);
    efi_sheet *sheet = put_paper(book, efi_tr("Balance"), &paper);
    for (int c = 0; c < a->balance->crop_count; c++)
        EF_TRY(put_ladder(sheet, &a->balance->crops[c]));
    return EF_OK;
}

/* ---- bins -----------------------------------------------------------------------------------------------
 */

static ef_status put_curve(efi_sheet *sheet, const char *crop, const ef_bins_feed *feed)
{
    const size_t count = (size_t)feed->curve_count;
    double *minutes = efi_new(count, sizeof *minutes);
    double *volume = efi_new(count, sizeof *volume);
    efi_text title = {0};
    efi_text_addf(&title, efi_tr("%s, %s: volume of the bins against minutes short"), crop, feed->name);
    const bool failed = !minutes || !volume || title.failed;
    for (size_t i = 0; i < count && !failed; i++) {
        minutes[i] = 60.0 * feed->curve[i].short_h;
        volume[i] = feed->curve[i].volume_m3;
    }
    if (!failed) {
        const efi_series series[] = {{efi_tr("Full-feed minutes short a shift"), minutes, NULL},
                                     {efi_tr("Live volume of the bins [m3]"), volume, NULL}};
        const efi_chart_form form = {EFI_CHART_POINTS, efi_text_get(&title),
                                     efi_tr("full-feed minutes short a shift"), "m3"};
        efi_sheet_chart(sheet, &form, series, EF_COUNT(series), (int)count);
    }
    efi_text_free(&title);
    efi_free(minutes);
    efi_free(volume);
    return failed ? EF_MEMORY : EF_OK;
}

static ef_status put_bins(efi_book *book, const ef_report_answers *a)
{
    efi_paper paper = {0};
    if (!a->bins)
        return EF_OK;
    efi_bins_put(&paper, a->bins, a->units);
    efi_sheet *sheet = put_paper(book, efi_tr("Bins"), &paper);
    for (int c = 0; c < a->bins->crop_count; c++)
        for (int f = 0; f < a->bins->crops[c].feed_count; f++)
            if (a->bins->crops[c].feeds[f].curve_count > 0)
                EF_TRY(put_curve(sheet, a->bins->crops[c].name, &a->bins->crops[c].feeds[f]));
    return EF_OK;
}

/* ---- shifts ---------------------------------------------------------------------------------------------
 */

static ef_status put_histogram(efi_sheet *sheet, const ef_shift *shift)
{
    const size_t count = (size_t)shift->histogram_count;
    double *from = efi_new(count, sizeof *from);
    double *shifts = efi_new(count, sizeof *shifts);
    const bool failed = !from || !shifts;
    for (size_t i = 0; i < count && !failed; i++) {
        from[i] = shift->histogram_from_t + (double)i * shift->histogram_width_t;
        shifts[i] = shift->histogram[i];
    }
    if (!failed) {
        const efi_series series[] = {{efi_tr("Product from [t]"), from, NULL},
                                     {efi_tr("Shifts"), shifts, NULL}};
        const efi_chart_form form = {EFI_CHART_COLUMNS, efi_tr("Tonnes of product a shift"),
                                     efi_tr("t a shift, from"), efi_tr("shifts")};
        efi_sheet_chart(sheet, &form, series, EF_COUNT(series), (int)count);
    }
    efi_free(from);
    efi_free(shifts);
    return failed ? EF_MEMORY : EF_OK;
}

static ef_status put_hours(efi_sheet *sheet, const ef_shift *shift)
{
    const size_t count = (size_t)shift->station_count;
    const char **names = efi_new(count, sizeof *names);
    double *hours = efi_new(count * EF_SHIFT_HOURS_COUNT, sizeof *hours);
    efi_series series[1 + EF_SHIFT_HOURS_COUNT];
    const bool failed = !names || !hours;
    for (size_t i = 0; i < count && !failed; i++) {
        names[i] = shift->stations[i].name;
        for (size_t h = 0; h < EF_SHIFT_HOURS_COUNT; h++)
            hours[h * count + i] = shift->stations[i].hours[h];
    }
    if (!failed) {
        series[0] = (efi_series){efi_tr("Station"), NULL, names};
        for (size_t h = 0; h < EF_SHIFT_HOURS_COUNT; h++)
            series[1 + h] = (efi_series){efi_tr(ef_shift_hours_word((ef_shift_hours)h)), hours + h * count,
                                         NULL};
        const efi_chart_form form = {EFI_CHART_STACKED_BARS, efi_tr("Where the hours of each station go"),
                                     efi_tr("Station"), "h"};
        efi_sheet_chart(sheet, &form, series, EF_COUNT(series), (int)count);
    }
    efi_free(hours);
    efi_free(names);
    return failed ? EF_MEMORY : EF_OK;
}

static ef_status put_levels(efi_sheet *sheet, const ef_shift *shift, const ef_shift_bin *bin)
{
    efi_text title = {0};
    efi_text_addf(&title, efi_tr("%s: its level, in a poor, a middling and a good hour"), bin->name);
    const efi_series series[] = {{efi_tr("Hour"), shift->grid_h, NULL},
                                 {efi_tr("one in ten is lower [t]"), bin->p10_t, NULL},
                                 {efi_tr("middle [t]"), bin->p50_t, NULL},
                                 {efi_tr("one in ten is higher [t]"), bin->p90_t, NULL}};
    const efi_chart_form form = {EFI_CHART_LINES, efi_text_get(&title), efi_tr("hours"), "t"};
    const bool failed = title.failed;
    if (!failed)
        efi_sheet_chart(sheet, &form, series, EF_COUNT(series), shift->grid_count);
    efi_text_free(&title);
    return failed ? EF_MEMORY : EF_OK;
}

static ef_status put_shift(efi_book *book, const ef_report_answers *a, const ef_shift *shift)
{
    efi_paper paper = {0};
    efi_text name = {0};
    efi_text_addf(&name, efi_tr("Shift %s"), shift->crop);
    efi_shift_put(&paper, shift, a->units);
    efi_sheet *sheet = put_paper(book, efi_text_get(&name), &paper);
    const bool failed = name.failed;
    efi_text_free(&name);
    if (failed)
        return EF_MEMORY;
    EF_TRY(put_histogram(sheet, shift));
    EF_TRY(put_hours(sheet, shift));
    for (int b = 0; b < shift->bin_count; b++)
        EF_TRY(put_levels(sheet, shift, &shift->bins[b]));
    return EF_OK;
}

/* ---- the season -----------------------------------------------------------------------------------------
 */

/* What the season costs by kind, and the least that any plan costs. */
static ef_status put_costs(efi_sheet *sheet, const ef_season *season)
{
    const char *words[EF_SEASON_TERMS];
    efi_text cost = {0};
    efi_text least = {0};
    const char *money = *season->currency ? season->currency : "money";
    efi_text_addf(&cost, efi_tr("This plan [%s]"), money);
    efi_text_addf(&least, efi_tr("No plan costs less than [%s]"), money);
    for (int t = 0; t < EF_SEASON_TERMS; t++)
        words[t] = efi_tr(ef_season_term_word((ef_season_term)t));
    const efi_series series[] = {{efi_tr("Kind"), NULL, words},
                                 {efi_text_get(&cost), season->cost.term, NULL},
                                 {efi_text_get(&least), season->bound.term, NULL}};
    const efi_chart_form form = {EFI_CHART_BARS, efi_tr("What the season costs, by kind"),
                                 efi_tr("Kind of cost"), money};
    const bool failed = cost.failed || least.failed;
    if (!failed)
        efi_sheet_chart(sheet, &form, series, EF_COUNT(series), EF_SEASON_TERMS);
    efi_text_free(&cost);
    efi_text_free(&least);
    return failed ? EF_MEMORY : EF_OK;
}

static ef_status put_season(efi_book *book, const ef_report_answers *a)
{
    efi_paper summary = {0};
    efi_paper work = {0};
    if (!a->season)
        return EF_OK;
    efi_season_sheet_put(&summary, a->season, a->units);
    EF_TRY(put_costs(put_paper(book, efi_tr("Season"), &summary), a->season));
    efi_season_work_put(&work, a->season);
    (void)put_paper(book, efi_tr("Order of work"), &work);
    return EF_OK;
}

static ef_status put_all(efi_book *book, const ef_report_answers *a)
{
    put_overview(book, a);
    EF_TRY(put_balance(book, a));
    EF_TRY(put_bins(book, a));
    for (int i = 0; i < a->shift_count; i++)
        EF_TRY(put_shift(book, a, a->shifts[i]));
    return put_season(book, a);
}

ef_status ef_report_workbook(const ef_report_answers *answers, const char *path)
{
    efi_book *book = NULL;
    EF_TRY(efi_book_new(path, &book));
    const ef_status put = put_all(book, answers);
    const ef_status closed = efi_book_close(book);
    return put != EF_OK ? put : closed;
}
