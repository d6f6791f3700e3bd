/* SPDX-License-Identifier: GPL-3.0-or-later
 * Work done while the n-th allocation fails, n = 1, 2, ..., for tests that each failure comes back. */
#ifndef TESTS_SHORT_MEMORY_H
#define TESTS_SHORT_MEMORY_H

#include <evenfeed/status.h>

/*
 * Does the work once as it is, which must end in EF_OK after more than `least` allocations; then with each of
 * the first `dense` allocations failing, and of the rest about `sparse`: each must end in EF_OK or EF_MEMORY,
 * or the running test fails. Returns how many ended in EF_MEMORY.
 */
int short_memory(ef_status (*work)(const void *context), const void *context, long least, long dense,
                 long sparse);

#endif
