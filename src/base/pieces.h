/* SPDX-License-Identifier: GPL-3.0-or-later
 * Pieces of messages: numbers, quantities, durations, dates as people read them, in the language of the
 * calling thread (tongue.h). Each is a value that lives until the end of the full expression, so that
 *     efi_text_addf(out, efi_tr("%s holds %s."), bin, efi_piece_quantity(&m3, volume).words);
 * needs no buffer. What machines read goes by number.h and date.h, never by these. */
#ifndef EFI_PIECES_H
#define EFI_PIECES_H

#include "base/date.h"
#include "base/display.h"

enum {
    EFI_PIECE_ROOM = 64
};

typedef struct efi_piece {
    char words[EFI_PIECE_ROOM]; /* closed by NUL; longer ones are cut short */
} efi_piece;

/* "9.24": as efi_number_add_fixed, with the language's decimal mark. And as efi_number_add_significant. */
efi_piece efi_piece_fixed(double value, int decimals);
efi_piece efi_piece_significant(double value, int digits);
/* "12.3 %" of a share 0.123. */
efi_piece efi_piece_percent(double share, int decimals);

/* "9.24", "9.24 t/h", one quantity chosen for itself, "1 h 25 min": as the functions of display.h. */
efi_piece efi_piece_number(const efi_display *display, double value);
efi_piece efi_piece_quantity(const efi_display *display, double value);
efi_piece efi_piece_alone(efi_kind kind, ef_units units, double value, double tonnes_per_bushel,
                          const char *currency);
efi_piece efi_piece_duration(double hours);

/* A day ("2026-11-25"), a clock to the minute ("06:30"), both ("2026-11-25 06:30"), a weekday ("Monday",
 * "mon"), as the language writes them. */
efi_piece efi_piece_day(int64_t day);
efi_piece efi_piece_clock(int clock_s);
efi_piece efi_piece_moment(int64_t moment_s);
const char *efi_piece_weekday(efi_weekday weekday);
const char *efi_piece_weekday_short(efi_weekday weekday);

/* For little room and the heads of days: "Mon"; "Jan" of month 1; "Mon 2026-11-30 06:30". */
const char *efi_piece_weekday_brief(efi_weekday weekday);
const char *efi_piece_month_brief(int month);
efi_piece efi_piece_when(int64_t moment_s);

#endif
