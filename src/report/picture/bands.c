/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "report/picture/bands.h"
#include "base/base.h"
#include "base/pieces.h"
#include "base/tongue.h"

#include <math.h>

#define MOST_NAMES 120.0 /* px */
#define LEAST_DAY  26.0  /* px: a narrower day has no number of its own */
#define MIDDLE_DAY 54.0  /* px: from here on with its month */
#define WIDE_DAY   84.0  /* px: from here on with its weekday */
#define PAGE_ROOM                                                                                            \
    1150.0 /* px of bands: with the heading 1000 by some 1300, as A4 has between its margins                 \
            */
enum {
    MOST_BANDS = 400
};

static int64_t days_up(int64_t seconds)
{
    return (seconds + EFI_DAY_S - 1) / EFI_DAY_S;
}

efi_bands efi_bands_make(int64_t from, int64_t to, double things, double room, double names)
{
    static const int lengths[] = {28, 14, 7, 4, 3, 2, 1};
    const int64_t day = efi_moment_day(from);
    efi_bands bands = {.left = EFI_FRAME_MARGIN + fmin(names, MOST_NAMES) + 8.0,
                       .right = EFI_BANDS_WIDTH - EFI_FRAME_MARGIN};
    const int64_t days = to > day * EFI_DAY_S ? days_up(to - day * EFI_DAY_S) : 1;
    size_t i = 0;
    while (i + 1 < EF_COUNT(lengths) && lengths[i + 1] >= days)
        i++;
    while (i + 1 < EF_COUNT(lengths) && things / (double)days * lengths[i] * room > bands.right - bands.left)
        i++;
    bands.days = lengths[i];
    if (days / bands.days > MOST_BANDS)
        bands.days = (int)(days / MOST_BANDS + 1);
    const int64_t monday = day - efi_day_weekday(day);
    const int64_t first = bands.days >= EFI_WEEK_DAYS ? monday : day;
    bands.from = first * EFI_DAY_S;
    bands.count = (int)((days + (day - first) + bands.days - 1) / bands.days);
    return bands;
}

static int64_t begin_of(const efi_bands *bands, int band)
{
    return bands->from + (int64_t)band * bands->days * EFI_DAY_S;
}

double efi_bands_x(const efi_bands *bands, int band, int64_t moment)
{
    const double span = (double)bands->days * EFI_DAY_S;
    return bands->left + (double)(moment - begin_of(bands, band)) / span * (bands->right - bands->left);
}

bool efi_bands_holds(const efi_bands *bands, int band, int64_t moment)
{
    return moment >= begin_of(bands, band) && moment < begin_of(bands, band + 1);
}

bool efi_bands_clip(const efi_bands *bands, int band, int64_t from, int64_t to, double *left, double *right)
{
    const int64_t begin = begin_of(bands, band);
    const int64_t end = begin_of(bands, band + 1);
    if (from >= to || from >= end || to <= begin)
        return false;
    *left = efi_bands_x(bands, band, from > begin ? from : begin);
    *right = efi_bands_x(bands, band, to < end ? to : end);
    return true;
}

/* "Mon 30 Nov", or as much of it as there is room for. */
static void add_day(efi_text *words, int64_t day, double wide)
{
    const efi_civil civil = efi_civil_of(day);
    const char *month = efi_piece_month_brief(civil.month);
    if (wide >= WIDE_DAY)
        efi_text_addf(words, efi_tr_in("date", "%s %d %s"), efi_piece_weekday_brief(efi_day_weekday(day)),
                      civil.day, month);
    else if (wide >= MIDDLE_DAY)
        efi_text_addf(words, efi_tr_in("date", "%d %s"), civil.day, month);
    else
        efi_text_addf(words, "%d", civil.day);
}

void efi_bands_draw_days(efi_text *out, const efi_bands *bands, int band, double top, double bottom)
{
    const double wide = (bands->right - bands->left) / bands->days;
    const int every = wide < LEAST_DAY ? (int)ceil(LEAST_DAY / wide) : 1;
    const int64_t first = efi_moment_day(begin_of(bands, band));
    const efi_civil civil = efi_civil_of(first);
    const char *month = efi_piece_month_brief(civil.month);
    efi_text words = {0};
    if (bands->days >= EFI_WEEK_DAYS)
        efi_text_addf(&words, efi_tr("%s %d, week %d"), month, (int)civil.year, efi_day_week(first).week);
    else
        efi_text_addf(&words, "%s %d", month, (int)civil.year);
    efi_svg_text(out, bands->left, top - 20.0, "start", "strong label", efi_text_get(&words));
    for (int d = 0; d < bands->days; d++) {
        const double x = bands->left + d * wide;
        efi_frame_line(out, "grid", x, top, x, bottom);
        words.length = 0;
        add_day(&words, first + d, wide);
        if (d % every == 0)
            efi_svg_text(out, x + 2.0, top - 5.0, "start", "note", efi_text_get(&words));
    }
    out->failed = out->failed || words.failed;
    efi_text_free(&words);
    efi_frame_line(out, "grid", bands->right, top, bands->right, bottom);
    efi_frame_line(out, "edge", bands->left, top, bands->right, top);
    efi_frame_line(out, "edge", bands->left, bottom, bands->right, bottom);
}

bool efi_bands_page(const efi_bands *bands, efi_band_height *height, const void *context, int page,
                    int *first, int *end)
{
    *first = 0;
    *end = page < 0 ? bands->count : 0;
    for (int at = 0; at <= page; at++) {
        double taken = 0.0;
        *first = *end;
        while (*end < bands->count && (*end == *first || taken + height(context, *end) <= PAGE_ROOM))
            taken += height(context, (*end)++);
    }
    return *first < *end;
}

efi_crop_look efi_crop_look_of(int crop)
{
    static const char *const classes[] = {"crop-1", "crop-2", "crop-3", "crop-4", "crop-5", "crop-6"};
    static const efi_hatch hatches[] = {EFI_HATCH_NONE,  EFI_HATCH_RISING,  EFI_HATCH_UPRIGHT,
                                        EFI_HATCH_LEVEL, EFI_HATCH_FALLING, EFI_HATCH_DOTS};
    const size_t i = (size_t)(crop < 0 ? 0 : crop);
    return (efi_crop_look){classes[i % EF_COUNT(classes)],
                           hatches[(i + i / EF_COUNT(classes)) % EF_COUNT(hatches)]};
}
