/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "base/pieces.h"
#include "base/number.h"
#include "base/tongue.h"

efi_piece efi_piece_fixed(double value, int decimals)
{
    efi_piece piece = {""};
    efi_text text = efi_text_fixed(piece.words, sizeof piece.words);
    efi_number_say_fixed(&text, value, decimals);
    return piece;
}

efi_piece efi_piece_significant(double value, int digits)
{
    efi_piece piece = {""};
    efi_text text = efi_text_fixed(piece.words, sizeof piece.words);
    efi_number_say_significant(&text, value, digits);
    return piece;
}

efi_piece efi_piece_percent(double share, int decimals)
{
    efi_piece piece = {""};
    efi_text text = efi_text_fixed(piece.words, sizeof piece.words);
    efi_number_say_fixed(&text, share * 100.0, decimals);
    efi_text_add(&text, " %");
    return piece;
}

efi_piece efi_piece_number(const efi_display *display, double value)
{
    efi_piece piece = {""};
    efi_text text = efi_text_fixed(piece.words, sizeof piece.words);
    efi_display_add_number(&text, display, value);
    return piece;
}

efi_piece efi_piece_quantity(const efi_display *display, double value)
{
    efi_piece piece = {""};
    efi_text text = efi_text_fixed(piece.words, sizeof piece.words);
    efi_display_add(&text, display, value);
    return piece;
}

efi_piece efi_piece_alone(efi_kind kind, ef_units units, double value, double tonnes_per_bushel,
                          const char *currency)
{
    efi_piece piece = {""};
    efi_text text = efi_text_fixed(piece.words, sizeof piece.words);
    efi_display_add_alone(&text, kind, units, value, tonnes_per_bushel, currency);
    return piece;
}

efi_piece efi_piece_duration(double hours)
{
    efi_piece piece = {""};
    efi_text text = efi_text_fixed(piece.words, sizeof piece.words);
    efi_display_add_duration(&text, hours);
    return piece;
}

/* ---- dates ----------------------------------------------------------------------------------------------
 */

efi_piece efi_piece_day(int64_t day)
{
    const efi_civil civil = efi_civil_of(day);
    efi_piece piece = {""};
    efi_text text = efi_text_fixed(piece.words, sizeof piece.words);
    /* a date: year, month, day; %3$02d.%2$02d.%1$04d puts the day first */
    efi_text_addf(&text, efi_tr_in("date", "%04d-%02d-%02d"), (int)civil.year, civil.month, civil.day);
    return piece;
}

efi_piece efi_piece_clock(int clock_s)
{
    efi_piece piece = {""};
    efi_text text = efi_text_fixed(piece.words, sizeof piece.words);
    efi_text_addf(&text, efi_tr_in("clock", "%02d:%02d"), clock_s / EFI_HOUR_S, clock_s % EFI_HOUR_S / 60);
    return piece;
}

efi_piece efi_piece_moment(int64_t moment_s)
{
    efi_piece piece = {""};
    efi_text text = efi_text_fixed(piece.words, sizeof piece.words);
    efi_text_addf(&text, "%s %s", efi_piece_day(efi_moment_day(moment_s)).words,
                  efi_piece_clock(efi_moment_clock(moment_s)).words);
    return piece;
}

static const char *const weekdays[] = {EFI_TR("Monday"),   EFI_TR("Tuesday"), EFI_TR("Wednesday"),
                                       EFI_TR("Thursday"), EFI_TR("Friday"),  EFI_TR("Saturday"),
                                       EFI_TR("Sunday")};
static const char *const short_weekdays[] = {EFI_TR("mon"), EFI_TR("tue"), EFI_TR("wed"), EFI_TR("thu"),
                                             EFI_TR("fri"), EFI_TR("sat"), EFI_TR("sun")};

const char *efi_piece_weekday(efi_weekday weekday)
{
    return efi_tr(weekdays[weekday]);
}

const char *efi_piece_weekday_short(efi_weekday weekday)
{
    return efi_tr(short_weekdays[weekday]);
}

static const char *const brief_weekdays[] = {EFI_TR("Mon"), EFI_TR("Tue"), EFI_TR("Wed"), EFI_TR("Thu"),
                                             EFI_TR("Fri"), EFI_TR("Sat"), EFI_TR("Sun")};
static const char *const brief_months[] = {EFI_TR("Jan"), EFI_TR("Feb"), EFI_TR("Mar"), EFI_TR("Apr"),
                                           EFI_TR("May"), EFI_TR("Jun"), EFI_TR("Jul"), EFI_TR("Aug"),
                                           EFI_TR("Sep"), EFI_TR("Oct"), EFI_TR("Nov"), EFI_TR("Dec")};

const char *efi_piece_weekday_brief(efi_weekday weekday)
{
    return efi_tr(brief_weekdays[weekday]);
}

const char *efi_piece_month_brief(int month)
{
    return efi_tr(brief_months[month - 1]);
}

efi_piece efi_piece_when(int64_t moment_s)
{
    efi_piece piece = {""};
    efi_text text = efi_text_fixed(piece.words, sizeof piece.words);
    efi_text_addf(&text, "%s %s", efi_piece_weekday_brief(efi_day_weekday(efi_moment_day(moment_s))),
                  efi_piece_moment(moment_s).words);
    return piece;
}
