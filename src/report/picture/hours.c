/* SPDX-License-Identifier: GPL-3.0-or-later
 * Where the hours of a shift go: a bar for the line's own account, then one for each station that stops or
 * waits. */
#include "base/base.h"
#include "base/pieces.h"
#include "base/tongue.h"
#include "report/picture/frame.h"
#include "report/report.h"

#include <evenfeed/shift.h>
#include <math.h>
#include <string.h>

#define WIDTH         680.0
#define ROW           25.0 /* px from one bar to the next */
#define BAR           17.0 /* px: height of a bar */
#define ACCOUNT_BAR   30.0 /* px: that of the line's account */
#define LEAST_SHOWN_H (0.5 / 3600.0)
#define LEAST_SHARE   0.001
#define MOST_NAMES    190.0
#define SAMPLE        16.0

/* How hours look, in their order. */
static const struct {
    const char *classes;
    efi_hatch hatch;
    bool dark; /* lines */
} looks[EF_SHIFT_HOURS_COUNT] = {
    [EF_SHIFT_CLOSED] = {"part closed", EFI_HATCH_DOTS, true},
    [EF_SHIFT_BREAK] = {"part break", EFI_HATCH_UPRIGHT, true},
    [EF_SHIFT_CLEAN_DOWN] = {"part planned", EFI_HATCH_DOTS, false},
    [EF_SHIFT_OWN_STOP] = {"part fails", EFI_HATCH_CROSS, false},
    [EF_SHIFT_CREW] = {"part crew", EFI_HATCH_CROSS, true},
    [EF_SHIFT_START_UP] = {"part warm", EFI_HATCH_LEVEL, false},
    [EF_SHIFT_NO_MATERIAL] = {"part truck", EFI_HATCH_LEVEL, true},
    [EF_SHIFT_BLOCKED] = {"part blocked", EFI_HATCH_FALLING, false},
    [EF_SHIFT_STARVED] = {"part starved", EFI_HATCH_RISING, true},
    [EF_SHIFT_SLOW] = {"part slow", EFI_HATCH_NONE, false},
    [EF_SHIFT_FULL_RATE] = {"part runs", EFI_HATCH_NONE, false},
};

/* The order in which they are drawn: what runs first. */
static ef_shift_hours drawn(int i)
{
    return (ef_shift_hours)(EF_SHIFT_HOURS_COUNT - 1 - i);
}

static void add_share(efi_text *words, const ef_shift *shift, double hours)
{
    efi_text_addf(words, "%s (%s)", efi_piece_duration(hours).words,
                  efi_piece_percent(hours / shift->counted_h, 1).words);
}

/* Stations that never stop, wait or block tell nothing, and outlets only what comes before them does. */
static bool tells_something(const ef_shift *shift, int station)
{
    const ef_shift_station *of = &shift->stations[station];
    double told = 0.0;
    for (int h = EF_SHIFT_CLEAN_DOWN; h < EF_SHIFT_SLOW; h++)
        told += of->hours[h];
    for (int o = 0; o < shift->outlet_count; o++)
        if (strcmp(shift->outlets[o], of->name) == 0)
            return false;
    return station != shift->account && told / shift->counted_h >= LEAST_SHARE;
}

static void draw_part(efi_text *out, ef_shift_hours h, const efi_spot *spot, const char *words)
{
    efi_frame_bar(out, looks[h].classes, spot->left, spot->top, spot->right, spot->bottom, words);
    efi_frame_hatch(out, looks[h].hatch, looks[h].dark, spot);
}

/* Writes how long a part takes into it, where there is room. */
static void write_hours(efi_text *out, ef_shift_hours h, const efi_spot *spot, double hours)
{
    const char *classes = h == EF_SHIFT_FULL_RATE ? "inside" : h == EF_SHIFT_SLOW ? "label" : "count";
    efi_text words = {0};
    efi_display_add_duration(&words, hours);
    if (efi_svg_width(efi_text_get(&words), EFI_FRAME_LABEL) + 8.0 < spot->right - spot->left)
        efi_svg_text(out, 0.5 * (spot->left + spot->right), 0.5 * (spot->top + spot->bottom) + 4.0, "middle",
                     classes, efi_text_get(&words));
    out->failed = out->failed || words.failed;
    efi_text_free(&words);
}

static void draw_station(efi_text *out, const ef_shift *shift, int station, const efi_axis *x, double top)
{
    const ef_shift_station *of = &shift->stations[station];
    const bool is_account = station == shift->account;
    const double height = is_account ? ACCOUNT_BAR : BAR;
    efi_frame_fit(out, is_account ? &efi_letters_name : &efi_letters_label, x->at_from - 8.0,
                  top + 0.5 * height + 4.0, "end", x->at_from - 8.0 - EFI_FRAME_MARGIN, of->name);
    double from_h = 0.0;
    for (int i = 0; i < EF_SHIFT_HOURS_COUNT; i++) {
        const ef_shift_hours h = drawn(i);
        if (!(of->hours[h] > 0.0))
            continue;
        const efi_spot spot = {efi_axis_at(x, from_h), top, efi_axis_at(x, from_h + of->hours[h]),
                               top + height};
        efi_text words = {0};
        efi_text_addf(&words, "%s: %s ", of->name, efi_tr(ef_shift_hours_word(h)));
        add_share(&words, shift, of->hours[h]);
        draw_part(out, h, &spot, efi_text_get(&words));
        if (is_account)
            write_hours(out, h, &spot, of->hours[h]);
        out->failed = out->failed || words.failed;
        efi_text_free(&words);
        from_h += of->hours[h];
    }
}

/* What the states of the stations drawn mean, with the hours of the line's account; returns the last
 * baseline. */
static double draw_states(efi_text *out, const ef_shift *shift, double top)
{
    efi_legend legend = {EFI_FRAME_MARGIN, WIDTH - EFI_FRAME_MARGIN, EFI_FRAME_MARGIN, top};
    for (int i = 0; i < EF_SHIFT_HOURS_COUNT; i++) {
        const ef_shift_hours h = drawn(i);
        bool used = shift->stations[shift->account].hours[h] > 0.0;
        for (int n = 0; n < shift->station_count; n++)
            used = used || (tells_something(shift, n) && shift->stations[n].hours[h] > 0.0);
        if (!used)
            continue;
        efi_text words = {0};
        efi_text_add(&words, efi_tr(ef_shift_hours_word(h)));
        if (shift->stations[shift->account].hours[h] >= LEAST_SHOWN_H) {
            efi_text_add(&words, " ");
            efi_display_add_duration(&words, shift->stations[shift->account].hours[h]);
        }
        const efi_spot spot = efi_legend_add(out, &legend, SAMPLE, efi_text_get(&words));
        draw_part(out, h, &spot, efi_tr(ef_shift_hours_meaning(h)));
        out->failed = out->failed || words.failed;
        efi_text_free(&words);
    }
    return legend.y;
}

static void write_heading(const ef_shift *shift, efi_sheet *sheet)
{
    const ef_shift_station *account = &shift->stations[shift->account];
    efi_text_addf(&sheet->title, efi_tr("Where the hours go: %s"), shift->crop);
    efi_text_addf(
        &sheet->below,
        shift->on_calendar
            ? efi_tr("%s, mean of %d simulated stretches of the calendar; the account of %s is the line's")
            : efi_tr("%s, mean of %d simulated shifts; the account of %s is the line's"),
        shift->plant, shift->runs * shift->parts, account->name);
    efi_text_addf(&sheet->description, efi_tr("A bar for each station that stops or waits. %s:"),
                  account->name);
    for (int i = 0; i < EF_SHIFT_HOURS_COUNT; i++) {
        if (!(account->hours[drawn(i)] > 0.0))
            continue;
        efi_text_addf(&sheet->description, " %s ", efi_tr(ef_shift_hours_word(drawn(i))));
        add_share(&sheet->description, shift, account->hours[drawn(i)]);
        efi_text_add(&sheet->description, ";");
    }
}

ef_status ef_report_hours_svg(const ef_shift *shift, char **text)
{
    if (shift->station_count == 0 || !(shift->counted_h > 0.0))
        return EF_NO_ANSWER;
    efi_sheet sheet = {.width = WIDTH};
    int rows = 0;
    double names = efi_letters_width(&efi_letters_name, shift->stations[shift->account].name);
    for (int n = 0; n < shift->station_count; n++) {
        if (!tells_something(shift, n))
            continue;
        rows++;
        names = fmax(names, efi_letters_width(&efi_letters_label, shift->stations[n].name));
    }
    write_heading(shift, &sheet);
    efi_sheet_begin(&sheet);
    const double left = EFI_FRAME_MARGIN + fmin(names, MOST_NAMES) + 10.0;
    const efi_axis x = efi_axis_hours(shift->counted_h, left, WIDTH - 24.0);
    double y = sheet.top + ACCOUNT_BAR + 14.0;
    const double bottom = y + rows * ROW;
    efi_axis_draw_below(&sheet.out, &x, bottom, sheet.top - 4.0,
                        shift->on_calendar ? efi_tr("hours of the calendar") : efi_tr("hours of a shift"));
    draw_station(&sheet.out, shift, shift->account, &x, sheet.top);
    for (int n = 0; n < shift->station_count; n++) {
        if (!tells_something(shift, n))
            continue;
        draw_station(&sheet.out, shift, n, &x, y);
        y += ROW;
    }
    efi_text words = {0};
    efi_text_addf(&words, efi_tr("Hours of %s:"), shift->stations[shift->account].name);
    y = efi_frame_wrap(&sheet.out, &efi_letters_note, EFI_FRAME_MARGIN, bottom + EFI_AXIS_HEIGHT + 14.0,
                       WIDTH - 2.0 * EFI_FRAME_MARGIN, efi_text_get(&words));
    sheet.out.failed = sheet.out.failed || words.failed;
    efi_text_free(&words);
    return efi_sheet_give(&sheet, draw_states(&sheet.out, shift, y + 3.0), text);
}
