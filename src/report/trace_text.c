/* SPDX-License-Identifier: GPL-3.0-or-later
 * A trace as text for a terminal, and as CSV. */
#include "base/display.h"
#include "report/csv_text.h"
#include "report/report.h"

#include <evenfeed/trace.h>
#include <math.h>

enum {
    WIDTH = 100,
    PICTURE = 60, /* columns of the picture of levels */
    STEPS = 8     /* heights of a block */
};

static void add_percent(efi_text *out, double share, int decimals)
{
    efi_number_add_fixed(out, share * 100.0, decimals);
    efi_text_add(out, " %");
}

/* "2:07:13" */
static void add_clock(efi_text *out, double hours)
{
    const long long seconds = llround(hours * 3600.0);
    efi_text_addf(out, "%lld:%02lld:%02lld", seconds / 3600, seconds / 60 % 60, seconds % 60);
}

/* ---- the picture ----------------------------------------------------------------------------------------
 */

/* Level of a bin at a moment, on the straight line between the moments at which it is known. `*from` is where
 * the search begins, and goes on from there. */
static double level_at(const ef_trace *trace, int bin, double at_h, int *from)
{
    while (*from + 2 < trace->level_count && trace->level_h[*from + 1] <= at_h)
        (*from)++;
    const int i = *from;
    const size_t bins = (size_t)trace->bin_count;
    const double here = trace->level_t[(size_t)i * bins + (size_t)bin];
    if (i + 1 >= trace->level_count)
        return here;
    const double there = trace->level_t[(size_t)(i + 1) * bins + (size_t)bin];
    const double span = trace->level_h[i + 1] - trace->level_h[i];
    return span > 0.0 ? here + (there - here) * (at_h - trace->level_h[i]) / span : here;
}

static void add_picture(efi_text *out, const ef_trace *trace, int bin)
{
    static const char *const blocks[STEPS + 1] = {"_", "▁", "▂", "▃", "▄", "▅", "▆", "▇", "█"};
    int from = 0;
    for (int column = 0; column < PICTURE; column++) {
        const double at_h = trace->hours * (column + 0.5) / PICTURE;
        const double share = level_at(trace, bin, at_h, &from) / trace->bins[bin].full_t;
        const int step = share <= 0.0 ? 0 : share >= 1.0 ? STEPS : 1 + (int)(share * (STEPS - 1));
        efi_text_add(out, blocks[step]);
    }
}

static void add_bins(efi_text *out, const ef_trace *trace, ef_units units)
{
    efi_text words = {0};
    efi_text_add(&words, "Levels of the bins, from the start to the end; each column is ");
    efi_display_add_duration(&words, trace->hours / PICTURE);
    efi_text_add(&words, ", _ is empty and █ full");
    efi_report_wrap(out, efi_text_get(&words), 0, WIDTH);
    efi_text_free(&words);
    efi_table table = {.columns = 5, .align = "llrrr"};
    static const char *const heading[] = {"Bin", "Level", "Full", "Mean", "Empty for"};
    for (int i = 0; i < table.columns; i++)
        efi_table_add(&table, heading[i]);
    for (int b = 0; b < trace->bin_count; b++) {
        const ef_trace_bin *bin = &trace->bins[b];
        efi_text cell = {0};
        efi_table_add(&table, bin->name);
        add_picture(&cell, trace, b);
        efi_table_add(&table, efi_text_get(&cell));
        cell.length = 0;
        efi_display_add_alone(&cell, EFI_KIND_MASS, units, bin->full_t, trace->trade_weight_tpbu, NULL);
        efi_table_add(&table, efi_text_get(&cell));
        cell.length = 0;
        add_percent(&cell, bin->mean_t / bin->full_t, 0);
        efi_table_add(&table, efi_text_get(&cell));
        cell.length = 0;
        efi_display_add_duration(&cell, bin->empty_h);
        efi_table_add(&table, efi_text_get(&cell));
        efi_text_free(&cell);
    }
    efi_table_print(&table, out, 2, true);
    efi_text_add(out, "\n");
}

/* ---- stations -------------------------------------------------------------------------------------------
 */

/* What a station did, most first: "full rate 81 %, starved 12 %". */
static void add_states(efi_text *out, const ef_trace *trace, const ef_trace_station *station)
{
    bool first = true;
    double last = INFINITY;
    int last_index = -1;
    for (int said = 0; said < trace->state_count; said++) {
        int best = -1;
        for (int s = 0; s < trace->state_count; s++) {
            const double hours = station->state_h[s];
            const bool left = hours < last || (hours == last && s > last_index);
            if (left && (best < 0 || hours > station->state_h[best]))
                best = s;
        }
        if (best < 0 || !(station->state_h[best] / trace->hours >= 0.0005))
            return;
        efi_text_addf(out, "%s%s ", first ? "" : ", ", trace->states[best]);
        add_percent(out, station->state_h[best] / trace->hours, 1);
        first = false;
        last = station->state_h[best];
        last_index = best;
    }
}

static void add_stations(efi_text *out, const ef_trace *trace, ef_units units)
{
    efi_table table = {.columns = 3, .align = "lrl"};
    efi_table_add(&table, "Station");
    efi_table_add(&table, "Taken");
    efi_table_add(&table, "Of the time");
    for (int s = 0; s < trace->station_count; s++) {
        const ef_trace_station *station = &trace->stations[s];
        efi_text cell = {0};
        efi_table_add(&table, station->name);
        efi_display_add_alone(&cell, EFI_KIND_MASS, units, station->taken_t, trace->trade_weight_tpbu, NULL);
        efi_table_add(&table, efi_text_get(&cell));
        cell.length = 0;
        add_states(&cell, trace, station);
        efi_table_add(&table, efi_text_get(&cell));
        efi_text_free(&cell);
    }
    efi_table_print(&table, out, 2, true);
    efi_text_add(out, "\n");
}

static void add_steady(efi_text *out, const ef_trace *trace, ef_units units)
{
    for (int s = 0; s < trace->station_count; s++) {
        const ef_trace_station *station = &trace->stations[s];
        if (!station->steady_feed)
            continue;
        efi_text words = {0};
        efi_text_addf(&words, "%s, set to ", station->name);
        efi_display_add_alone(&words, EFI_KIND_MASS_RATE, units, station->set_rate_tph,
                              trace->trade_weight_tpbu, NULL);
        efi_text_add(&words, ", was short of ");
        efi_display_add_alone(&words, EFI_KIND_MASS, units, station->shortfall_t, trace->trade_weight_tpbu,
                              NULL);
        efi_text_add(&words, " while it was not stopped, and ran outside its band for ");
        efi_display_add_duration(&words, station->out_of_band_h);
        efi_text_add(&words, ".");
        efi_report_wrap(out, efi_text_get(&words), 0, WIDTH);
        efi_text_free(&words);
    }
}

/* ---- events ---------------------------------------------------------------------------------------------
 */

static void add_events(efi_text *out, const ef_trace *trace, int most)
{
    const int shown = trace->event_count < most ? trace->event_count : most;
    if (shown == 0)
        return;
    efi_table table = {.columns = 3, .align = "rll"};
    efi_table_add(&table, "At");
    efi_table_add(&table, "Station");
    efi_table_add(&table, "What");
    for (int e = 0; e < shown; e++) {
        const ef_trace_event *event = &trace->events[e];
        efi_text cell = {0};
        add_clock(&cell, event->at_h);
        efi_table_add(&table, efi_text_get(&cell));
        efi_text_free(&cell);
        if (event->machine > 0)
            efi_table_addf(&table, "%s, machine %d", event->station, event->machine);
        else
            efi_table_add(&table, event->station);
        efi_table_addf(&table, "%s%s%s%s", event->what, event->cause ? " (" : "",
                       event->cause ? event->cause : "", event->cause ? ")" : "");
    }
    efi_table_print(&table, out, 2, true);
    if (trace->event_count > shown || trace->events_cut)
        efi_text_addf(out, "  ... and %s%d more; --events N shows more, --csv DIR writes all\n",
                      trace->events_cut ? "at least " : "", trace->event_count - shown);
    efi_text_add(out, "\n");
}

static void add_headline(efi_text *out, const ef_trace *trace, ef_units units)
{
    efi_text words = {0};
    efi_text_addf(&words, "%s: ", trace->crop);
    efi_display_add_duration(&words, trace->hours);
    efi_text_add(&words, " took in ");
    efi_display_add_alone(&words, EFI_KIND_MASS, units, trace->intake_t, trace->trade_weight_tpbu, NULL);
    efi_text_add(&words, " and made ");
    efi_display_add_alone(&words, EFI_KIND_MASS, units, trace->product_t, trace->trade_weight_tpbu, NULL);
    efi_text_add(&words, " of product: ");
    efi_display_add_alone(&words, EFI_KIND_MASS_RATE, units, trace->intake_t / trace->hours,
                          trace->trade_weight_tpbu, NULL);
    efi_text_add(&words, " at the intake, against ");
    efi_display_add_alone(&words, EFI_KIND_MASS_RATE, units, trace->balance_tph, trace->trade_weight_tpbu,
                          NULL);
    efi_text_add(&words, " in the steady balance without stops.");
    efi_report_wrap(out, efi_text_get(&words), 0, WIDTH);
    efi_text_free(&words);
}

static const char notes[] = "This is one stretch of chance, not an average: another seed gives another. "
                            "Flows are exact between events; times are "
                            "hours, minutes and seconds from the start.";

ef_status ef_report_trace_text(const ef_trace *trace, ef_units units, int most_events, char **text)
{
    efi_text out = {0};
    efi_text_addf(&out, "%s: %s, seed %llu\n\n", trace->plant, trace->scenario_file,
                  (unsigned long long)trace->seed);
    add_headline(&out, trace, units);
    add_steady(&out, trace, units);
    efi_text_add(&out, "\n");
    if (trace->bin_count > 0)
        add_bins(&out, trace, units);
    add_stations(&out, trace, units);
    add_events(&out, trace, most_events);
    efi_report_wrap(&out, notes, 0, WIDTH);
    return efi_report_give(&out, text);
}

/* ---- CSV ------------------------------------------------------------------------------------------------
 */

ef_status ef_report_trace_events_csv(const ef_trace *trace, char **text)
{
    efi_text out = {0};
    efi_text_add(&out, "at_h,station,machine,what,cause\n");
    for (int e = 0; e < trace->event_count; e++) {
        const ef_trace_event *event = &trace->events[e];
        efi_csv_add_number(&out, event->at_h);
        efi_csv_next(&out);
        efi_csv_add_text(&out, event->station);
        efi_csv_next(&out);
        if (event->machine > 0)
            efi_text_addf(&out, "%d", event->machine);
        efi_csv_next(&out);
        efi_csv_add_text(&out, event->what);
        efi_csv_next(&out);
        if (event->cause)
            efi_csv_add_text(&out, event->cause);
        efi_csv_end(&out);
    }
    return efi_report_give(&out, text);
}

ef_status ef_report_trace_levels_csv(const ef_trace *trace, char **text)
{
    efi_text out = {0};
    efi_text_add(&out, "at_h");
    for (int b = 0; b < trace->bin_count; b++) {
        efi_text heading = {0};
        efi_text_addf(&heading, "%s [t]", trace->bins[b].name);
        efi_csv_next(&out);
        efi_csv_add_text(&out, efi_text_get(&heading));
        efi_text_free(&heading);
    }
    efi_csv_end(&out);
    for (int i = 0; i < trace->level_count; i++) {
        efi_csv_add_number(&out, trace->level_h[i]);
        for (int b = 0; b < trace->bin_count; b++) {
            efi_csv_next(&out);
            efi_csv_add_number(&out, trace->level_t[(size_t)i * (size_t)trace->bin_count + (size_t)b]);
        }
        efi_csv_end(&out);
    }
    return efi_report_give(&out, text);
}
