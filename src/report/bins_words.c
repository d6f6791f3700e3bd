/* SPDX-License-Identifier: GPL-3.0-or-later
 * The sentences about each bin. */
#include "base/pieces.h"
#include "base/tongue.h"
#include "report/bins_view.h"
#include "report/words_list.h"

#include <math.h>
#include <string.h>

/* Of a bin: a reason that uses less of it than this says nothing. */
#define LEAST_USED_SHARE 0.3
/* What passes a bin of so little in less than this, h, is no bin. */
#define CHUTE_H (1.0 / 60.0)

static void add_stop(efi_words_list *list, const ef_bins_stop *stop)
{
    const efi_piece length = efi_piece_duration(stop->to_h - stop->from_h);
    if (!stop->stop)
        efi_words_list_addf(list, efi_tr("%s without a load at %s"), length.words, stop->station);
    else if (stop->machine > 0)
        efi_words_list_addf(list, efi_tr("%s: %s of machine %d (%s)"), stop->station, efi_tr(stop->stop),
                            stop->machine, length.words);
    else
        efi_words_list_addf(list, "%s: %s (%s)", stop->station, efi_tr(stop->stop), length.words);
}

static void add_when(efi_text *words, const efi_bins_view *v, const ef_bins_reason *reason, double at_h)
{
    const int shift = (int)(at_h / v->bins->shift_h);
    const long long minutes = llround((at_h - shift * v->bins->shift_h) * 60.0);
    efi_text_addf(words, efi_tr("at %lld:%02lld of shift %d, trace %d"), minutes / 60, minutes % 60,
                  shift + 1, reason->trace + 1);
}

/* The stops that a bin bridges, or does not, and when. */
static void say_bridged(efi_text *words, const ef_bins_bin *bin, const char *stops, const char *when)
{
    const ef_bins_reason *reason = &bin->reason;
    if (reason->met && !reason->from_start)
        efi_words_say(words, efi_tr("It then just bridges %s %s."), stops, when);
    else if (reason->met && bin->before)
        efi_words_say(words,
                      efi_tr("It then just bridges %s %s, before it has been full for the first time."),
                      stops, when);
    else if (reason->met)
        efi_words_say(words,
                      efi_tr("It then just bridges %s %s, before it has been empty for the first time."),
                      stops, when);
    else if (!reason->from_start)
        efi_words_say(words, efi_tr("It does not bridge %s %s, which the aim lets pass."), stops, when);
    else if (bin->before)
        efi_words_say(
            words,
            efi_tr("It does not bridge %s %s, before it has been full for the first time, which the "
                   "aim lets pass."),
            stops, when);
    else
        efi_words_say(words,
                      efi_tr("It does not bridge %s %s, before it has been empty for the first time, which "
                             "the aim lets pass."),
                      stops, when);
}

static void add_reason(efi_text *words, const efi_bins_view *v, const ef_bins_bin *bin)
{
    const ef_bins_reason *reason = &bin->reason;
    efi_words_list stops = {0};
    efi_text when = {0};
    double from_h = INFINITY;
    for (int i = 0; i < reason->stop_count; i++) {
        add_stop(&stops, &reason->stops[i]);
        from_h = fmin(from_h, reason->stops[i].from_h);
    }
    if (reason->more_stops > 0)
        efi_words_list_addf(&stops, efi_tr_n("%d more", "%d more", reason->more_stops), reason->more_stops);
    add_when(&when, v, reason, from_h);
    say_bridged(words, bin, efi_words_list_get(&stops, EFI_JOINT_AND), efi_text_get(&when));
    words->failed = words->failed || when.failed;
    efi_text_free(&when);
    efi_words_list_free(&stops, words);
}

/* What follows the volume of a sized bin: what sets it, or what may need one all the same, and what is absurd
 * about it. */
static void add_why(efi_text *words, const efi_bins_view *v, const ef_bins_whole *whole,
                    const ef_bins_bin *bin)
{
    if (!(whole->recommended_m3 > 0.0))
        efi_words_say(words, efi_tr("Blending, lots or lorries may need it all the same."));
    else if (bin->has_reason && bin->reason.used_share > LEAST_USED_SHARE)
        add_reason(words, v, bin);
    else if (bin->parts_lines)
        efi_words_say(words, efi_tr("It keeps the lines that part before it from holding each other up."));
    if (whole->recommended_m3 > 0.0 && bin->lasts_h < CHUTE_H)
        efi_words_say(words, efi_tr("That is hardly more than a chute."));
    if (bin->at_most)
        efi_words_say(words, efi_tr("It may not be larger."));
    if (whole->recommended_m3 > 0.0 && bin->lasts_h > v->bins->shift_h && !v->bins->with_receipts)
        efi_words_say(words,
                      efi_tr("That is more than a shift of feed, which nobody builds to bridge stops: mend "
                             "what stops so long or passes so little, see below."));
    if (whole->steel && whole->steel->why != EF_STEEL_FITS && whole->steel->why != EF_STEEL_NO_REPOSE)
        efi_words_say(words, efi_tr("No bin of steel that large is found for its place, see \"In steel\"."));
}

/* The bin as the crop that sets it has it; NULL when no crop does. */
static const ef_bins_bin *setting_bin(const ef_bins *bins, const ef_bins_whole *whole)
{
    const ef_bins_crop *crop = whole->crop < 0 ? NULL : &bins->crops[whole->crop];
    for (int b = 0; crop && b < crop->bin_count; b++)
        if (strcmp(crop->bins[b].name, whole->name) == 0)
            return &crop->bins[b];
    return NULL;
}

static void add_sized(efi_words_list *list, const efi_bins_view *v, const ef_bins_whole *whole)
{
    const ef_bins_bin *bin = setting_bin(v->bins, whole);
    const efi_piece volume = efi_bins_volume(v, whole->recommended_m3);
    if (!bin)
        efi_words_list_addf(list, efi_tr("%s recommended"), volume.words);
    else if (!(whole->recommended_m3 > 0.0))
        efi_words_list_addf(
            list, efi_tr("none needed for the steady feed of %s: the other bins do its work, or cheaper"),
            bin->feed);
    else if (v->bins->crop_count > 1)
        efi_words_list_addf(list, efi_tr("%s recommended (%s of feed), set by %s"), volume.words,
                            efi_piece_duration(bin->lasts_h).words, v->bins->crops[whole->crop].name);
    else
        efi_words_list_addf(list, efi_tr("%s recommended (%s of feed)"), volume.words,
                            efi_piece_duration(bin->lasts_h).words);
}

static bool anything_stops(const ef_bins *bins)
{
    for (int c = 0; c < bins->crop_count; c++)
        if (bins->crops[c].anything_stops)
            return true;
    return false;
}

static void add_choice(efi_words_list *list, const efi_bins_view *v, const ef_bins_whole *whole)
{
    switch (whole->choice) {
    case EF_BINS_SIZED:
        add_sized(list, v, whole);
        break;
    case EF_BINS_KEPT:
        efi_words_list_add(list, efi_tr("kept as the scenario asks"));
        break;
    case EF_BINS_NOTHING_STOPS:
        efi_words_list_add(list,
                           efi_tr("left as it is: what lies beyond it never stops and keeps up, so there "
                                  "is nothing to size it against"));
        break;
    case EF_BINS_OFF_PATH:
        efi_words_list_add(list, anything_stops(v->bins)
                                     ? efi_tr("left as it is: it does not lie on the way of a steady feed")
                                     : efi_tr("left as it is: nothing stops that it could be sized against"));
        break;
    }
}

void efi_bins_add_whole(const efi_bins_view *v, const ef_bins_whole *whole)
{
    efi_words_list volumes = {0};
    efi_text words = {0};
    if (whole->has_now)
        efi_words_list_addf(&volumes, efi_tr("%s now"), efi_bins_volume(v, whole->now_m3).words);
    else
        efi_words_list_add(&volumes, efi_tr("no volume given now"));
    if (whole->has_rule)
        efi_words_list_addf(&volumes, efi_tr("%s by the rule of %s"),
                            efi_bins_volume(v, whole->rule_m3).words,
                            efi_piece_duration(v->bins->rule_h).words);
    add_choice(&volumes, v, whole);
    efi_words_say(&words, "%s: %s.", whole->name, efi_words_list_get(&volumes, EFI_JOINT_COMMAS));
    efi_words_list_free(&volumes, &words);
    const ef_bins_bin *bin = whole->choice == EF_BINS_SIZED ? setting_bin(v->bins, whole) : NULL;
    if (bin)
        add_why(&words, v, whole, bin);
    efi_paper_say(v->paper, EFI_VERDICT, &words);
}
