/* SPDX-License-Identifier: GPL-3.0-or-later
 * A shift as text for a manager. */
#include "base/display.h"
#include "report/report.h"

#include <evenfeed/shift.h>
#include <math.h>

enum {
    WIDTH = 100,
    BAR = 40,
    MOST_REMEDIES = 8
};
#define LEAST_SHARE_SHOWN 0.0005

static void add_tonnes(efi_text *out, const efi_display *display, double tonnes)
{
    efi_display_add(out, display, tonnes);
}

static void add_percent(efi_text *out, double share, int decimals)
{
    efi_number_add_fixed(out, share * 100.0, decimals);
    efi_text_add(out, " %");
}

/* The state of the line's account that takes most hours without being full rate; -1 when there is none. */
static int worst_state(const ef_shift *shift)
{
    const double *state_h = shift->stations[shift->account].state_h;
    int worst = -1;
    for (int s = 1; s < shift->state_count; s++)
        if (worst < 0 || state_h[s] > state_h[worst])
            worst = s;
    return worst >= 0 && state_h[worst] / shift->shift_h >= LEAST_SHARE_SHOWN ? worst : -1;
}

static void add_headline(efi_text *out, const ef_shift *shift, const efi_display *t)
{
    efi_text words = {0};
    efi_text_addf(&words, "On %s a shift of ", shift->crop);
    efi_display_add_duration(&words, shift->shift_h);
    efi_text_add(&words, " makes ");
    add_tonnes(&words, t, shift->product.p50_t.value);
    efi_text_add(&words, " of product in the middle, ");
    add_tonnes(&words, t, shift->product.p10_t.value);
    efi_text_add(&words, " in a poor one and ");
    add_tonnes(&words, t, shift->product.p90_t.value);
    efi_text_add(&words, " in a good one. Without stops it would make ");
    add_tonnes(&words, t, shift->balance_product_t);
    efi_text_add(&words, ".");
    const ef_shift_station *account = &shift->stations[shift->account];
    const int worst = worst_state(shift);
    if (worst >= 0) {
        efi_text_addf(&words, " Most lost hours of %s go to: %s, ", account->name, shift->states[worst]);
        efi_display_add_duration(&words, account->state_h[worst]);
        efi_text_add(&words, " a shift.");
    }
    efi_report_wrap(out, efi_text_get(&words), 0, WIDTH);
    efi_text_free(&words);
}

/* ---- streams --------------------------------------------------------------------------------------------
 */

static void add_estimate(efi_table *table, const efi_display *t, ef_shift_estimate estimate)
{
    efi_text cell = {0};
    efi_display_add_number(&cell, t, estimate.value);
    if (isfinite(estimate.low) && isfinite(estimate.high)) {
        efi_text_add(&cell, " (");
        efi_display_add_number(&cell, t, estimate.low);
        efi_text_add(&cell, "-");
        efi_display_add_number(&cell, t, estimate.high);
        efi_text_add(&cell, ")");
    }
    efi_table_add(table, efi_text_get(&cell));
    efi_text_free(&cell);
}

static void add_stream(efi_table *table, const efi_display *t, const ef_shift_stream *stream)
{
    efi_table_add(table, stream->name);
    add_estimate(table, t, stream->p10_t);
    add_estimate(table, t, stream->p50_t);
    add_estimate(table, t, stream->p90_t);
    add_estimate(table, t, stream->mean_t);
}

static void add_streams(efi_text *out, const ef_shift *shift, const efi_display *t)
{
    efi_text_addf(out, "  A shift's amounts in %s, with 95 %% confidence limits\n", t->name);
    efi_table table = {.columns = 5, .align = "lrrrr"};
    static const char *const heading[] = {"Stream", "Poor (P10)", "Middle (P50)", "Good (P90)", "Mean"};
    for (int i = 0; i < table.columns; i++)
        efi_table_add(&table, heading[i]);
    add_stream(&table, t, &shift->intake);
    add_stream(&table, t, &shift->product);
    for (int o = 0; o < shift->outlet_count; o++)
        add_stream(&table, t, &shift->outlets[o]);
    efi_table_print(&table, out, 2, true);
    efi_text_add(out, "\n");
}

static void add_histogram(efi_text *out, const ef_shift *shift, const efi_display *t)
{
    int most = 1;
    for (int c = 0; c < shift->histogram_count; c++)
        most = shift->histogram[c] > most ? shift->histogram[c] : most;
    if (!(shift->histogram_width_t > 0.0))
        return;
    efi_text_addf(out, "  Shifts by product, in %s\n", t->name);
    efi_table table = {.columns = 3, .align = "rrl"};
    for (int c = 0; c < shift->histogram_count; c++) {
        const double from = shift->histogram_from_t + c * shift->histogram_width_t;
        efi_text cell = {0};
        efi_display_add_number(&cell, t, from);
        efi_text_add(&cell, "-");
        efi_display_add_number(&cell, t, from + shift->histogram_width_t);
        efi_table_add(&table, efi_text_get(&cell));
        efi_text_free(&cell);
        efi_table_addf(&table, "%d", shift->histogram[c]);
        efi_text bar = {0};
        efi_text_fill(&bar, '#', (int)((double)shift->histogram[c] / most * BAR + 0.5));
        efi_table_add(&table, efi_text_get(&bar));
        efi_text_free(&bar);
    }
    efi_table_print(&table, out, 2, false);
    efi_text_add(out, "\n");
}

/* ---- hours ----------------------------------------------------------------------------------------------
 */

static void add_account(efi_text *out, const ef_shift *shift)
{
    const ef_shift_station *account = &shift->stations[shift->account];
    efi_text_addf(out, "  Where the hours go, by %s, whose account is the line's\n", account->name);
    efi_table table = {.columns = 3, .align = "lrr"};
    for (int s = 0; s < shift->state_count; s++) {
        if (account->state_h[s] / shift->shift_h < LEAST_SHARE_SHOWN)
            continue;
        efi_text cell = {0};
        efi_table_add(&table, shift->states[s]);
        efi_display_add_duration(&cell, account->state_h[s]);
        efi_table_add(&table, efi_text_get(&cell));
        cell.length = 0;
        add_percent(&cell, account->state_h[s] / shift->shift_h, 1);
        efi_table_add(&table, efi_text_get(&cell));
        efi_text_free(&cell);
    }
    efi_table_print(&table, out, 2, false);
    efi_text words = {0};
    efi_text_add(&words, "Availability ");
    add_percent(&words, shift->availability, 1);
    efi_text_add(&words, ", performance ");
    add_percent(&words, shift->performance, 1);
    efi_text_add(&words, ", quality ");
    add_percent(&words, shift->quality, 1);
    efi_text_add(&words, ": effectiveness ");
    add_percent(&words, shift->effectiveness, 1);
    efi_text_add(&words, " (ISO 22400-2; what goes back in warm-up counts as not good).");
    efi_report_wrap(out, efi_text_get(&words), 2, WIDTH);
    efi_text_free(&words);
    efi_text_add(out, "\n");
}

/* ---- remedies -------------------------------------------------------------------------------------------
 */

static void add_remedies(efi_text *out, const ef_shift *shift, const efi_display *t)
{
    if (shift->remedy_count == 0)
        return;
    efi_text_add(out, "  What to mend first: product a shift gained, on the same random numbers\n");
    efi_table table = {.columns = 2, .align = "lr"};
    efi_table_add(&table, "Mend");
    efi_table_addf(&table, "Gain in %s", t->name);
    for (int i = 0; i < shift->remedy_count && i < MOST_REMEDIES; i++) {
        const ef_shift_remedy *remedy = &shift->remedies[i];
        if (remedy->stop)
            efi_table_addf(&table, "%s: %s half as long%s", remedy->station, remedy->stop,
                           remedy->held_by_lockout ? ", or as short as lock-out allows" : "");
        else
            efi_table_addf(&table, "%s half as large again", remedy->station);
        add_estimate(&table, t, remedy->gain_t);
    }
    efi_table_print(&table, out, 2, true);
    efi_text_add(out, "\n");
}

static const char caution[] = "Stops cannot be shortened below what isolating, locking and, where somebody "
                              "enters a bin, the permit and its air tests "
                              "take; local rules come first.";

ef_status ef_report_shift_text(const ef_shift *shift, ef_units units, char **text)
{
    efi_text out = {0};
    const efi_display t = efi_display_choose(EFI_KIND_MASS, units, shift->intake.p90_t.value,
                                             shift->trade_weight_tpbu, NULL);
    efi_text_addf(&out, "%s: %s, %d shifts, seed %llu\n\n", shift->plant, shift->scenario_file, shift->runs,
                  (unsigned long long)shift->seed);
    add_headline(&out, shift, &t);
    efi_text words = {0};
    efi_text_add(&words, "For planning: ");
    efi_display_add_alone(&words, EFI_KIND_MASS_RATE, units, shift->planning_rate_tph,
                          shift->trade_weight_tpbu, NULL);
    efi_text_add(&words, " of intake, stops included.");
    efi_report_wrap(&out, efi_text_get(&words), 0, WIDTH);
    efi_text_free(&words);
    efi_text_add(&out, "\n");
    add_streams(&out, shift, &t);
    add_account(&out, shift);
    add_remedies(&out, shift, &t);
    add_histogram(&out, shift, &t);
    efi_text notes = {0};
    efi_text_add(&notes, "Each shift was simulated on its own after a warm-up of ");
    efi_display_add_duration(&notes, shift->warm_up_h);
    efi_text_add(&notes,
                 ", with the stops of the scenario; no breaks, crews or changes of lot are counted. ");
    efi_text_add(&notes, caution);
    efi_report_wrap(&out, efi_text_get(&notes), 0, WIDTH);
    efi_text_free(&notes);
    return efi_report_give(&out, text);
}
