/* SPDX-License-Identifier: GPL-3.0-or-later
 * Planning rates: what of them follows from the scenario and from each other. A rate that was simulated or
 * comes from the balance is taken as given, but not how it is shared out: all lines together have the plant's
 * rate, and each its share of that. */
#include "shared/verify/season.h"

#include <math.h>
#include <string.h>

#define NEAR_SHARE 1e-9

static const char *line_name(const efi_season_check *c, int line)
{
    return c->scenario->line_count > 0 ? c->scenario->lines[line].name : NULL;
}

/* The answer's rate of a crop on a line; `times`: how often it is there. */
static const ef_season_rate *find_rate(const efi_season_check *c, int crop, int line, int *times)
{
    const char *name = line_name(c, line);
    const ef_season_rate *found = NULL;
    *times = 0;
    for (int r = 0; r < c->claim->rate_count; r++) {
        const ef_season_rate *rate = &c->claim->rates[r];
        if (strcmp(rate->crop, c->scenario->crops[crop].name) != 0 || (name && strcmp(rate->line, name) != 0))
            continue;
        found = found ? found : rate;
        *times += 1;
    }
    return found;
}

static bool is_shared_out(const ef_season_rate *rate)
{
    return rate->source == EF_SEASON_RATE_SIMULATED || rate->source == EF_SEASON_RATE_BALANCE;
}

static void check_one(const efi_season_check *c, int crop, const ef_season_rate *rate)
{
    const efi_value *planning = c->scenario->season->rate_tph;
    const bool given = planning && planning[crop].given && planning[crop].value > 0.0;
    if (rate->source == EF_SEASON_RATE_LOT || (rate->source == EF_SEASON_RATE_SEASON) != given)
        if (rate->source != EF_SEASON_RATE_NONE)
            efi_differ(c->list, "its rate on %s is not from where the answer says", rate->line);
    if (rate->source == EF_SEASON_RATE_SEASON)
        efi_differ_number(c->list, "rate of the season", "t/h", rate->rate_tph,
                          given ? planning[crop].value : 0.0, 1e-9);
    if ((rate->rate_tph > 0.0) != (rate->source != EF_SEASON_RATE_NONE))
        efi_differ(c->list, "its rate on %s is 0 and has a source, or is not and has none", rate->line);
    if (is_shared_out(rate) ? !(rate->line_share > 0.0 && rate->line_share <= 1.0 + NEAR_SHARE)
                            : rate->line_share != 0.0)
        efi_differ(c->list, "%s has a share of the plant's rate that is none", rate->line);
    if (!(rate->product_share >= 0.0 && rate->product_share <= 1.0 + NEAR_SHARE))
        efi_differ(c->list, "more becomes product than comes in");
    if (!(rate->spread >= 0.0))
        efi_differ(c->list, "the spread of its rate on %s is below 0", rate->line);
}

/* All lines of a crop. */
static void check_crop(const efi_season_check *c, int crop)
{
    const ef_season_rate *first = NULL;
    const ef_season_rate *any = NULL;
    double shares = 0.0;
    c->list->subject = c->scenario->crops[crop].name;
    for (int line = 0; line < c->lines; line++) {
        int times;
        const ef_season_rate *rate = find_rate(c, crop, line, &times);
        if (times != 1) {
            efi_differ(c->list, "it has %d rates on one line", times);
            continue;
        }
        check_one(c, crop, rate);
        any = any ? any : rate;
        efi_differ_number(c->list, "share that becomes product", "", rate->product_share, any->product_share,
                          NEAR_SHARE);
        if (!is_shared_out(rate))
            continue;
        first = first ? first : rate;
        shares += rate->line_share;
        if (rate->source != first->source)
            efi_differ(c->list, "its rates on two lines are not of one source");
        efi_differ_number(c->list, "rate by the share of the line", "t/h", rate->rate_tph * first->line_share,
                          first->rate_tph * rate->line_share, NEAR_SHARE);
    }
    if (first)
        efi_differ_number(c->list, "shares of all lines", "", shares, 1.0, NEAR_SHARE);
}

void efi_season_check_rates(const efi_season_check *c)
{
    for (int crop = 0; crop < c->scenario->crop_count; crop++) {
        bool wanted = false;
        for (int l = 0; l < c->scenario->lot_count; l++)
            wanted = wanted || c->scenario->lots[l].crop == crop;
        if (wanted)
            check_crop(c, crop);
    }
    c->list->subject = NULL;
}
