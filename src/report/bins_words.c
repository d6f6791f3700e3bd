/* SPDX-License-Identifier: GPL-3.0-or-later
 * The sentences about each bin. */
#include "base/display.h"
#include "report/bins_view.h"

#include <math.h>
#include <string.h>

/* Of a bin: a reason that uses less of it than this says nothing. */
#define LEAST_USED_SHARE 0.3
/* What passes a bin of so little in less than this, h, is no bin. */
#define CHUTE_H (1.0 / 60.0)

static void add_stop(efi_text *words, const ef_bins_stop *stop)
{
    if (!stop->stop) {
        efi_display_add_duration(words, stop->to_h - stop->from_h);
        efi_text_addf(words, " without a load at %s", stop->station);
        return;
    }
    efi_text_addf(words, "%s: %s", stop->station, stop->stop);
    if (stop->machine > 0)
        efi_text_addf(words, " of machine %d", stop->machine);
    efi_text_add(words, " (");
    efi_display_add_duration(words, stop->to_h - stop->from_h);
    efi_text_add(words, ")");
}

static void add_when(efi_text *words, const efi_bins_view *v, const ef_bins_reason *reason, double at_h)
{
    const int shift = (int)(at_h / v->bins->shift_h);
    const long long minutes = llround((at_h - shift * v->bins->shift_h) * 60.0);
    efi_text_addf(words, "at %lld:%02lld of shift %d, trace %d", minutes / 60, minutes % 60, shift + 1,
                  reason->trace + 1);
}

static void add_reason(efi_text *words, const efi_bins_view *v, const ef_bins_bin *bin)
{
    const ef_bins_reason *reason = &bin->reason;
    double from_h = INFINITY;
    efi_text_add(words, reason->met ? " It then just bridges " : " It does not bridge ");
    for (int i = 0; i < reason->stop_count; i++) {
        efi_text_add(words, i == 0                                                 ? ""
                            : i + 1 < reason->stop_count || reason->more_stops > 0 ? ", "
                                                                                   : " and ");
        add_stop(words, &reason->stops[i]);
        from_h = fmin(from_h, reason->stops[i].from_h);
    }
    if (reason->more_stops > 0)
        efi_text_addf(words, " and %d more", reason->more_stops);
    efi_text_add(words, " ");
    add_when(words, v, reason, from_h);
    if (reason->from_start)
        efi_text_addf(words, ", before it has been %s for the first time", bin->before ? "full" : "empty");
    efi_text_add(words, reason->met ? "." : ", which the aim lets pass.");
}

/* What follows the volume of a sized bin: what sets it, or why it is none, and what is absurd about it. */
static void add_why(efi_text *words, const efi_bins_view *v, const ef_bins_whole *whole,
                    const ef_bins_bin *bin)
{
    if (!(whole->recommended_m3 > 0.0))
        efi_text_addf(
            words,
            "none needed for the steady feed of %s: the other bins do its work, or cheaper. Blending, "
            "lots or lorries may need it all the same.",
            bin->feed);
    else if (bin->has_reason && bin->reason.used_share > LEAST_USED_SHARE)
        add_reason(words, v, bin);
    else if (bin->parts_lines)
        efi_text_add(words, " It keeps the lines that part before it from holding each other up.");
    if (whole->recommended_m3 > 0.0 && bin->lasts_h < CHUTE_H)
        efi_text_add(words, " That is hardly more than a chute.");
    if (bin->at_most)
        efi_text_add(words, " It may not be larger.");
    if (whole->recommended_m3 > 0.0 && bin->lasts_h > v->bins->shift_h && !v->bins->with_receipts)
        efi_text_add(words,
                     " That is more than a shift of feed, which nobody builds to bridge stops: mend what "
                     "stops so long or passes so little, see below.");
    if (whole->steel && whole->steel->why != EF_STEEL_FITS && whole->steel->why != EF_STEEL_NO_REPOSE)
        efi_text_add(words, " No bin of steel that large is found for its place, see \"In steel\".");
}

static void add_sized(efi_text *words, const efi_bins_view *v, const ef_bins_whole *whole)
{
    const ef_bins_crop *crop = whole->crop < 0 ? NULL : &v->bins->crops[whole->crop];
    if (whole->recommended_m3 > 0.0 || !crop) {
        efi_bins_add_volume(words, v, whole->recommended_m3);
        efi_text_add(words, crop ? " recommended" : " recommended.");
    }
    for (int b = 0; crop && b < crop->bin_count; b++) {
        const ef_bins_bin *bin = &crop->bins[b];
        if (strcmp(bin->name, whole->name) != 0)
            continue;
        if (whole->recommended_m3 > 0.0) {
            efi_text_add(words, " (");
            efi_display_add_duration(words, bin->lasts_h);
            efi_text_add(words, " of feed)");
            if (v->bins->crop_count > 1)
                efi_text_addf(words, ", set by %s", crop->name);
            efi_text_add(words, ".");
        }
        add_why(words, v, whole, bin);
    }
}

static bool anything_stops(const ef_bins *bins)
{
    for (int c = 0; c < bins->crop_count; c++)
        if (bins->crops[c].anything_stops)
            return true;
    return false;
}

void efi_bins_add_whole(const efi_bins_view *v, const ef_bins_whole *whole)
{
    efi_text words = {0};
    efi_text_addf(&words, "%s: ", whole->name);
    if (whole->has_now)
        efi_bins_add_volume(&words, v, whole->now_m3);
    efi_text_add(&words, whole->has_now ? " now, " : "no volume given now, ");
    if (whole->has_rule) {
        efi_bins_add_volume(&words, v, whole->rule_m3);
        efi_text_add(&words, " by the rule of ");
        efi_display_add_duration(&words, v->bins->rule_h);
        efi_text_add(&words, ", ");
    }
    switch (whole->choice) {
    case EF_BINS_SIZED:
        add_sized(&words, v, whole);
        break;
    case EF_BINS_KEPT:
        efi_text_add(&words, "kept as the scenario asks.");
        break;
    case EF_BINS_NOTHING_STOPS:
        efi_text_add(
            &words,
            "left as it is: what lies beyond it never stops and keeps up, so there is nothing to size it "
            "against.");
        break;
    case EF_BINS_OFF_PATH:
        efi_text_add(&words, anything_stops(v->bins)
                                 ? "left as it is: it does not lie on the way of a steady feed."
                                 : "left as it is: nothing stops that it could be sized against.");
        break;
    }
    efi_paper_say(v->paper, EFI_VERDICT, &words);
}
