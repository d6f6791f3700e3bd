/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "report/steel.h"

#include "base/number.h"
#include "base/pieces.h"
#include "base/tongue.h"
#include "report/words_list.h"

#include <math.h>
#include <string.h>

/* Less than this share of the live volume is not worth a remark. */
#define LITTLE 0.005
/* An outlet that passes this much more than is asked does not meter the feed. */
#define NOT_METERED 1.05

static efi_piece metres(ef_units units, double value_m)
{
    return efi_piece_alone(EFI_KIND_LENGTH, units, value_m, 0.0, NULL);
}

static efi_piece cubic(ef_units units, double value_m3)
{
    return efi_piece_alone(EFI_KIND_VOLUME, units, value_m3, 0.0, NULL);
}

static efi_piece degrees(double deg)
{
    efi_piece piece = {""};
    efi_text words = efi_text_fixed(piece.words, sizeof piece.words);
    efi_number_say_significant(&words, deg, 2);
    efi_text_add(&words, "°");
    return piece;
}

static bool is(const char *word, const char *other)
{
    return strcmp(word, other) == 0;
}

/* ---- why there is none ----------------------------------------------------------------------------------
 */

static void say_asked(efi_text *words, const ef_steel *steel, ef_units units)
{
    efi_words_say(words, efi_tr("%s: there is no bin for %s of %s."), steel->station,
                  cubic(units, steel->asked_m3).words, steel->crop);
}

static void say_most(efi_text *words, const ef_steel *steel, ef_units units)
{
    if (steel->most_m3 > 0.0)
        efi_words_say(words, efi_tr("About %s would fit."), cubic(units, steel->most_m3).words);
}

static void say_no_headroom(efi_text *words, const ef_steel *steel, ef_units units)
{
    efi_words_say(
        words,
        efi_tr("No headroom: the lowest that holds it needs %s from the floor, %s wide, and there are %s."),
        metres(units, steel->needed_m).words, metres(units, steel->at_width_m).words,
        metres(units, steel->there_m).words);
    say_most(words, steel, units);
    efi_words_say(words, efi_tr("More headroom, a lower machine below, two bins side by side, or a flatter "
                                "hopper where the seed is dry and the wall smooth."));
}

static void add_why(efi_text *words, const ef_steel *steel, ef_units units)
{
    if (steel->why != EF_STEEL_CONTRADICT)
        say_asked(words, steel, units);
    switch (steel->why) {
    case EF_STEEL_FITS:
        break;
    case EF_STEEL_NO_REPOSE:
        efi_words_say(words, efi_tr("How %s lies in it is not known: give the crop its \"repose\"."),
                      steel->crop);
        break;
    case EF_STEEL_NO_HEADROOM:
        say_no_headroom(words, steel, units);
        break;
    case EF_STEEL_NO_WIDTH:
        efi_words_say(words, efi_tr("It would be wider than %s."), metres(units, steel->there_m).words);
        say_most(words, steel, units);
        break;
    case EF_STEEL_TOO_SMALL:
        efi_words_say(words, efi_tr("With the dimensions that are given it holds %s."),
                      cubic(units, steel->most_m3).words);
        break;
    case EF_STEEL_NO_STANDARD:
        efi_words_say(words, efi_tr("None of the standard bins that fit there holds it."));
        say_most(words, steel, units);
        break;
    case EF_STEEL_CONTRADICT:
        efi_words_say(
            words, efi_tr("%s: its dimensions go together in no bin; look at outlet, inlet and freeboard."),
            steel->station);
        break;
    }
}

/* ---- what it is -----------------------------------------------------------------------------------------
 */

/* "a rectangular bin of 3 m by 2 m" */
static void add_shape(efi_text *words, const ef_steel_size *size, ef_units units)
{
    const efi_piece width = metres(units, size->width_m);
    if (is(size->shape, "round"))
        efi_text_addf(words, efi_tr("a round bin of %s"), width.words);
    else if (size->length_m != size->width_m)
        efi_text_addf(words, efi_tr("a rectangular bin of %s by %s"), metres(units, size->length_m).words,
                      width.words);
    else
        efi_text_addf(words, efi_tr("a square bin of %s"), width.words);
}

static void add_plan(efi_text *words, const ef_steel_size *size, ef_units units)
{
    efi_text shape = {0};
    add_shape(&shape, size, units);
    if (size->standard)
        efi_text_addf(words, efi_tr("the standard bin %s, %s"), size->standard, efi_text_get(&shape));
    else
        efi_text_add(words, efi_text_get(&shape));
    words->failed = words->failed || shape.failed;
    efi_text_free(&shape);
}

static const char *hopper_words(const ef_steel_size *size)
{
    if (is(size->hopper, "cone"))
        return efi_tr("a cone");
    return is(size->hopper, "wedge") ? efi_tr("a wedge") : efi_tr("a pyramid");
}

static void add_hopper(efi_text *words, const ef_steel_size *size, ef_units units)
{
    const efi_piece high = metres(units, size->hopper_m);
    const efi_piece slope = degrees(size->hopper_deg);
    if (is(size->hopper, "flat"))
        efi_text_add(words, efi_tr("a flat floor"));
    else if (size->valley_deg < size->hopper_deg)
        efi_text_addf(words, efi_tr("%s at %s (valleys %s), %s high"), hopper_words(size), slope.words,
                      degrees(size->valley_deg).words, high.words);
    else
        efi_text_addf(words, efi_tr("%s at %s, %s high"), hopper_words(size), slope.words, high.words);
}

static void add_outlet(efi_text *words, const ef_steel_size *size, ef_units units)
{
    const efi_piece across = metres(units, size->outlet_m);
    if (size->outlet_length_m != size->outlet_m)
        efi_text_addf(words, efi_tr_in("sides", "%s by %s"), across.words,
                      metres(units, size->outlet_length_m).words);
    else
        efi_text_add(words, across.words);
}

static void say_parts(efi_text *words, const ef_steel *steel, ef_units units)
{
    const ef_steel_size *size = &steel->size;
    efi_text plan = {0};
    efi_text hopper = {0};
    efi_text outlet = {0};
    const efi_piece wall = metres(units, size->wall_m);
    add_plan(&plan, size, units);
    add_hopper(&hopper, size, units);
    add_outlet(&outlet, size, units);
    if (size->side_gate)
        efi_words_say(words, efi_tr("%s: %s with walls of %s on %s, outlet %s with a side gate."),
                      steel->station, efi_text_get(&plan), wall.words, efi_text_get(&hopper),
                      efi_text_get(&outlet));
    else
        efi_words_say(words, efi_tr("%s: %s with walls of %s on %s, outlet %s."), steel->station,
                      efi_text_get(&plan), wall.words, efi_text_get(&hopper), efi_text_get(&outlet));
    words->failed = words->failed || plan.failed || hopper.failed || outlet.failed;
    efi_text_free(&plan);
    efi_text_free(&hopper);
    efi_text_free(&outlet);
}

static void say_height(efi_text *words, const ef_steel_size *size, ef_units units)
{
    const efi_piece height = metres(units, size->height_m);
    const efi_piece below = metres(units, size->clearance_m);
    const efi_piece headroom = metres(units, size->headroom_m);
    if (size->clearance_m > 0.0 && size->has_headroom)
        efi_words_say(words,
                      efi_tr("Its top is %s above the floor, %s of it below the outlet; the headroom is %s."),
                      height.words, below.words, headroom.words);
    else if (size->clearance_m > 0.0)
        efi_words_say(words, efi_tr("Its top is %s above the floor, %s of it below the outlet."),
                      height.words, below.words);
    else if (size->has_headroom)
        efi_words_say(words, efi_tr("Its top is %s above the floor; the headroom is %s."), height.words,
                      headroom.words);
    else
        efi_words_say(words, efi_tr("Its top is %s above the floor."), height.words);
}

static void add_size(efi_paper *paper, const ef_steel *steel, ef_units units)
{
    const ef_steel_size *size = &steel->size;
    efi_text words = {0};
    say_parts(&words, steel, units);
    say_height(&words, size, units);
    efi_words_say(&words, efi_tr("It takes %s of sheet."),
                  efi_piece_alone(EFI_KIND_AREA, units, size->steel_m2, 0.0, NULL).words);
    efi_words_say(&words, efi_tr("Filled level to the top it would hold %s; a heap fills less:"),
                  cubic(units, size->level_m3).words);
    efi_paper_say(paper, EFI_DETAIL, &words);
}

/* ---- by crop --------------------------------------------------------------------------------------------
 */

static const char *flow_word(ef_steel_flow flow)
{
    switch (flow) {
    case EF_STEEL_FLOW_MASS:
        return efi_tr_in("flow in a bin", "mass");
    case EF_STEEL_FLOW_FUNNEL:
        return efi_tr_in("flow in a bin", "funnel");
    case EF_STEEL_FLOW_UNKNOWN:
        break;
    }
    return efi_tr_in("flow in a bin", "not known");
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
    efi_number_say_significant(&cell, efi_display_value(rate, crop->outlet_tph), 2);
    if (crop->outlet_high_tph > crop->outlet_tph) {
        efi_text_add(&cell, "-");
        efi_number_say_significant(&cell, efi_display_value(rate, crop->outlet_high_tph), 2);
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
    static const efi_column columns[] = {
        {EFI_TR("Crop"), 'l', 0, false},          {EFI_TR("Live"), 'r', 0, false},
        {EFI_TR("Asked"), 'r', 0, false},         {EFI_TR("Above heap"), 'r', 0, false},
        {EFI_TR("Stays behind"), 'r', 0, false},  {EFI_TR("Flow"), 'l', 0, false},
        {EFI_TR("Outlet passes"), 'r', 0, false}, {EFI_TR("Next takes"), 'r', 0, false}};
    double most_tph = 0.0;
    for (int k = 0; k < steel->crop_count; k++)
        most_tph = fmax(most_tph, steel->crops[k].asked_tph);
    const efi_display m3 = efi_display_choose(EFI_KIND_VOLUME, units, steel->size.level_m3, 0.0, NULL);
    const efi_display rate = efi_display_choose(EFI_KIND_MASS_RATE, units, most_tph, 0.0, NULL);
    efi_text caption = {0};
    efi_text_addf(&caption, efi_tr("%s in steel, crop by crop"), steel->station);
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

/* The crops that a remark is about, "wheat, oats"; "" when there are none. */
static const char *crops_of(efi_words_list *list, const ef_steel *steel, about *which)
{
    for (int k = 0; k < steel->crop_count; k++)
        if (which(&steel->crops[k]))
            efi_words_list_add(list, steel->crops[k].crop);
    return efi_words_list_get(list, EFI_JOINT_COMMAS);
}

static const struct {
    about *which;
    const char *words;
} remarks[] = {
    {flows_in_funnel,
     EFI_TR(
         "funnel flow is to be expected: the core above the outlet moves and the rest waits. First in is "
         "not first out, so the tail of one lot hangs behind the next. Filling leaves fines under the spout "
         "and light seed at the walls; the core comes first and the walls last, so what the next station "
         "gets is uneven. Between lots, run it empty and look inside.")},
    {flow_unknown,
     EFI_TR(
         "whether all of it moves (mass flow) is not known without \"wall friction\". Until it is, take it "
         "that only a core moves: first in is not first out, and the lot segregates.")},
    {stays_behind,
     EFI_TR("what stays behind must be cleared between lots, from outside or by bin entry, which "
            "is dangerous (see the cautions).")},
    {off_centre, EFI_TR("filled off-centre it holds less live volume than filled in the middle.")},
    {arches, EFI_TR("kernels can bridge this outlet: take a wider one.")},
    {passes_less, EFI_TR("the outlet passes less than the next station takes: take a wider one.")},
    {not_metered,
     EFI_TR("an open outlet passes more than the next station takes and holds no rate: a metering "
            "feeder below it does. Under a slot it must draw over the whole length.")},
    {out_of_range,
     EFI_TR("the law that gives the outlet's rate needs a bin wider than two and a half outlets "
            "and than outlet and 30 kernels: take the rate as a guess.")},
    {no_particle,
     EFI_TR("without \"particle size\" nothing is said about what the outlet passes, or about bridging.")},
};

static void add_remark(efi_paper *paper, const ef_steel *steel, about *which, const char *remark)
{
    efi_words_list crops = {0};
    efi_text words = {0};
    const char *names = crops_of(&crops, steel, which);
    if (*names)
        efi_text_addf(&words, "%s: %s", names, efi_tr(remark));
    efi_words_list_free(&crops, &words);
    efi_paper_say(paper, EFI_DETAIL, &words);
}

static void add_chosen(efi_paper *paper, const ef_steel *steel)
{
    efi_words_list chosen = {0};
    efi_text words = {0};
    if (!steel->chose_hopper && !steel->chose_outlet && !steel->chose_freeboard)
        return;
    if (steel->chose_hopper)
        efi_words_list_add(&chosen,
                           efi_tr("a hopper from 45° on, its valleys 5° steeper than the seed slides"));
    if (steel->chose_outlet)
        efi_words_list_add(&chosen, efi_tr("an outlet that passes a fifth more than is asked and does not "
                                           "bridge, 250 mm where nothing is known"));
    if (steel->chose_freeboard)
        efi_words_list_add(&chosen, efi_tr("a freeboard of 150 mm"));
    efi_text_addf(&words, efi_tr("Chosen by common practice: %s; say otherwise under \"steel\"."),
                  efi_words_list_get(&chosen, EFI_JOINT_SEMICOLONS));
    efi_words_list_free(&chosen, &words);
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
    for (size_t i = 0; i < EF_COUNT(remarks); i++)
        add_remark(paper, steel, remarks[i].which, remarks[i].words);
    add_chosen(paper, steel);
}

void efi_steel_put_cautions(efi_paper *paper, const ef_steel *steel)
{
    for (int i = 0; i < steel->caution_count; i++)
        efi_paper_words(paper, EFI_CAUTION, efi_tr(steel->cautions[i]));
}
