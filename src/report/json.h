/* SPDX-License-Identifier: GPL-3.0-or-later
 * JSON by jansson: numbers that may not be finite, places, and the finished text. */
#ifndef EFI_JSON_H
#define EFI_JSON_H

#include "base/text.h"

#include <evenfeed/diag.h>
#include <evenfeed/status.h>
#include <jansson.h>
#include <stdbool.h>
#include <stddef.h>

/* A document that is being built; after a failed allocation `failed` stays true. */
typedef struct efi_json {
    bool failed;
} efi_json;

/* New values; NULL texts and numbers that are not finite become null. Never NULL unless `failed`. */
json_t *efi_json_real(efi_json *json, double value);
json_t *efi_json_text(efi_json *json, const char *text);
json_t *efi_json_place(efi_json *json, const ef_place *place);
json_t *efi_json_object(efi_json *json);
json_t *efi_json_array(efi_json *json);

/* The object that a whole document is, which names the file of its schema (docs/schemas). */
json_t *efi_json_document(efi_json *json, const char *schema);

/* Adds a member or an entry, taking the value over. */
void efi_json_set(efi_json *json, json_t *object, const char *key, json_t *value);
void efi_json_append(efi_json *json, json_t *array, json_t *value);

/* Short forms. */
void efi_json_set_real(efi_json *json, json_t *object, const char *key, double value);
void efi_json_set_text(efi_json *json, json_t *object, const char *key, const char *text);
void efi_json_set_flag(efi_json *json, json_t *object, const char *key, bool flag);
void efi_json_set_count(efi_json *json, json_t *object, const char *key, int count);

/* A number, or null where it is not known. */
void efi_json_set_known(efi_json *json, json_t *object, const char *key, bool known, double value);

/* A number with its limits: an object of value, low, high. */
void efi_json_set_limits(efi_json *json, json_t *object, const char *key, double value, double low,
                         double high);

/* An array of `count` numbers. */
void efi_json_set_reals(efi_json *json, json_t *object, const char *key, const double *values, size_t count);

/* A text that is made for this member; frees it. */
void efi_json_take_text(efi_json *json, json_t *object, const char *key, efi_text *text);

/* The document as text, indented, 12 significant digits, with a line end; frees the document. EF_OK or
 * EF_MEMORY. */
ef_status efi_json_give(efi_json *json, json_t *root, char **text);

#endif
