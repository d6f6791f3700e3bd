/* SPDX-License-Identifier: GPL-3.0-or-later
 * A bin of steel on a paper and as JSON: a part of the answer about bins. */
#ifndef EFI_REPORT_STEEL_H
#define EFI_REPORT_STEEL_H

#include "base/display.h"
#include "report/json.h"
#include "report/paper.h"

#include <evenfeed/steel.h>

/* Adds the bin: a sentence with its dimensions, a table by crop, remarks; or why there is none. Not the
 * cautions. */
void efi_steel_put(efi_paper *paper, const ef_steel *steel, ef_units units);

/* Adds the cautions, once for all bins. */
void efi_steel_put_cautions(efi_paper *paper, const ef_steel *steel);

/* The bin as an object; never NULL unless `json->failed`. */
json_t *efi_steel_json(efi_json *json, const ef_steel *steel);

#endif
