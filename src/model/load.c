/* SPDX-License-Identifier: GPL-3.0-or-later
 * From a file to a checked scenario, and the small questions one may ask of it. */
#include "base/locale.h"
#include "base/text.h"
#include "model/beside.h"

#include <errno.h>
#include <stdio.h>
#include <string.h>

/* What a scenario is made from. */
typedef struct origin {
    const char *name;
    char *bytes; /* taken over; from efi_new */
    size_t length;
    const char *directory; /* where tables beside it are, ending in a slash; NULL: nowhere */
    const char *const *settings;
    int setting_count;
} origin;

static void bind_all(efi_binder *b, const origin *from)
{
    efi_beside_read(b, from->directory);
    for (int i = 0; i < from->setting_count; i++)
        efi_beside_set(b, from->settings[i]);
    efi_bind_file(b, b->scenario->tree.root);
    efi_bind_finish(b);
    if (!b->scenario->tree.cut_short && !b->failed && b->scenario->stations)
        efi_rules_run(b);
}

static ef_status read_origin(const origin *from, ef_diags *diags, ef_scenario **result)
{
    ef_scenario *scenario = efi_new(1, sizeof *scenario);
    efi_arena *arena = scenario ? efi_arena_new() : NULL;
    if (!arena) {
        efi_free(scenario);
        efi_free(from->bytes);
        return EF_MEMORY;
    }
    scenario->arena = arena;
    scenario->bytes = from->bytes;
    efi_binder b = {
        .scenario = scenario, .diags = diags, .unread_crop = {.trade_weight_tpbu = {.bad = true}}};
    const int errors_before = efi_diags_errors(diags);
    const char *name = efi_arena_text(arena, from->name, strlen(from->name));
    ef_status status = name ? efi_tree_read(&scenario->tree, arena, name, from->bytes, from->length, diags)
                            : EF_MEMORY;
    if (status == EF_OK && scenario->tree.root) {
        bind_all(&b, from);
    } else if (status == EF_OK && efi_diags_errors(diags) == errors_before) {
        const ef_diag draft = {
            .place = {.file = name}, .message = "the file holds nothing", .likely = "evenfeed: 1"};
        efi_diags_add(diags, EFI_DIAG_VALUE_EMPTY, &draft);
    }
    if (b.failed || efi_diags_failed(diags))
        status = EF_MEMORY;
    efi_diags_sort(diags);
    if (status == EF_OK && efi_diags_errors(diags) > errors_before)
        status = EF_SCENARIO;
    if (status != EF_OK) {
        ef_scenario_free(scenario);
        return status;
    }
    *result = scenario;
    return EF_OK;
}

ef_status ef_scenario_read(const char *name, const char *bytes, size_t length, ef_diags *diags,
                           ef_scenario **scenario)
{
    efi_locale locale;
    EF_TRY(efi_locale_enter(&locale));
    ef_status status = EF_MEMORY;
    char *copy = efi_new(length, 1);
    if (copy) {
        if (length)
            memcpy(copy, bytes, length);
        const origin from = {.name = name, .bytes = copy, .length = length};
        status = read_origin(&from, diags, scenario);
    }
    efi_locale_leave(&locale);
    return status;
}

/* Reads a stream to its end, or to one byte past what is accepted. The caller frees `*bytes`. */
static ef_status read_stream(FILE *stream, char **bytes, size_t *length)
{
    size_t room = 1 << 16;
    size_t used = 0;
    char *buffer = efi_new(room, 1);
    while (buffer) {
        used += fread(buffer + used, 1, room - used, stream);
        if (used < room || used > EFI_MOST_BYTES)
            break;
        room *= 2;
        char *grown = efi_resize(buffer, room, 1);
        if (!grown)
            efi_free(buffer);
        buffer = grown;
    }
    if (!buffer)
        return EF_MEMORY;
    if (ferror(stream)) {
        efi_free(buffer);
        return EF_FILE;
    }
    *bytes = buffer;
    *length = used;
    return EF_OK;
}

ef_status efi_file_read(const char *path, char **bytes, size_t *length)
{
    const bool standard_input = strcmp(path, "-") == 0;
    FILE *stream = standard_input ? stdin : fopen(path, "rb");
    if (!stream)
        return EF_FILE;
    const ef_status status = read_stream(stream, bytes, length);
    const int reason = errno;
    if (!standard_input)
        (void)fclose(stream); /* only read from: nothing can be lost */
    errno = reason;
    return status;
}

/* Everything of a path up to its last slash; "" for a bare name. */
static ef_status directory_of(const char *path, efi_text *directory)
{
    const char *slash = strrchr(path, '/');
    efi_text_add_bytes(directory, path, slash ? (size_t)(slash + 1 - path) : 0);
    return directory->failed ? EF_MEMORY : EF_OK;
}

ef_status ef_scenario_load(const char *path, const char *const *settings, int setting_count, ef_diags *diags,
                           ef_scenario **scenario)
{
    char *bytes;
    size_t length;
    EF_TRY(efi_file_read(path, &bytes, &length));
    efi_text directory = {0};
    efi_locale locale;
    ef_status status = directory_of(path, &directory);
    if (status == EF_OK)
        status = efi_locale_enter(&locale);
    if (status != EF_OK) {
        efi_text_free(&directory);
        efi_free(bytes);
        return status;
    }
    const origin from = {.name = strcmp(path, "-") == 0 ? "standard input" : path,
                         .bytes = bytes,
                         .length = length,
                         .directory = efi_text_get(&directory),
                         .settings = settings,
                         .setting_count = setting_count};
    status = read_origin(&from, diags, scenario);
    efi_locale_leave(&locale);
    efi_text_free(&directory);
    return status;
}

void ef_scenario_free(ef_scenario *scenario)
{
    if (!scenario)
        return;
    efi_arena_free(scenario->arena);
    efi_free(scenario->bytes);
    efi_free(scenario);
}

const char *ef_scenario_plant(const ef_scenario *scenario)
{
    return scenario->plant->name;
}

int ef_scenario_crops(const ef_scenario *scenario)
{
    return scenario->crop_count;
}

int ef_scenario_stations(const ef_scenario *scenario)
{
    return scenario->station_count;
}

int ef_scenario_materials(const ef_scenario *scenario)
{
    return scenario->material_count;
}

const char *ef_scenario_crop(const ef_scenario *scenario, int index)
{
    return index >= 0 && index < scenario->crop_count ? scenario->crops[index].name : NULL;
}

int ef_scenario_find_crop(const ef_scenario *scenario, const char *name)
{
    return efi_index_find(&scenario->crop_index, name, strlen(name));
}

int efi_index_find(const efi_index *index, const char *name, size_t length)
{
    int low = 0;
    int high = index->count - 1;
    while (low <= high) {
        const int middle = low + (high - low) / 2;
        const char *candidate = index->name[middle];
        int order = strncmp(candidate, name, length);
        if (order == 0 && candidate[length] != '\0')
            order = 1;
        if (order == 0)
            return index->item[middle];
        if (order < 0)
            low = middle + 1;
        else
            high = middle - 1;
    }
    return -1;
}

efi_value efi_scenario_density(const ef_scenario *scenario, int crop, int material)
{
    const efi_value own = scenario->materials[material].density_tpm3;
    return own.given ? own : scenario->crops[crop].density_tpm3;
}

double efi_stop_least_h(const efi_stop *stop)
{
    return (stop->lockout_h.given ? stop->lockout_h.value : 0.0) +
           (stop->bin_entry_h.given ? stop->bin_entry_h.value : 0.0);
}

efi_value efi_station_live_m3(const efi_station *bin, int crop)
{
    if (bin->live_m3.given || !bin->live_by_crop_m3)
        return bin->live_m3;
    return bin->live_by_crop_m3[crop];
}
