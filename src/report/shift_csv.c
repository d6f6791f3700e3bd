/* SPDX-License-Identifier: GPL-3.0-or-later
 * A shift as tables for a spreadsheet. */
#include "base/date.h"
#include "report/csv_text.h"
#include "report/report.h"

#include <evenfeed/shift.h>

static void add_text(efi_text *out, const char *words)
{
    efi_csv_add_text(out, words);
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

static void add_estimate(efi_text *out, ef_shift_estimate estimate)
{
    add_number(out, estimate.value);
    add_number(out, estimate.low);
    add_number(out, estimate.high);
}

/* Every simulated shift. */
static void add_shifts(efi_text *out, const ef_shift *shift)
{
    efi_text_add(out, "run,shift,date,from_h,to_h,intake_t");
    for (int o = 0; o < shift->outlet_count; o++) {
        efi_text heading = {0};
        efi_text_addf(&heading, "%s [t]", shift->outlets[o]);
        efi_csv_next(out);
        efi_csv_add_text(out, efi_text_get(&heading));
        efi_text_free(&heading);
    }
    efi_text_add(out, ",stock_gain_t\n");
    const size_t shifts = (size_t)shift->runs * (size_t)shift->period_count;
    for (size_t i = 0; i < shifts; i++) {
        const ef_shift_period *period = &shift->periods[i % (size_t)shift->period_count];
        efi_text_addf(out, "%zu,", i / (size_t)shift->period_count + 1);
        add_text(out, period->name);
        if (shift->on_calendar)
            efi_date_add(out, period->day);
        efi_csv_next(out);
        add_number(out, period->from_h);
        add_number(out, period->to_h);
        add_number(out, shift->intake_t[i]);
        for (int o = 0; o < shift->outlet_count; o++)
            add_number(out, shift->outlet_t[(size_t)o * shifts + i]);
        add_last(out, shift->stock_t[i]);
    }
}

static void add_amounts(efi_text *out, const ef_shift *shift)
{
    efi_text_add(
        out, "of,per_run,work_h,stream,p10_t,p10_low_t,p10_high_t,p50_t,p50_low_t,p50_high_t,p90_t,p90_low_t,"
             "p90_high_t,mean_t,mean_low_t,mean_high_t\n");
    for (int g = 0; g < shift->group_count; g++) {
        const ef_shift_group *group = &shift->groups[g];
        for (int s = 0; s < group->stream_count; s++) {
            const ef_shift_stream *stream = &group->streams[s];
            add_text(out, group->sort == EF_SHIFT_ALL ? "all shifts" : group->name);
            efi_text_addf(out, "%d,", group->per_run);
            add_number(out, group->work_h);
            add_text(out, stream->name);
            add_estimate(out, stream->p10_t);
            add_estimate(out, stream->p50_t);
            add_estimate(out, stream->p90_t);
            add_number(out, stream->mean_t.value);
            add_number(out, stream->mean_t.low);
            add_last(out, stream->mean_t.high);
        }
    }
}

static void add_hours(efi_text *out, const ef_shift *shift)
{
    efi_text_add(out, "station,taken_t");
    for (int h = 0; h < EF_SHIFT_HOURS_COUNT; h++)
        efi_text_addf(out, ",%s [h]", ef_shift_hours_word((ef_shift_hours)h));
    efi_text_add(out, ",of own stop: planned [h],of start-up: warming up [h]\n");
    for (int s = 0; s < shift->station_count; s++) {
        const ef_shift_station *station = &shift->stations[s];
        add_text(out, station->name);
        add_number(out, station->taken_t);
        for (int h = 0; h < EF_SHIFT_HOURS_COUNT; h++)
            add_number(out, station->hours[h]);
        add_number(out, station->planned_h);
        add_last(out, station->warming_h);
    }
}

static void add_cost(efi_text *out, const ef_shift *shift)
{
    const ef_shift_cost *cost = &shift->cost;
    const double per = cost->product_t > 0.0 ? 1.0 / cost->product_t : 0.0;
    const struct {
        const char *what;
        double money;
    } terms[] = {{"power", cost->power},
                 {"crew", cost->crew},
                 {"shrink", cost->shrink},
                 {"less rejects", -cost->rejects},
                 {"together", cost->total}};
    efi_text_add(out, "what,");
    efi_csv_add_text(out, *shift->currency ? shift->currency : "money");
    efi_text_addf(out, ",%s for each t of product\n", *shift->currency ? shift->currency : "money");
    for (size_t i = 0; i < EF_COUNT(terms); i++) {
        add_text(out, terms[i].what);
        add_number(out, terms[i].money);
        add_last(out, terms[i].money * per);
    }
}

static void add_levels(efi_text *out, const ef_shift *shift)
{
    efi_text_add(out, "bin,at_h,p10_t,p50_t,p90_t\n");
    for (int b = 0; b < shift->bin_count; b++) {
        for (int g = 0; g < shift->grid_count; g++) {
            add_text(out, shift->bins[b].name);
            add_number(out, shift->grid_h[g]);
            add_number(out, shift->bins[b].p10_t[g]);
            add_number(out, shift->bins[b].p50_t[g]);
            add_last(out, shift->bins[b].p90_t[g]);
        }
    }
}

static void add_sample(efi_text *out, const ef_shift *shift)
{
    efi_text_add(out, "bin,at_h,level_t\n");
    for (int b = 0; b < shift->bin_count; b++) {
        for (int i = 0; i < shift->sample_count; i++) {
            add_text(out, shift->bins[b].name);
            add_number(out, shift->sample_h[i]);
            add_last(out, shift->bins[b].sample_t[i]);
        }
    }
}

static void add_remedies(efi_text *out, const ef_shift *shift)
{
    efi_text_add(out, "station,stop,unit,now,then,held_by_lockout,gain_t,gain_low_t,gain_high_t\n");
    for (int i = 0; i < shift->remedy_count; i++) {
        const ef_shift_remedy *remedy = &shift->remedies[i];
        add_text(out, remedy->station);
        add_text(out, remedy->stop ? remedy->stop : "");
        add_text(out, remedy->stop ? "h" : "t");
        add_number(out, remedy->now);
        add_number(out, remedy->then);
        add_text(out, remedy->held_by_lockout ? "yes" : "no");
        add_number(out, remedy->gain_t.value);
        add_number(out, remedy->gain_t.low);
        add_last(out, remedy->gain_t.high);
    }
}

static const struct {
    const char *file;
    void (*add)(efi_text *out, const ef_shift *shift);
} tables[] = {{"amounts.csv", add_amounts},  {"cost.csv", add_cost},     {"hours.csv", add_hours},
              {"levels.csv", add_levels},    {"sample.csv", add_sample}, {"shifts.csv", add_shifts},
              {"remedies.csv", add_remedies}};

const char *ef_report_shift_table(int index)
{
    return index >= 0 && (size_t)index < EF_COUNT(tables) ? tables[index].file : NULL;
}

ef_status ef_report_shift_csv(const ef_shift *shift, int index, char **text)
{
    efi_text out = {0};
    assert(ef_report_shift_table(index) != NULL);
    tables[index].add(&out, shift);
    return efi_report_give(&out, text);
}
