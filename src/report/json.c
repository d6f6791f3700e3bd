/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "report/json.h"
#include "report/report.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

enum {
    DIGITS = 12
};

static json_t *checked(efi_json *json, json_t *value)
{
    if (!value)
        json->failed = true;
    return value;
}

json_t *efi_json_real(efi_json *json, double value)
{
    return checked(json, isfinite(value) ? json_real(value) : json_null());
}

json_t *efi_json_text(efi_json *json, const char *text)
{
    return checked(json, text ? json_string(text) : json_null());
}

json_t *efi_json_object(efi_json *json)
{
    return checked(json, json_object());
}

json_t *efi_json_array(efi_json *json)
{
    return checked(json, json_array());
}

json_t *efi_json_document(efi_json *json, const char *schema)
{
    json_t *root = efi_json_object(json);
    efi_json_set_text(json, root, "schema", schema);
    return root;
}

void efi_json_set(efi_json *json, json_t *object, const char *key, json_t *value)
{
    if (!object || !value || json_object_set_new(object, key, value) != 0)
        json->failed = true;
}

void efi_json_append(efi_json *json, json_t *array, json_t *value)
{
    if (!array || !value || json_array_append_new(array, value) != 0)
        json->failed = true;
}

void efi_json_set_real(efi_json *json, json_t *object, const char *key, double value)
{
    efi_json_set(json, object, key, efi_json_real(json, value));
}

void efi_json_set_text(efi_json *json, json_t *object, const char *key, const char *text)
{
    efi_json_set(json, object, key, efi_json_text(json, text));
}

void efi_json_set_flag(efi_json *json, json_t *object, const char *key, bool flag)
{
    efi_json_set(json, object, key, checked(json, json_boolean(flag)));
}

void efi_json_set_count(efi_json *json, json_t *object, const char *key, int count)
{
    efi_json_set(json, object, key, checked(json, json_integer(count)));
}

void efi_json_set_known(efi_json *json, json_t *object, const char *key, bool known, double value)
{
    efi_json_set(json, object, key, known ? efi_json_real(json, value) : efi_json_text(json, NULL));
}

void efi_json_set_limits(efi_json *json, json_t *object, const char *key, double value, double low,
                         double high)
{
    json_t *inner = efi_json_object(json);
    efi_json_set_real(json, inner, "value", value);
    efi_json_set_real(json, inner, "low", low);
    efi_json_set_real(json, inner, "high", high);
    efi_json_set(json, object, key, inner);
}

void efi_json_set_reals(efi_json *json, json_t *object, const char *key, const double *values, size_t count)
{
    json_t *array = efi_json_array(json);
    for (size_t i = 0; i < count; i++)
        efi_json_append(json, array, efi_json_real(json, values[i]));
    efi_json_set(json, object, key, array);
}

void efi_json_take_text(efi_json *json, json_t *object, const char *key, efi_text *text)
{
    efi_json_set_text(json, object, key, efi_text_get(text));
    json->failed = json->failed || text->failed;
    efi_text_free(text);
}

json_t *efi_json_place(efi_json *json, const ef_place *place)
{
    json_t *object = efi_json_object(json);
    efi_json_set_text(json, object, "file", place->file);
    efi_json_set_count(json, object, "line", place->line);
    efi_json_set_count(json, object, "column", place->column);
    return object;
}

ef_status efi_json_give(efi_json *json, json_t *root, char **text)
{
    char *dumped = json->failed ? NULL : json_dumps(root, JSON_INDENT(2) | JSON_REAL_PRECISION(DIGITS));
    json_decref(root);
    if (!dumped)
        return EF_MEMORY;
    efi_text out = {0};
    efi_text_add(&out, dumped);
    efi_text_add(&out, "\n");
    free(dumped);
    return efi_report_give(&out, text);
}
