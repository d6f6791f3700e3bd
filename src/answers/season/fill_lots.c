/* SPDX-License-Identifier: GPL-3.0-or-later
 * Lots and rates of the answer: what was asked for. */
#include "answers/season/fill.h"

#include <math.h>

static const char *text_or(const char *text)
{
    return text ? text : "";
}

static double value_or(efi_value value, double otherwise)
{
    return value.given ? value.value : otherwise;
}

static int64_t date_of(efi_by_date date)
{
    return date.moment.given ? date.moment.value : EF_SEASON_NONE;
}

/* How many certification lots the product of a lot has to be divided into: by the greatest weight of one,
 * rounded up; a thousandth of a lot more is rounding. */
static int certification_lots(const efi_crop *crop, double product_t)
{
    if (!crop->lot_t.given || !(crop->lot_t.value > 0.0))
        return 0;
    const double lots = ceil(product_t / crop->lot_t.value - 1e-3);
    return lots < 1.0 ? 1 : lots < 1e6 ? (int)lots : 1000000;
}

static ef_season_lot lot_of(const efi_season_case *of, int l)
{
    const ef_scenario *scenario = of->scenario;
    const efi_season *season = scenario->season;
    const efi_scenario_lot *lot = &of->lots[l];
    const efi_crop *crop = &scenario->crops[lot->crop];
    const double product_t = lot->amount_t.value * of->rates->crop[lot->crop].product_share;
    const double late_ph = lot->late_ph.given ? lot->late_ph.value
                                              : value_or(season->late_ph, 0.0) * value_or(lot->priority, 1.0);
    return (ef_season_lot){.name = lot->name,
                           .crop = crop->name,
                           .variety = text_or(lot->trait[EFI_LOT_VARIETY]),
                           .seed_class = text_or(lot->trait[EFI_LOT_CLASS]),
                           .treatment = text_or(lot->trait[EFI_LOT_TREATMENT]),
                           .allergen = text_or(lot->trait[EFI_LOT_ALLERGEN]),
                           .trait = text_or(lot->trait[EFI_LOT_TRAIT]),
                           .colour = text_or(lot->trait[EFI_LOT_COLOUR]),
                           .product = text_or(lot->trait[EFI_LOT_PRODUCT]),
                           .note = text_or(lot->note),
                           .state = of->now[l].state,
                           .trade_weight_tpbu = value_or(crop->trade_weight_tpbu, 0.0),
                           .amount_t = lot->amount_t.value,
                           .left_t = of->now[l].left_t,
                           .product_t = product_t,
                           .moisture = value_or(lot->moisture, value_or(crop->moisture, 0.0)),
                           .certification_lots = certification_lots(crop, product_t),
                           .arrives = date_of(lot->arrives),
                           .arrives_latest = date_of(lot->arrives_latest),
                           .due = date_of(lot->due),
                           .latest_start = date_of(lot->latest_start),
                           .late_per_day = late_ph * 24.0,
                           .wet_per_day = value_or(lot->wet_ph, value_or(season->wet_ph, 0.0)) * 24.0,
                           .after = lot->after >= 0 ? of->lots[lot->after].name : "",
                           .wait_h = value_or(lot->wait_h, 0.0)};
}

static ef_status fill_rates(const efi_season_case *of, ef_season *season)
{
    const ef_scenario *scenario = of->scenario;
    ef_season_rate *rates = efi_arena_get(of->arena, (size_t)scenario->crop_count * (size_t)of->lines,
                                          sizeof *rates);
    if (!rates)
        return EF_MEMORY;
    for (int crop = 0; crop < scenario->crop_count; crop++) {
        const efi_crop_rate *known = &of->rates->crop[crop];
        for (int line = 0; known->is_wanted && line < of->lines; line++) {
            ef_season_rate *rate = &rates[season->rate_count++];
            *rate = (ef_season_rate){.crop = scenario->crops[crop].name,
                                     .line = efi_season_line_name(scenario, line),
                                     .product_share = known->product_share,
                                     .spread = known->spread};
            rate->rate_tph = efi_season_crop_rate(of->rates, crop, line, &rate->source);
            if (rate->source == EF_SEASON_RATE_SIMULATED || rate->source == EF_SEASON_RATE_BALANCE)
                rate->line_share = known->line_share[line];
        }
    }
    season->rates = rates;
    return EF_OK;
}

ef_status efi_season_fill_lots(const efi_season_case *of, ef_season *season)
{
    const int count = of->scenario->lot_count; /* without one that is only asked about */
    ef_season_lot *lots = efi_arena_get(of->arena, (size_t)count, sizeof *lots);
    if (!lots)
        return EF_MEMORY;
    for (int l = 0; l < count; l++)
        lots[l] = lot_of(of, l);
    season->lots = lots;
    season->lot_count = count;
    return fill_rates(of, season);
}
