/* SPDX-License-Identifier: GPL-3.0-or-later
 * Any bytes as a quantity. What is read comes back the same from its exact text; what is refused has its
 * culprit inside the text, and a likely text that can indeed be read. */
#include "base/display.h"

#include <math.h>
#include <stdint.h>
#include <stdlib.h>
#include <string.h>

int LLVMFuzzerTestOneInput(const uint8_t *data, size_t size);

static void demand(bool property)
{
    if (!property)
        abort();
}

static void check_exact_text(const efi_quantity *quantity)
{
    efi_text text = {0};
    efi_quantity back;
    efi_quantity_add_exact(&text, quantity);
    demand(!text.failed);
    demand(efi_quantity_parse_any(efi_text_get(&text), text.length, &back, NULL));
    demand(back.value == quantity->value && efi_dimension_equal(back.dimension, quantity->dimension));
    efi_text_free(&text);
}

/* What is printed for people is read back as the same kind, within the step that was printed. */
static void check_display(const efi_quantity *quantity)
{
    enum {
        LARGEST = 1000000000
    };
    const double bushel_t = 0.0254;
    const efi_quantity shown = efi_quantity_needs_trade_weight(quantity)
                                   ? efi_quantity_weigh(*quantity, bushel_t)
                                   : *quantity;
    if (!(fabs(shown.value) < LARGEST) || shown.kind == EFI_KIND_SHARE || shown.kind == EFI_KIND_COUNT)
        return;
    for (ef_units units = EF_UNITS_METRIC; units <= EF_UNITS_US; units++) {
        const efi_display display = efi_display_choose(shown.kind, units, shown.value, bushel_t,
                                                       shown.currency);
        const double step = pow(10.0, -display.decimals) * display.unit.numerator / display.unit.denominator;
        efi_text text = {0};
        efi_quantity back;
        efi_display_add(&text, &display, shown.value);
        demand(efi_quantity_parse(efi_text_get(&text), text.length, EFI_KIND_SET(shown.kind), &back, NULL));
        if (efi_quantity_needs_trade_weight(&back))
            back = efi_quantity_weigh(back, bushel_t);
        demand(fabs(back.value - shown.value) <= 0.51 * step + 1e-12 * fabs(shown.value));
        efi_text_free(&text);
    }
}

static void check_parse(const char *text, size_t size, efi_kinds kinds)
{
    efi_quantity quantity;
    efi_quantity_error error;
    if (!efi_quantity_parse(text, size, kinds, &quantity, &error)) {
        demand(error.fault < EFI_QUANTITY_FAULT_LIMIT);
        demand(error.start <= error.end && error.end <= size);
        demand(error.likely[0] == '\0' ||
               efi_quantity_parse(error.likely, strlen(error.likely), kinds, &quantity, NULL));
        return;
    }
    demand(isfinite(quantity.value));
    demand(quantity.kind < EFI_KIND_LIMIT && (kinds & EFI_KIND_SET(quantity.kind)) != 0);
    demand(efi_quantity_needs_trade_weight(&quantity) ||
           efi_dimension_equal(quantity.dimension, efi_kind_dimension(quantity.kind)));
    check_display(&quantity);
}

int LLVMFuzzerTestOneInput(const uint8_t *data, size_t size)
{
    /* No quantity is longer, and some thirty ways of reading each input should not take milliseconds. */
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
    efi_quantity quantity;
    if (efi_quantity_parse_any(text, size, &quantity, NULL)) {
        check_exact_text(&quantity);
        for (efi_kind kind = 0; kind < EFI_KIND_LIMIT; kind++)
            check_parse(text, size, EFI_KIND_SET(kind));
    }
    check_parse(text, size, EFI_KIND_SET(EFI_KIND_MASS_RATE) | EFI_KIND_SET(EFI_KIND_VOLUME_RATE));
    check_parse(text, size, EFI_KIND_SET(EFI_KIND_SHARE) | EFI_KIND_SET(EFI_KIND_COUNT));
    free(text);
    return 0;
}
