/* SPDX-License-Identifier: GPL-3.0-or-later
 * The verifier of lists of lots on a plant of several lines: who runs what, and what the lines make together.
 */
#include "base/memory.h"
#include "shared/verify/season.h"
#include "shared/verify/shift_lots.h"

#include <math.h>
#include <string.h>

/* Hours by which a lot may be dealt to another line than the one that would be done first: rounding. */
#define DEAL_H 1e-6
/* Parts of a station may miss the whole by this. */
#define PARTS 1e-9

static int find_lot(const efi_lots_check *c, const char *name)
{
    return efi_index_find(&c->scenario->lot_index, name, strlen(name));
}

/* ---- who runs what --------------------------------------------------------------------------------------
 */

/* Every line once, with a list or without; no lot on two of them; the others counted. */
static void check_lines(const efi_lots_check *c)
{
    const ef_shift_lots *claim = c->claim;
    int lots = 0;
    for (int i = 0; i < claim->line_count; i++) {
        lots += claim->lines[i].lot_count;
        for (int j = 0; j < i; j++)
            if (strcmp(claim->lines[i].line, claim->lines[j].line) == 0)
                efi_differ(c->list, "line %s has two lists", claim->lines[i].line);
        for (int j = 0; j < claim->idle_line_count; j++)
            if (strcmp(claim->lines[i].line, claim->idle_lines[j]) == 0)
                efi_differ(c->list, "line %s has lots and has none", claim->lines[i].line);
    }
    efi_differ_count(c->list, "the lines", claim->line_count + claim->idle_line_count,
                     c->scenario->line_count);
    efi_differ_count(c->list, "the lots", claim->lot_count, lots);
    efi_differ_count(c->list, "lots left out", claim->left_out, c->scenario->lot_count - lots);
}

/* The list and place of each lot of the scenario, shape [lots]; line -1: it is in none. */
typedef struct place {
    int line, lot;
} place;

static void find_places(const efi_lots_check *c, place *places)
{
    for (int l = 0; l < c->scenario->lot_count; l++)
        places[l] = (place){-1, -1};
    for (int i = 0; i < c->claim->line_count; i++)
        for (int k = 0; k < c->claim->lines[i].lot_count; k++) {
            const int l = find_lot(c, c->claim->lines[i].lots[k].name);
            if (l >= 0 && places[l].line >= 0)
                efi_differ(c->list, "lot %s is on two lines", c->scenario->lots[l].name);
            if (l >= 0)
                places[l] = (place){i, k};
        }
    for (int l = 0; l < c->scenario->lot_count && !c->claim->by_plan; l++)
        if ((c->scenario->lots[l].state == EFI_LOT_WAITING) != (places[l].line >= 0))
            efi_differ(c->list, "lot %s is %s", c->scenario->lots[l].name,
                       places[l].line >= 0 ? "not waiting" : "waiting and on no line");
}

/* The rate of a crop on a line, by any of its lots there; 0: it has none. */
static double rate_of(const ef_shift_lots *line, const char *crop)
{
    for (int k = 0; k < line->lot_count; k++)
        if (strcmp(line->lots[k].crop, crop) == 0)
            return line->lots[k].balance_tph;
    return 0.0;
}

static bool may_run(const efi_scenario_lot *lot, int line)
{
    bool may = lot->lines.count == 0;
    for (int i = 0; i < lot->lines.count; i++)
        may = may || lot->lines.items[i] == line;
    return may;
}

/* Hours at which a line would be done with a lot after those it has; infinite where that is not known. */
static double done_h(const efi_lots_check *c, int i, int l, double until_h, int last)
{
    const efi_scenario_lot *lot = &c->scenario->lots[l];
    const ef_shift_lots *line = &c->claim->lines[i];
    const int number = efi_index_find(&c->scenario->line_index, line->line, strlen(line->line));
    const double rate_tph = rate_of(line, c->scenario->crops[lot->crop].name);
    const double tonnes_t = lot->left_t.given ? lot->left_t.value : lot->amount_t.value;
    efi_rule_check rule = {0};
    if (number < 0 || !may_run(lot, number) || !(rate_tph > 0.0))
        return INFINITY;
    if (last >= 0)
        rule = efi_season_check_rule(c->scenario, last, l, number);
    return rule.rule && rule.rule->never ? INFINITY : until_h + rule.clean_h + tonnes_t / rate_tph;
}

/* Lots that were dealt out went to the line that would be done first, as far as the answer tells its rates.
 */
static void check_deal(const efi_lots_check *c, const place *places, double *until_h, int *last)
{
    for (int i = 0; i < c->claim->line_count; i++)
        last[i] = -1;
    for (int l = 0; l < c->scenario->lot_count; l++) {
        const int mine = places[l].line;
        if (mine < 0)
            continue;
        const double own_h = done_h(c, mine, l, until_h[mine], last[mine]);
        for (int i = 0; i < c->claim->line_count; i++)
            if (done_h(c, i, l, until_h[i], last[i]) < own_h - DEAL_H)
                efi_differ(c->list, "lot %s was dealt to line %s, and line %s would be done first",
                           c->scenario->lots[l].name, c->claim->lines[mine].line, c->claim->lines[i].line);
        until_h[mine] = own_h < INFINITY ? own_h : until_h[mine];
        last[mine] = l;
    }
}

static ef_status check_places(const efi_lots_check *c)
{
    place *places = efi_new((size_t)c->scenario->lot_count, sizeof *places);
    double *until_h = efi_new((size_t)c->claim->line_count, sizeof *until_h);
    int *last = efi_new((size_t)c->claim->line_count, sizeof *last);
    const bool ready = places && until_h && last;
    if (ready)
        find_places(c, places);
    if (ready && c->claim->is_dealt && !c->claim->by_plan)
        check_deal(c, places, until_h, last);
    efi_free(places);
    efi_free(until_h);
    efi_free(last);
    return ready ? EF_OK : EF_MEMORY;
}

/* ---- shared stations ------------------------------------------------------------------------------------
 */

static bool runs_crop(const ef_shift_lots *line, const char *crop)
{
    return rate_of(line, crop) > 0.0;
}

/* Does every list have all the crops that any of them has? */
static bool same_crops(const ef_shift_lots *claim)
{
    for (int i = 0; i < claim->line_count; i++)
        for (int k = 0; k < claim->lines[i].lot_count; k++)
            for (int j = 0; j < claim->line_count; j++)
                if (!runs_crop(&claim->lines[j], claim->lines[i].lots[k].crop))
                    return false;
    return true;
}

/* What lines have of a station makes no more than the station, for each crop; where all lines have the same
 * crops, so do the least of their parts, and the most of them no less than the station if no line is idle. */
static void check_part(const efi_lots_check *c, const ef_shift_lots_part *part)
{
    double least = 0.0;
    double most = 0.0;
    int lines = 0;
    for (int i = 0; i < c->claim->line_count; i++)
        for (int p = 0; p < c->claim->lines[i].part_count; p++) {
            const ef_shift_lots_part *other = &c->claim->lines[i].parts[p];
            if (strcmp(other->station, part->station) != 0)
                continue;
            least += other->least;
            most += other->most;
            lines++;
        }
    if (!(part->least > 0.0 && part->least < 1.0 && part->least <= part->most && part->most <= 1.0))
        efi_differ(c->list, "the part of %s is %.9g to %.9g", part->station, part->least, part->most);
    if (!same_crops(c->claim))
        return;
    if (least > 1.0 + PARTS || (lines == c->scenario->line_count && most < 1.0 - PARTS))
        efi_differ(c->list, "of %s the lines have %.9g to %.9g", part->station, least, most);
}

/* ---- together -------------------------------------------------------------------------------------------
 */

static void check_hours(const efi_lots_check *c)
{
    const ef_shift_lots *claim = c->claim;
    double tonnes_t = 0.0;
    double balance_h = 0.0;
    double clean_h = 0.0;
    double work_h = 0.0;
    for (int i = 0; i < claim->line_count; i++) {
        tonnes_t += claim->lines[i].tonnes_t;
        balance_h += claim->lines[i].balance_h;
        clean_h += claim->lines[i].clean_h;
    }
    efi_differ_number(c->list, "the tonnes of all lines", "t", claim->tonnes_t, tonnes_t, 1e-9);
    efi_differ_number(c->list, "the hours by the balance of all lines", "h", claim->balance_h, balance_h,
                      1e-9);
    efi_differ_number(c->list, "the hours of clean-downs of all lines", "h", claim->clean_h, clean_h, 1e-9);
    for (int r = 0; r < claim->runs; r++) {
        c->values[r] = 0.0;
        for (int i = 0; i < claim->line_count; i++)
            c->values[r] = fmax(c->values[r], claim->lines[i].run_work_h[r]);
        work_h += c->values[r] / claim->runs;
        efi_differ_number(c->list, "the hours of work of a run", "h", claim->run_work_h[r], c->values[r],
                          1e-9);
    }
    efi_lots_check_spread(c, "the hours of work until the last line has ended", &claim->work_h);
    for (int r = 0; r < claim->runs; r++) {
        c->values[r] = 0.0;
        for (int i = 0; i < claim->line_count; i++) {
            const ef_shift_lots *line = &claim->lines[i];
            c->values[r] = fmax(c->values[r], line->end_h[(r + 1) * line->lot_count - 1]);
        }
    }
    efi_lots_check_spread(c, "the hours until the last line has ended", &claim->list_h);
    efi_differ_number(c->list, "the rate of all lines", "t/h", claim->rate_tph, tonnes_t / work_h, 1e-9);
}

/* What all lines took (product: made) in one shift of one run. */
static double shift_t(const ef_shift_lots *claim, int run, int period, bool product)
{
    double sum_t = 0.0;
    for (int i = 0; i < claim->line_count; i++) {
        const ef_shift_lots *line = &claim->lines[i];
        const size_t at = (size_t)run * (size_t)line->period_count + (size_t)period;
        const size_t count = (size_t)line->runs * (size_t)line->period_count;
        sum_t += product ? 0.0 : line->shift_intake_t[at];
        for (size_t o = 0; product && o < (size_t)line->outlet_count; o++)
            sum_t += line->is_product[o] ? line->shift_outlet_t[o * count + at] : 0.0;
    }
    return sum_t;
}

static void check_streams(const efi_lots_check *c, double *means)
{
    const ef_shift_lots *claim = c->claim;
    int most = claim->lines[0].period_count;
    for (int i = 1; i < claim->line_count; i++)
        most = claim->lines[i].period_count < most ? claim->lines[i].period_count : most;
    efi_differ_count(c->list, "the shifts within all lists", claim->period_count, most);
    efi_differ_count(c->list, "the streams of a shift", claim->stream_count, most > 0 ? 2 : 0);
    if (claim->period_count != most || claim->stream_count != (most > 0 ? 2 : 0))
        return;
    for (int s = 0; s < claim->stream_count; s++) {
        for (int r = 0; r < claim->runs; r++)
            for (int p = 0; p < most; p++)
                c->values[r * most + p] = shift_t(claim, r, p, s == 1);
        efi_lots_check_stream(c, &claim->streams[s], means);
    }
}

/* ---- the whole ------------------------------------------------------------------------------------------
 */

static ef_status check_each(const efi_lots_check *c)
{
    for (int i = 0; i < c->claim->line_count; i++) {
        const ef_shift_lots *claim = &c->claim->lines[i];
        efi_lots_check line = {.scenario = c->scenario, .claim = claim, .list = c->list};
        line.line = efi_index_find(&c->scenario->line_index, claim->line, strlen(claim->line));
        c->list->crop = claim->line;
        if (line.line < 0)
            efi_differ(c->list, "the scenario has no such line");
        else
            EF_TRY(efi_lots_check_one(&line));
        efi_differ_count(c->list, "its runs", claim->runs, c->claim->runs);
        for (int p = 0; p < claim->part_count; p++)
            check_part(c, &claim->parts[p]);
    }
    c->list->crop = "the plant";
    return EF_OK;
}

ef_status efi_lots_check_lines(efi_lots_check *c)
{
    const ef_shift_lots *claim = c->claim;
    const size_t room = (size_t)claim->runs * (size_t)(claim->period_count > 0 ? claim->period_count : 1);
    EF_TRY(check_each(c));
    check_lines(c);
    EF_TRY(check_places(c));
    c->values = efi_new(room, sizeof *c->values);
    c->sorted = efi_new(room, sizeof *c->sorted);
    double *means = efi_new((size_t)claim->runs, sizeof *means);
    const bool ready = c->values && c->sorted && means;
    if (ready) {
        check_hours(c);
        check_streams(c, means);
    }
    efi_free(c->values);
    efi_free(c->sorted);
    efi_free(means);
    return ready ? EF_OK : EF_MEMORY;
}
