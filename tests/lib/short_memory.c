/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "short_memory.h"

#include "base/memory.h"

#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>

#include <cmocka.h>

int short_memory(ef_status (*work)(const void *context), const void *context, long least, long dense,
                 long sparse)
{
    (void)efi_memory_fail_at(0);
    assert_int_equal(work(context), EF_OK);
    const long count = efi_memory_fail_at(0);
    assert_true(count > least);
    int failures = 0;
    for (long n = 1; n <= count; n += n < dense ? 1 : 1 + count / sparse) {
        (void)efi_memory_fail_at(n);
        const ef_status status = work(context);
        (void)efi_memory_fail_at(0);
        if (status != EF_MEMORY && status != EF_OK)
            print_message("allocation %ld: status %d\n", n, (int)status);
        assert_true(status == EF_MEMORY || status == EF_OK);
        failures += status == EF_MEMORY;
    }
    print_message("%ld allocations, %d failures looked at\n", count, failures);
    return failures;
}
