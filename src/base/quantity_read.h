/* SPDX-License-Identifier: GPL-3.0-or-later
 * Reads the text of a quantity by the grammar of quantity.h, whatever it measures; for quantity.c alone. */
#ifndef EFI_QUANTITY_READ_H
#define EFI_QUANTITY_READ_H

#include "base/quantity.h"

enum {
    EFI_SCAN_REPLACEMENT_ROOM = EFI_NUMBER_ROOM
};

/* A text being read, and what went wrong with it: the error, and the change that would likely mend it. */
typedef struct efi_scan {
    const char *text; /* borrowed; need not end with NUL */
    size_t length;    /* bytes without closing blanks */
    size_t at;        /* bytes read so far */
    efi_quantity_error error;
    bool mendable;                               /* is the change known? */
    size_t mend_start, mend_end;                 /* bytes to replace */
    char replacement[EFI_SCAN_REPLACEMENT_ROOM]; /* by this */
} efi_scan;

typedef enum efi_reading_form {
    EFI_READING_BARE,
    EFI_READING_FRACTION,
    EFI_READING_WITH_UNIT
} efi_reading_form;

/* What a text turned out to be, before it is asked whether that is wanted. */
typedef struct efi_reading {
    efi_reading_form form;
    double number;                   /* as written; of a sum, in base units */
    size_t number_start, number_end; /* the (first) number; of a fraction, all of it */
    size_t unit_start, unit_end;     /* the (first) unit */
    const char *unit_name;           /* as we print it when it is a single name, else NULL */
    efi_unit unit;                   /* of a sum, the base unit */
} efi_reading;

/* A scan of `length` bytes of `text`, which must outlive it. */
efi_scan efi_scan_begin(const char *text, size_t length);

/* The place after any blanks at the place `at`. */
size_t efi_scan_blanks_skip(const efi_scan *s, size_t at);

/* Records a fault of bytes start .. end-1 in place of any earlier one. Always returns false. */
bool efi_scan_refuse(efi_scan *s, efi_quantity_fault fault, size_t start, size_t end);

/* After efi_scan_refuse: with these `length` bytes for start .. end-1 the text would likely be right. */
void efi_scan_propose(efi_scan *s, size_t start, size_t end, const char *bytes, size_t length);

/* Reads the whole text. False after a fault, which the scan then holds; `*r` is filled as far as read. */
bool efi_reading_read(efi_scan *s, efi_reading *r);

/* `number` of this unit in base units; false when that is neither a normal number nor zero. */
bool efi_reading_convert(double number, const efi_unit *unit, double *value);

#endif
