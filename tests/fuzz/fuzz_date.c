/* SPDX-License-Identifier: GPL-3.0-or-later
 * Any bytes as a date, a time of the day, a moment and a set of weekdays. What is read comes back the same
 * from its written text; what is refused has its culprit inside the text, and a likely text that can be read.
 */
#include "base/date.h"

#include <stdint.h>
#include <stdlib.h>
#include <string.h>

int LLVMFuzzerTestOneInput(const uint8_t *data, size_t size);

static void demand(bool property)
{
    if (!property)
        abort();
}

/* Returns whether there is a likely text. */
static bool check_error(const efi_date_error *error, size_t size)
{
    demand(error->fault < EFI_DATE_FAULT_LIMIT);
    demand(error->start <= error->end && error->end <= size);
    demand(memchr(error->likely, '\0', sizeof error->likely) != NULL);
    demand(memchr(error->offered, '\0', sizeof error->offered) != NULL);
    return error->likely[0] != '\0';
}

static void check_date(const char *text, size_t size)
{
    efi_date_error error;
    int64_t day;
    int64_t back;
    if (!efi_date_parse(text, size, &day, &error)) {
        demand(!check_error(&error, size) || efi_date_parse(error.likely, strlen(error.likely), &day, NULL));
        return;
    }
    efi_text written = {0};
    efi_date_add(&written, day);
    demand(efi_date_parse(written.bytes, written.length, &back, NULL) && back == day);
    efi_text_free(&written);
}

static void check_clock(const char *text, size_t size)
{
    efi_date_error error;
    int clock;
    int back;
    if (!efi_clock_parse(text, size, &clock, &error)) {
        demand(!check_error(&error, size) ||
               efi_clock_parse(error.likely, strlen(error.likely), &clock, NULL));
        return;
    }
    efi_text written = {0};
    efi_clock_add(&written, clock);
    demand(efi_clock_parse(written.bytes, written.length, &back, NULL) && back == clock);
    efi_text_free(&written);
}

static void check_moment(const char *text, size_t size)
{
    efi_date_error error;
    int64_t moment;
    if (!efi_moment_parse(text, size, &moment, &error))
        demand(!check_error(&error, size) ||
               efi_moment_parse(error.likely, strlen(error.likely), &moment, NULL));
}

static void check_weekdays(const char *text, size_t size)
{
    efi_date_error error;
    efi_weekdays days;
    efi_weekdays back;
    if (!efi_weekdays_parse(text, size, &days, &error)) {
        demand(!check_error(&error, size) ||
               efi_weekdays_parse(error.likely, strlen(error.likely), &days, NULL));
        return;
    }
    demand(days != 0 && days <= EFI_WEEKDAYS_ALL);
    efi_text written = {0};
    efi_weekdays_add(&written, days);
    demand(efi_weekdays_parse(written.bytes, written.length, &back, NULL) && back == days);
    efi_text_free(&written);
}

int LLVMFuzzerTestOneInput(const uint8_t *data, size_t size)
{
    enum {
        LONGEST = 256
    };
    if (size > LONGEST)
        return 0;
    /* A copy of its own, so that a read past the end is seen even where the engine pads. */
    char *text = malloc(size ? size : 1);
    if (!text)
        return 0;
    if (size)
        memcpy(text, data, size);
    check_date(text, size);
    check_clock(text, size);
    check_moment(text, size);
    check_weekdays(text, size);
    free(text);
    return 0;
}
