/* SPDX-License-Identifier: GPL-3.0-or-later
 * A shift as tables for a spreadsheet. */
#include "base/date.h"
#include "report/csv_text.h"
#include "report/report.h"

#include <evenfeed/shift.h>

static void add_estimate(efi_text *out, ef_shift_estimate estimate)
{
    efi_csv_number_next(out, estimate.value);
    efi_csv_number_next(out, estimate.low);
    efi_csv_number_next(out, estimate.high);
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
        efi_csv_text_next(out, period->name);
        if (shift->on_calendar)
            efi_date_add(out, period->day);
        efi_csv_next(out);
        efi_csv_number_next(out, period->from_h);
        efi_csv_number_next(out, period->to_h);
        efi_csv_number_next(out, shift->intake_t[i]);
        for (int o = 0; o < shift->outlet_count; o++)
            efi_csv_number_next(out, shift->outlet_t[(size_t)o * shifts + i]);
        efi_csv_number_end(out, shift->stock_t[i]);
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
            efi_csv_text_next(out, group->sort == EF_SHIFT_ALL ? "all shifts" : group->name);
            efi_text_addf(out, "%d,", group->per_run);
            efi_csv_number_next(out, group->work_h);
            efi_csv_text_next(out, stream->name);
            add_estimate(out, stream->p10_t);
            add_estimate(out, stream->p50_t);
            add_estimate(out, stream->p90_t);
            efi_csv_number_next(out, stream->mean_t.value);
            efi_csv_number_next(out, stream->mean_t.low);
            efi_csv_number_end(out, stream->mean_t.high);
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
        efi_csv_text_next(out, station->name);
        efi_csv_number_next(out, station->taken_t);
        for (int h = 0; h < EF_SHIFT_HOURS_COUNT; h++)
            efi_csv_number_next(out, station->hours[h]);
        efi_csv_number_next(out, station->planned_h);
        efi_csv_number_end(out, station->warming_h);
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
        efi_csv_text_next(out, terms[i].what);
        efi_csv_number_next(out, terms[i].money);
        efi_csv_number_end(out, terms[i].money * per);
    }
}

static void add_levels(efi_text *out, const ef_shift *shift)
{
    efi_text_add(out, "bin,at_h,p10_t,p50_t,p90_t\n");
    for (int b = 0; b < shift->bin_count; b++) {
        for (int g = 0; g < shift->grid_count; g++) {
            efi_csv_text_next(out, shift->bins[b].name);
            efi_csv_number_next(out, shift->grid_h[g]);
            efi_csv_number_next(out, shift->bins[b].p10_t[g]);
            efi_csv_number_next(out, shift->bins[b].p50_t[g]);
            efi_csv_number_end(out, shift->bins[b].p90_t[g]);
        }
    }
}

static void add_sample(efi_text *out, const ef_shift *shift)
{
    efi_text_add(out, "bin,at_h,level_t\n");
    for (int b = 0; b < shift->bin_count; b++) {
        for (int i = 0; i < shift->sample_count; i++) {
            efi_csv_text_next(out, shift->bins[b].name);
            efi_csv_number_next(out, shift->sample_h[i]);
            efi_csv_number_end(out, shift->bins[b].sample_t[i]);
        }
    }
}

static void add_remedies(efi_text *out, const ef_shift *shift)
{
    efi_text_add(out, "station,stop,unit,now,then,held_by_lockout,gain_t,gain_low_t,gain_high_t\n");
    for (int i = 0; i < shift->remedy_count; i++) {
        const ef_shift_remedy *remedy = &shift->remedies[i];
        efi_csv_text_next(out, remedy->station);
        efi_csv_text_next(out, remedy->stop ? remedy->stop : "");
        efi_csv_text_next(out, remedy->stop ? "h" : "t");
        efi_csv_number_next(out, remedy->now);
        efi_csv_number_next(out, remedy->then);
        efi_csv_text_next(out, remedy->held_by_lockout ? "yes" : "no");
        efi_csv_number_next(out, remedy->gain_t.value);
        efi_csv_number_next(out, remedy->gain_t.low);
        efi_csv_number_end(out, remedy->gain_t.high);
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
