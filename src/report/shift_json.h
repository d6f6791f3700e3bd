/* SPDX-License-Identifier: GPL-3.0-or-later
 * What shifts and lists of lots have in common as JSON. */
#ifndef EFI_SHIFT_JSON_H
#define EFI_SHIFT_JSON_H

#include "report/json.h"

#include <evenfeed/shift.h>

/* A figure with its limits. */
void efi_shift_set_estimate(efi_json *json, json_t *object, const char *key, ef_shift_estimate estimate);

/* `streams`: an array of what comes in and goes out in a shift. */
void efi_shift_set_streams(efi_json *json, json_t *object, const ef_shift_stream *streams, int count);

/* `hours_h`: of each sort; `hours` has shape [EF_SHIFT_HOURS_COUNT]. */
void efi_shift_set_hours(efi_json *json, json_t *object, const double *hours);

#endif
