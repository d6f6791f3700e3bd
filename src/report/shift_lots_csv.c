/* SPDX-License-Identifier: GPL-3.0-or-later
 * A list of lots as tables for a spreadsheet. */
#include "base/date.h"
#include "report/csv_text.h"
#include "report/report.h"

#include <string.h>

/* ---- lists: of a plant of several lines one each, else one ----------------------------------------------
 */

static int list_count(const ef_shift_lots *lots)
{
    return lots->line_count > 0 ? lots->line_count : 1;
}

static const ef_shift_lots *list_of(const ef_shift_lots *lots, int index)
{
    return lots->line_count > 0 ? &lots->lines[index] : lots;
}

static void add_titles(efi_text *out, const ef_shift_lots *lots, const char *titles)
{
    efi_text_addf(out, "%s%s", lots->line_count > 0 ? "line," : "", titles);
}

/* Begins a row: the line, where there are several. */
static void begin_row(efi_text *out, const ef_shift_lots *list)
{
    if (list->line)
        efi_csv_text_next(out, list->line);
}

static int find_outlet(const ef_shift_lots *list, const char *name)
{
    for (int o = 0; o < list->outlet_count; o++)
        if (strcmp(list->outlets[o], name) == 0)
            return o;
    return -1;
}

/* Outlets of all lists, each once: is this one not in a list before? */
static bool is_new_outlet(const ef_shift_lots *lots, int list, int outlet)
{
    for (int i = 0; i < list; i++)
        if (find_outlet(list_of(lots, i), list_of(lots, list)->outlets[outlet]) >= 0)
            return false;
    return true;
}

static void add_outlet_titles(efi_text *out, const ef_shift_lots *lots)
{
    for (int i = 0; i < list_count(lots); i++)
        for (int o = 0; o < list_of(lots, i)->outlet_count; o++) {
            efi_text heading = {0};
            if (!is_new_outlet(lots, i, o))
                continue;
            efi_text_addf(&heading, "%s [t]", list_of(lots, i)->outlets[o]);
            efi_csv_next(out);
            efi_csv_add_text(out, efi_text_get(&heading));
            out->failed = out->failed || heading.failed;
            efi_text_free(&heading);
        }
    efi_text_add(out, "\n");
}

/* Ends a row with the tonnes of a list in the columns of the outlets, `step` from one to the next. */
static void end_with_outlets(efi_text *out, const ef_shift_lots *lots, const ef_shift_lots *list,
                             const double *tonnes, size_t step)
{
    for (int i = 0; i < list_count(lots); i++)
        for (int o = 0; o < list_of(lots, i)->outlet_count; o++) {
            if (!is_new_outlet(lots, i, o))
                continue;
            const int own = find_outlet(list, list_of(lots, i)->outlets[o]);
            efi_csv_next(out);
            if (own >= 0)
                efi_csv_add_number(out, tonnes[(size_t)own * step]);
        }
    efi_csv_end(out);
}

/* ---- tables ---------------------------------------------------------------------------------------------
 */

static void add_spread(efi_text *out, const ef_shift_spread *spread)
{
    efi_csv_number_next(out, spread->p10.value);
    efi_csv_number_next(out, spread->p50.value);
    efi_csv_number_next(out, spread->p90.value);
    efi_csv_number_next(out, spread->mean.value);
}

static void add_list_lots(efi_text *out, const ef_shift_lots *lots)
{
    for (int k = 0; k < lots->lot_count; k++) {
        const ef_shift_lot *lot = &lots->lots[k];
        begin_row(out, lots);
        efi_csv_text_next(out, lot->name);
        efi_csv_text_next(out, lot->crop);
        efi_csv_number_next(out, lot->tonnes_t);
        efi_csv_number_next(out, lot->product_t);
        efi_csv_text_next(out, lot->rule ? lot->rule : "");
        efi_csv_number_next(out, lot->clean_h);
        efi_csv_number_next(out, lot->flush_t);
        efi_csv_number_next(out, lot->balance_tph);
        add_spread(out, &lot->begin_h);
        add_spread(out, &lot->end_h);
        add_spread(out, &lot->work_h);
        efi_csv_number_end(out, lot->rate_tph);
    }
}

static void add_lots(efi_text *out, const ef_shift_lots *lots)
{
    add_titles(out, lots,
               "lot,crop,tonnes_t,product_t,rule,clean_h,flush_t,balance_tph,begin_p10_h,begin_p50_h,"
               "begin_p90_h,begin_mean_h,end_p10_h,end_p50_h,end_p90_h,end_mean_h,work_p10_h,work_p50_h,"
               "work_p90_h,work_mean_h,rate_tph\n");
    for (int i = 0; i < list_count(lots); i++)
        add_list_lots(out, list_of(lots, i));
}

/* Every lot of every run. */
static void add_runs(efi_text *out, const ef_shift_lots *lots)
{
    add_titles(out, lots, "run,lot,begin_h,end_h,intake_t");
    add_outlet_titles(out, lots);
    for (int l = 0; l < list_count(lots); l++) {
        const ef_shift_lots *list = list_of(lots, l);
        for (int i = 0; i < list->runs * list->lot_count; i++) {
            begin_row(out, list);
            efi_text_addf(out, "%d,", i / list->lot_count + 1);
            efi_csv_text_next(out, list->lots[i % list->lot_count].name);
            efi_csv_number_next(out, list->begin_h[i]);
            efi_csv_number_next(out, list->end_h[i]);
            efi_csv_add_number(out, list->in_t[i]);
            end_with_outlets(out, lots, list, list->outlet_t + (size_t)i * (size_t)list->outlet_count, 1);
        }
    }
}

/* Every shift of every run that lies within the list in all of them. */
static void add_shifts(efi_text *out, const ef_shift_lots *lots)
{
    add_titles(out, lots, "run,shift,date,from_h,to_h,work_h,intake_t");
    add_outlet_titles(out, lots);
    for (int l = 0; l < list_count(lots); l++) {
        const ef_shift_lots *list = list_of(lots, l);
        const int count = list->runs * list->period_count;
        for (int i = 0; i < count; i++) {
            const ef_shift_period *period = &list->periods[i % list->period_count];
            begin_row(out, list);
            efi_text_addf(out, "%d,", i / list->period_count + 1);
            efi_csv_text_next(out, period->name);
            if (list->on_calendar)
                efi_date_add(out, period->day);
            efi_csv_next(out);
            efi_csv_number_next(out, period->from_h);
            efi_csv_number_next(out, period->to_h);
            efi_csv_number_next(out, period->work_h);
            efi_csv_add_number(out, list->shift_intake_t[i]);
            end_with_outlets(out, lots, list, list->shift_outlet_t + i, (size_t)count);
        }
    }
}

static void add_hours(efi_text *out, const ef_shift_lots *lots)
{
    add_titles(out, lots, "station,hours,mean_h\n");
    for (int l = 0; l < list_count(lots); l++) {
        const ef_shift_lots *list = list_of(lots, l);
        for (int s = 0; s < list->station_count; s++)
            for (int h = 0; h < EF_SHIFT_HOURS_COUNT; h++) {
                begin_row(out, list);
                efi_csv_text_next(out, list->stations[s].name);
                efi_csv_text_next(out, ef_shift_hours_word((ef_shift_hours)h));
                efi_csv_number_end(out, list->stations[s].hours[h]);
            }
    }
}

static const struct {
    const char *file;
    void (*add)(efi_text *out, const ef_shift_lots *lots);
} tables[] = {
    {"lots.csv", add_lots}, {"runs.csv", add_runs}, {"shifts.csv", add_shifts}, {"hours.csv", add_hours}};

const char *ef_report_shift_lots_table(int index)
{
    return index >= 0 && (size_t)index < EF_COUNT(tables) ? tables[index].file : NULL;
}

ef_status ef_report_shift_lots_csv(const ef_shift_lots *lots, int index, char **text)
{
    efi_text out = {0};
    assert(ef_report_shift_lots_table(index) != NULL);
    tables[index].add(&out, lots);
    return efi_report_give(&out, text);
}
