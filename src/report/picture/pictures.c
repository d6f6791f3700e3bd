/* SPDX-License-Identifier: GPL-3.0-or-later
 * The table of pictures. */
#include "base/base.h"
#include "report/report.h"

#include <evenfeed/picture.h>
#include <string.h>

/* How a kind of picture finds its parts. A part is the `part`-th of those that have something to draw. */
typedef struct kind {
    ef_picture shown;
    /* Adds the name of a part, unless `name` is NULL; false when there are fewer. */
    bool (*find)(const ef_picture_source *source, int part, efi_text *name);
    ef_status (*draw)(const ef_picture_source *source, int part, ef_units units, char **svg);
} kind;

/* ---- balance: a crop each -------------------------------------------------------------------------------
 */

typedef bool crop_shows(const ef_balance_crop *crop);

static bool flows(const ef_balance_crop *crop)
{
    return crop->feasible && crop->intake.total_tph > 0.0;
}

static bool has_ladder(const ef_balance_crop *crop)
{
    return crop->feasible && crop->rung_count > 0;
}

/* Number of the `part`-th crop that shows something, -1. */
static int crop_at(const ef_picture_source *source, int part, crop_shows *shows)
{
    for (int c = 0; source->balance && c < source->balance->crop_count; c++)
        if (shows(&source->balance->crops[c]) && part-- == 0)
            return c;
    return -1;
}

static bool find_crop(const ef_picture_source *source, int part, crop_shows *shows, efi_text *name)
{
    const int c = crop_at(source, part, shows);
    if (c >= 0 && name)
        efi_text_add(name, source->balance->crops[c].name);
    return c >= 0;
}

static bool find_flow(const ef_picture_source *source, int part, efi_text *name)
{
    return find_crop(source, part, flows, name);
}

static ef_status draw_flow(const ef_picture_source *source, int part, ef_units units, char **svg)
{
    return ef_report_flow_svg(source->balance, crop_at(source, part, flows), units, svg);
}

static bool find_ladder(const ef_picture_source *source, int part, efi_text *name)
{
    return find_crop(source, part, has_ladder, name);
}

static ef_status draw_ladder(const ef_picture_source *source, int part, ef_units units, char **svg)
{
    return ef_report_ladder_svg(source->balance, crop_at(source, part, has_ladder), units, svg);
}

/* ---- bins -----------------------------------------------------------------------------------------------
 */

/* The `part`-th curve: its crop and steady-feed station. */
static bool curve_at(const ef_bins *bins, int part, int *crop, int *feed)
{
    for (int c = 0; bins && c < bins->crop_count; c++) {
        for (int f = 0; f < bins->crops[c].feed_count; f++) {
            if (bins->crops[c].feeds[f].curve_count < 2 || part-- != 0)
                continue;
            *crop = c;
            *feed = f;
            return true;
        }
    }
    return false;
}

static bool find_curve(const ef_picture_source *source, int part, efi_text *name)
{
    int c;
    int f;
    if (!curve_at(source->bins, part, &c, &f))
        return false;
    if (name)
        efi_text_addf(name, "%s on %s", source->bins->crops[c].feeds[f].name, source->bins->crops[c].name);
    return true;
}

static ef_status draw_curve(const ef_picture_source *source, int part, ef_units units, char **svg)
{
    int c;
    int f;
    return curve_at(source->bins, part, &c, &f) ? ef_report_curve_svg(source->bins, c, f, units, svg)
                                                : EF_USAGE;
}

static int steel_at(const ef_bins *bins, int part)
{
    for (int b = 0; bins && b < bins->bin_count; b++) {
        const ef_steel *steel = bins->bins[b].steel;
        if (steel && steel->why == EF_STEEL_FITS && steel->crop_count > 0 && part-- == 0)
            return b;
    }
    return -1;
}

static bool find_elevation(const ef_picture_source *source, int part, efi_text *name)
{
    const int b = steel_at(source->bins, part);
    if (b >= 0 && name)
        efi_text_add(name, source->bins->bins[b].name);
    return b >= 0;
}

static ef_status draw_elevation(const ef_picture_source *source, int part, ef_units units, char **svg)
{
    return ef_report_elevation_svg(source->bins, steel_at(source->bins, part), units, svg);
}

/* ---- one picture alone ----------------------------------------------------------------------------------
 */

static bool find_levels(const ef_picture_source *source, int part, efi_text *name)
{
    (void)name;
    return part == 0 && source->trace && source->trace->bin_count > 0 && source->trace->level_count >= 2;
}

static ef_status draw_levels(const ef_picture_source *source, int part, ef_units units, char **svg)
{
    (void)part;
    return ef_report_levels_svg(source->trace, units, svg);
}

static bool find_tonnes(const ef_picture_source *source, int part, efi_text *name)
{
    (void)name;
    return part == 0 && source->shift && source->shift->histogram_width_t > 0.0;
}

static ef_status draw_tonnes(const ef_picture_source *source, int part, ef_units units, char **svg)
{
    (void)part;
    return ef_report_tonnes_svg(source->shift, units, svg);
}

static bool find_hours(const ef_picture_source *source, int part, efi_text *name)
{
    (void)name;
    return part == 0 && source->shift && source->shift->station_count > 0;
}

static ef_status draw_hours(const ef_picture_source *source, int part, ef_units units, char **svg)
{
    (void)part;
    (void)units;
    return ef_report_hours_svg(source->shift, svg);
}

static bool find_envelope(const ef_picture_source *source, int part, efi_text *name)
{
    (void)name;
    return part == 0 && source->shift && source->shift->bin_count > 0 && source->shift->grid_count >= 2;
}

static ef_status draw_envelope(const ef_picture_source *source, int part, ef_units units, char **svg)
{
    (void)part;
    return ef_report_envelope_svg(source->shift, units, svg);
}

static bool find_season(const ef_picture_source *source, int part, efi_text *name)
{
    (void)name;
    return part == 0 && source->season && source->season->run_count > 0 && source->season->line_count > 0;
}

static ef_status draw_season(const ef_picture_source *source, int part, ef_units units, char **svg)
{
    (void)part;
    return ef_report_season_svg(source->season, -1, units, svg);
}

static bool find_stores(const ef_picture_source *source, int part, efi_text *name)
{
    (void)name;
    return part == 0 && source->season && source->season->stay_count > 0;
}

static ef_status draw_stores(const ef_picture_source *source, int part, ef_units units, char **svg)
{
    (void)part;
    return ef_report_stores_svg(source->season, -1, units, svg);
}

/* ---- the table ------------------------------------------------------------------------------------------
 */

static const kind kinds[] = {
    {{"flow", EF_PICTURE_OF_BALANCE, "crop",
      "the line as a flow diagram, strokes as wide as their t/h, what limits marked, the load of each "
      "station"},
     find_flow,
     draw_flow},
    {{"ladder", EF_PICTURE_OF_BALANCE, "crop",
      "the rate with each set of purchases, what limits then, what to buy"},
     find_ladder,
     draw_ladder},
    {{"curve", EF_PICTURE_OF_BINS, "steady-feed station and crop",
      "volume against full-feed minutes short, with the volumes now, by the rule and recommended"},
     find_curve,
     draw_curve},
    {{"elevation", EF_PICTURE_OF_BINS, "bin",
      "a bin of steel from the side with its dimensions, the heap and what stays behind"},
     find_elevation,
     draw_elevation},
    {{"levels", EF_PICTURE_OF_TRACE, NULL,
      "the levels of the bins over a simulated stretch, where they stand full or empty"},
     find_levels,
     draw_levels},
    {{"tonnes", EF_PICTURE_OF_SHIFT, NULL,
      "the product of a shift as a histogram, with a poor, a middling and a good one"},
     find_tonnes,
     draw_tonnes},
    {{"hours", EF_PICTURE_OF_SHIFT, NULL,
      "where the hours go, a bar for the line's own account and for each station that stops or waits"},
     find_hours,
     draw_hours},
    {{"envelope", EF_PICTURE_OF_SHIFT, NULL,
      "how the bins fill and empty in many shifts: between which levels eight in ten lie"},
     find_envelope,
     draw_envelope},
    {{"season", EF_PICTURE_OF_SEASON, NULL,
      "lines by days: lots, clean-downs, arrivals, due dates and closed time, what is late"},
     find_season,
     draw_season},
    {{"stores", EF_PICTURE_OF_SEASON, NULL,
      "stores by days: who lies where, how full they are, what found no room"},
     find_stores,
     draw_stores},
};

const ef_picture *ef_picture_at(int index)
{
    return index >= 0 && (size_t)index < EF_COUNT(kinds) ? &kinds[index].shown : NULL;
}

static const kind *kind_of(const char *name)
{
    for (size_t i = 0; i < EF_COUNT(kinds); i++)
        if (strcmp(kinds[i].shown.name, name) == 0)
            return &kinds[i];
    return NULL;
}

const ef_picture *ef_picture_find(const char *name)
{
    const kind *found = kind_of(name);
    return found ? &found->shown : NULL;
}

int ef_picture_parts(const ef_picture *picture, const ef_picture_source *source)
{
    const kind *of = kind_of(picture->name);
    int count = 0;
    while (of && of->find(source, count, NULL))
        count++;
    return count;
}

ef_status ef_picture_part(const ef_picture *picture, const ef_picture_source *source, int part, char **name)
{
    const kind *of = kind_of(picture->name);
    efi_text words = {0};
    efi_text_add(&words, "");
    if (!of || part < 0 || !of->find(source, part, &words)) {
        efi_text_free(&words);
        return EF_USAGE;
    }
    return efi_report_give(&words, name);
}

ef_status ef_picture_svg(const ef_picture *picture, const ef_picture_source *source, int part, ef_units units,
                         char **svg)
{
    const kind *of = kind_of(picture->name);
    if (!of || part < 0 || !of->find(source, part, NULL))
        return EF_USAGE;
    return of->draw(source, part, units, svg);
}
