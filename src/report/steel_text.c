/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "report/steel.h"

#include <math.h>
#include <string.h>

/* Less than this share of the live volume is not worth a remark. */
#define LITTLE 0.005
/* An outlet that passes this much more than is asked does not meter the feed. */
#define NOT_METERED 1.05

static void add(efi_text *out, efi_kind kind, ef_units units, double value)
{
    efi_display_add_alone(out, kind, units, value, 0.0, NULL);
}

static void add_m(efi_text *out, ef_units units, double value_m)
{
    add(out, EFI_KIND_LENGTH, units, value_m);
}

static void add_m3(efi_text *out, ef_units units, double value_m3)
{
    add(out, EFI_KIND_VOLUME, units, value_m3);
}

static void add_deg(efi_text *out, double deg)
{
    efi_number_add_significant(out, deg, 2);
    efi_text_add(out, "°");
}

static bool is(const char *word, const char *other)
{
    return strcmp(word, other) == 0;
}

/* ---- why there is none ----------------------------------------------------------------------------------
 */

static void add_asked(efi_text *words, const ef_steel *steel, ef_units units)
{
    efi_text_addf(words, "%s: there is no bin for ", steel->station);
    add_m3(words, units, steel->asked_m3);
    efi_text_addf(words, " of %s. ", steel->crop);
}

static void add_most(efi_text *words, const ef_steel *steel, ef_units units)
{
    if (!(steel->most_m3 > 0.0))
        return;
    efi_text_add(words, " About ");
    add_m3(words, units, steel->most_m3);
    efi_text_add(words, " would fit.");
}

static void add_why(efi_text *words, const ef_steel *steel, ef_units units)
{
    if (steel->why != EF_STEEL_CONTRADICT)
        add_asked(words, steel, units);
    switch (steel->why) {
    case EF_STEEL_FITS:
        break;
    case EF_STEEL_NO_REPOSE:
        efi_text_addf(words, "How %s lies in it is not known: give the crop its \"repose\".", steel->crop);
        break;
    case EF_STEEL_NO_HEADROOM:
        efi_text_add(words, "No headroom: the lowest that holds it needs ");
        add_m(words, units, steel->needed_m);
        efi_text_add(words, " from the floor, ");
        add_m(words, units, steel->at_width_m);
        efi_text_add(words, " wide, and there are ");
        add_m(words, units, steel->there_m);
        efi_text_add(words, ".");
        add_most(words, steel, units);
        efi_text_add(words,
                     " More headroom, a lower machine below, two bins side by side, or a flatter hopper "
                     "where the seed is dry and the wall smooth.");
        break;
    case EF_STEEL_NO_WIDTH:
        efi_text_add(words, "It would be wider than ");
        add_m(words, units, steel->there_m);
        efi_text_add(words, ".");
        add_most(words, steel, units);
        break;
    case EF_STEEL_TOO_SMALL:
        efi_text_add(words, "With the dimensions that are given it holds ");
        add_m3(words, units, steel->most_m3);
        efi_text_add(words, ".");
        break;
    case EF_STEEL_NO_STANDARD:
        efi_text_add(words, "None of the standard bins that fit there holds it.");
        add_most(words, steel, units);
        break;
    case EF_STEEL_CONTRADICT:
        efi_text_addf(words, "%s: its dimensions go together in no bin; look at outlet, inlet and freeboard.",
                      steel->station);
        break;
    }
}

/* ---- what it is -----------------------------------------------------------------------------------------
 */

static void add_plan(efi_text *words, const ef_steel_size *size, ef_units units)
{
    if (size->standard)
        efi_text_addf(words, "the standard bin %s, ", size->standard);
    if (is(size->shape, "round")) {
        efi_text_add(words, "a round bin of ");
        add_m(words, units, size->width_m);
    } else {
        efi_text_add(words, size->length_m > size->width_m ? "a rectangular bin of " : "a square bin of ");
        if (size->length_m != size->width_m) {
            add_m(words, units, size->length_m);
            efi_text_add(words, " by ");
        }
        add_m(words, units, size->width_m);
    }
}

static void add_hopper(efi_text *words, const ef_steel_size *size, ef_units units)
{
    if (is(size->hopper, "flat")) {
        efi_text_add(words, "a flat floor");
    } else {
        efi_text_addf(words, "a %s at ", size->hopper);
        add_deg(words, size->hopper_deg);
        if (size->valley_deg < size->hopper_deg) {
            efi_text_add(words, " (valleys ");
            add_deg(words, size->valley_deg);
            efi_text_add(words, ")");
        }
        efi_text_add(words, ", ");
        add_m(words, units, size->hopper_m);
        efi_text_add(words, " high");
    }
    efi_text_add(words, ", outlet ");
    add_m(words, units, size->outlet_m);
    if (size->outlet_length_m != size->outlet_m) {
        efi_text_add(words, " by ");
        add_m(words, units, size->outlet_length_m);
    }
    if (size->side_gate)
        efi_text_add(words, " with a side gate");
}

static void add_height(efi_text *words, const ef_steel_size *size, ef_units units)
{
    efi_text_add(words, "Its top is ");
    add_m(words, units, size->height_m);
    efi_text_add(words, " above the floor");
    if (size->clearance_m > 0.0) {
        efi_text_add(words, ", ");
        add_m(words, units, size->clearance_m);
        efi_text_add(words, " of it below the outlet");
    }
    if (size->has_headroom) {
        efi_text_add(words, "; the headroom is ");
        add_m(words, units, size->headroom_m);
    }
    efi_text_add(words, ".");
}

static void add_size(efi_paper *paper, const ef_steel *steel, ef_units units)
{
    const ef_steel_size *size = &steel->size;
    efi_text words = {0};
    efi_text_addf(&words, "%s: ", steel->station);
    add_plan(&words, size, units);
    efi_text_add(&words, " with walls of ");
    add_m(&words, units, size->wall_m);
    efi_text_add(&words, " on ");
    add_hopper(&words, size, units);
    efi_text_add(&words, ". ");
    add_height(&words, size, units);
    efi_text_add(&words, " It takes ");
    add(&words, EFI_KIND_AREA, units, size->steel_m2);
    efi_text_add(&words, " of sheet. Filled level to the top it would hold ");
    add_m3(&words, units, size->level_m3);
    efi_text_add(&words, "; a heap fills less:");
    efi_paper_say(paper, EFI_DETAIL, &words);
}

/* ---- by crop --------------------------------------------------------------------------------------------
 */

static const char *flow_word(ef_steel_flow flow)
{
    switch (flow) {
    case EF_STEEL_FLOW_MASS:
        return "mass";
    case EF_STEEL_FLOW_FUNNEL:
        return "funnel";
    case EF_STEEL_FLOW_UNKNOWN:
        break;
    }
    return "not known";
}

static void add_cell(efi_paper *paper, const efi_display *display, bool known, double value)
{
    if (known)
        efi_paper_show(paper, display, value);
    else
        efi_paper_cell(paper, "-");
}

/* What an outlet passes, to two digits: the law is no better. */
static void add_passes(efi_paper *paper, const efi_display *rate, const ef_steel_crop *crop)
{
    efi_text cell = {0};
    if (!crop->has_particle || !(crop->outlet_tph > 0.0)) {
        efi_paper_cell(paper, "-");
        return;
    }
    efi_number_add_significant(&cell, efi_display_value(rate, crop->outlet_tph), 2);
    if (crop->outlet_high_tph > crop->outlet_tph) {
        efi_text_add(&cell, "-");
        efi_number_add_significant(&cell, efi_display_value(rate, crop->outlet_high_tph), 2);
    }
    efi_text_addf(&cell, " %s", rate->name);
    efi_paper_take(paper, &cell);
    efi_paper_value(paper, efi_display_value(rate, crop->outlet_tph), rate->decimals, rate->name);
}

static void add_crop(efi_paper *paper, const ef_steel_crop *crop, const efi_display *m3,
                     const efi_display *rate)
{
    efi_paper_cell(paper, crop->crop);
    add_cell(paper, m3, true, crop->live_m3);
    add_cell(paper, m3, crop->asked_m3 > 0.0, crop->asked_m3);
    add_cell(paper, m3, true, crop->headspace_m3);
    add_cell(paper, m3, true, crop->dead_m3);
    efi_paper_cell(paper, flow_word(crop->flow));
    add_passes(paper, rate, crop);
    add_cell(paper, rate, crop->asked_tph > 0.0, crop->asked_tph);
}

static void add_crops(efi_paper *paper, const ef_steel *steel, ef_units units)
{
    static const efi_column columns[] = {{"Crop", 'l', 0, false},          {"Live", 'r', 0, false},
                                         {"Asked", 'r', 0, false},         {"Above heap", 'r', 0, false},
                                         {"Stays behind", 'r', 0, false},  {"Flow", 'l', 0, false},
                                         {"Outlet passes", 'r', 0, false}, {"Next takes", 'r', 0, false}};
    double most_tph = 0.0;
    for (int k = 0; k < steel->crop_count; k++)
        most_tph = fmax(most_tph, steel->crops[k].asked_tph);
    const efi_display m3 = efi_display_choose(EFI_KIND_VOLUME, units, steel->size.level_m3, 0.0, NULL);
    const efi_display rate = efi_display_choose(EFI_KIND_MASS_RATE, units, most_tph, 0.0, NULL);
    efi_text caption = {0};
    efi_text_addf(&caption, "%s in steel, crop by crop", steel->station);
    efi_paper_gap(paper);
    efi_paper_table_say(paper, &(efi_table_form){.name = steel->station, .quiet = true}, &caption, columns,
                        EF_COUNT(columns));
    for (int k = 0; k < steel->crop_count; k++)
        add_crop(paper, &steel->crops[k], &m3, &rate);
    efi_paper_gap(paper);
}

/* ---- remarks --------------------------------------------------------------------------------------------
 */

typedef bool about(const ef_steel_crop *crop);

static bool flows_in_funnel(const ef_steel_crop *crop)
{
    return crop->flow == EF_STEEL_FLOW_FUNNEL;
}

static bool flow_unknown(const ef_steel_crop *crop)
{
    return crop->flow == EF_STEEL_FLOW_UNKNOWN;
}

static bool stays_behind(const ef_steel_crop *crop)
{
    return crop->dead_m3 > LITTLE * crop->live_m3;
}

static bool off_centre(const ef_steel_crop *crop)
{
    return crop->off_centre_m3 > LITTLE * crop->live_m3;
}

static bool arches(const ef_steel_crop *crop)
{
    return crop->has_particle && crop->arches;
}

static bool passes_less(const ef_steel_crop *crop)
{
    return crop->outlet_tph > 0.0 && crop->outlet_tph < crop->asked_tph;
}

static bool not_metered(const ef_steel_crop *crop)
{
    return crop->asked_tph > 0.0 && crop->outlet_tph > NOT_METERED * crop->asked_tph;
}

static bool out_of_range(const ef_steel_crop *crop)
{
    return crop->outlet_tph > 0.0 && !crop->arches && !crop->outlet_in_range;
}

static bool no_particle(const ef_steel_crop *crop)
{
    return !crop->has_particle;
}

/* Begins a remark with the crops it is about, "wheat, oats: "; false when there are none. */
static bool begin(efi_text *words, const ef_steel *steel, about *which)
{
    bool any = false;
    for (int k = 0; k < steel->crop_count; k++) {
        if (!which(&steel->crops[k]))
            continue;
        efi_text_addf(words, "%s%s", any ? ", " : "", steel->crops[k].crop);
        any = true;
    }
    efi_text_add(words, any ? ": " : "");
    return any;
}

static const struct {
    about *which;
    const char *words;
} remarks[] = {
    {flows_in_funnel, "funnel flow is to be expected: the core above the outlet moves and the rest waits. "
                      "First in is not first "
                      "out, so the tail of one lot hangs behind the next. Filling leaves fines under the "
                      "spout and light seed at "
                      "the walls; the core comes first and the walls last, so what the next station gets is "
                      "uneven. Between lots, "
                      "run it empty and look inside."},
    {flow_unknown, "whether all of it moves (mass flow) is not known without \"wall friction\". Until it is, "
                   "take it that only "
                   "a core moves: first in is not first out, and the lot segregates."},
    {stays_behind, "what stays behind must be cleared between lots, from outside or by bin entry, which is "
                   "dangerous (see the "
                   "cautions)."},
    {off_centre, "filled off-centre it holds less live volume than filled in the middle."},
    {arches, "kernels can bridge this outlet: take a wider one."},
    {passes_less, "the outlet passes less than the next station takes: take a wider one."},
    {not_metered, "an open outlet passes more than the next station takes and holds no rate: a metering "
                  "feeder below it does. "
                  "Under a slot it must draw over the whole length."},
    {out_of_range,
     "the law that gives the outlet's rate needs a bin wider than two and a half outlets and than outlet and "
     "30 kernels: take the rate as a guess."},
    {no_particle,
     "without \"particle size\" nothing is said about what the outlet passes, or about bridging."},
};

static void add_chosen(efi_paper *paper, const ef_steel *steel)
{
    efi_text words = {0};
    if (!steel->chose_hopper && !steel->chose_outlet && !steel->chose_freeboard)
        return;
    efi_text_add(&words, "Chosen by common practice:");
    if (steel->chose_hopper)
        efi_text_add(&words, " a hopper from 45° on, its valleys 5° steeper than the seed slides;");
    if (steel->chose_outlet)
        efi_text_add(&words,
                     " an outlet that passes a fifth more than is asked and does not bridge, 250 mm where "
                     "nothing is known;");
    if (steel->chose_freeboard)
        efi_text_add(&words, " a freeboard of 150 mm;");
    efi_text_add(&words, " say otherwise under \"steel\".");
    efi_paper_say(paper, EFI_NOTE, &words);
}

void efi_steel_put(efi_paper *paper, const ef_steel *steel, ef_units units)
{
    if (steel->why != EF_STEEL_FITS) {
        efi_text words = {0};
        add_why(&words, steel, units);
        efi_paper_say(paper, EFI_WARNING, &words);
        return;
    }
    add_size(paper, steel, units);
    add_crops(paper, steel, units);
    for (size_t i = 0; i < EF_COUNT(remarks); i++) {
        efi_text words = {0};
        if (begin(&words, steel, remarks[i].which))
            efi_text_add(&words, remarks[i].words);
        efi_paper_say(paper, EFI_DETAIL, &words);
    }
    add_chosen(paper, steel);
}

void efi_steel_put_cautions(efi_paper *paper, const ef_steel *steel)
{
    for (int i = 0; i < steel->caution_count; i++)
        efi_paper_words(paper, EFI_CAUTION, steel->cautions[i]);
}
