/* SPDX-License-Identifier: GPL-3.0-or-later
 * A list of lots as tables for a spreadsheet. */
#include "base/date.h"
#include "report/csv_text.h"
#include "report/report.h"

static void add_text(efi_text *out, const char *words)
{
    efi_csv_add_text(out, words ? words : "");
    efi_csv_next(out);
}

static void add_number(efi_text *out, double value)
{
    efi_csv_add_number(out, value);
    efi_csv_next(out);
}

static void add_last(efi_text *out, double value)
{
    efi_csv_add_number(out, value);
    efi_csv_end(out);
}

static void add_outlet_titles(efi_text *out, const ef_shift_lots *lots)
{
    for (int o = 0; o < lots->outlet_count; o++) {
        efi_text heading = {0};
        efi_text_addf(&heading, "%s [t]", lots->outlets[o]);
        efi_csv_next(out);
        efi_csv_add_text(out, efi_text_get(&heading));
        efi_text_free(&heading);
    }
    efi_text_add(out, "\n");
}

static void add_spread(efi_text *out, const ef_shift_spread *spread)
{
    add_number(out, spread->p10.value);
    add_number(out, spread->p50.value);
    add_number(out, spread->p90.value);
    add_number(out, spread->mean.value);
}

static void add_lots(efi_text *out, const ef_shift_lots *lots)
{
    efi_text_add(out,
                 "lot,crop,tonnes_t,product_t,rule,clean_h,flush_t,balance_tph,begin_p10_h,begin_p50_h,"
                 "begin_p90_h,begin_mean_h,end_p10_h,end_p50_h,end_p90_h,end_mean_h,work_p10_h,work_p50_h,"
                 "work_p90_h,work_mean_h,rate_tph\n");
    for (int k = 0; k < lots->lot_count; k++) {
        const ef_shift_lot *lot = &lots->lots[k];
        add_text(out, lot->name);
        add_text(out, lot->crop);
        add_number(out, lot->tonnes_t);
        add_number(out, lot->product_t);
        add_text(out, lot->rule);
        add_number(out, lot->clean_h);
        add_number(out, lot->flush_t);
        add_number(out, lot->balance_tph);
        add_spread(out, &lot->begin_h);
        add_spread(out, &lot->end_h);
        add_spread(out, &lot->work_h);
        add_last(out, lot->rate_tph);
    }
}

/* Every lot of every run. */
static void add_runs(efi_text *out, const ef_shift_lots *lots)
{
    efi_text_add(out, "run,lot,begin_h,end_h,intake_t");
    add_outlet_titles(out, lots);
    for (int i = 0; i < lots->runs * lots->lot_count; i++) {
        efi_text_addf(out, "%d,", i / lots->lot_count + 1);
        add_text(out, lots->lots[i % lots->lot_count].name);
        add_number(out, lots->begin_h[i]);
        add_number(out, lots->end_h[i]);
        efi_csv_add_number(out, lots->in_t[i]);
        for (int o = 0; o < lots->outlet_count; o++) {
            efi_csv_next(out);
            efi_csv_add_number(out, lots->outlet_t[i * lots->outlet_count + o]);
        }
        efi_csv_end(out);
    }
}

/* Every shift of every run that lies within the list in all of them. */
static void add_shifts(efi_text *out, const ef_shift_lots *lots)
{
    const int count = lots->runs * lots->period_count;
    efi_text_add(out, "run,shift,date,from_h,to_h,work_h,intake_t");
    add_outlet_titles(out, lots);
    for (int i = 0; i < count; i++) {
        const ef_shift_period *period = &lots->periods[i % lots->period_count];
        efi_text_addf(out, "%d,", i / lots->period_count + 1);
        add_text(out, period->name);
        if (lots->on_calendar)
            efi_date_add(out, period->day);
        efi_csv_next(out);
        add_number(out, period->from_h);
        add_number(out, period->to_h);
        add_number(out, period->work_h);
        efi_csv_add_number(out, lots->shift_intake_t[i]);
        for (int o = 0; o < lots->outlet_count; o++) {
            efi_csv_next(out);
            efi_csv_add_number(out, lots->shift_outlet_t[(size_t)o * (size_t)count + (size_t)i]);
        }
        efi_csv_end(out);
    }
}

static void add_hours(efi_text *out, const ef_shift_lots *lots)
{
    efi_text_add(out, "station,hours,mean_h\n");
    for (int s = 0; s < lots->station_count; s++) {
        for (int h = 0; h < EF_SHIFT_HOURS_COUNT; h++) {
            add_text(out, lots->stations[s].name);
            add_text(out, ef_shift_hours_word((ef_shift_hours)h));
            add_last(out, lots->stations[s].hours[h]);
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
