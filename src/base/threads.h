/* SPDX-License-Identifier: GPL-3.0-or-later
 * Independent jobs on a few threads, with a result that does not depend on how many. */
#ifndef EFI_THREADS_H
#define EFI_THREADS_H

#include "base/base.h"

/*
 * One job: does number `index` of a run and writes nothing but its own slot of `context`. It must not depend
 * on which other jobs are done. What a library keeps for each thread is for the job itself to release before
 * it returns.
 */
typedef ef_status efi_thread_job(void *context, int index);

/*
 * Calls job(context, index) once for every index 0 .. count - 1 and returns when all are done. The caller's
 * thread works too; `threads` - 1 more are started (threads <= 1: none), and a thread that cannot be started
 * is done without. Returns EF_OK, or what the failed job of the lowest index returned; jobs of a higher index
 * may then have been left out. `context` is borrowed. May be called from several threads at once.
 */
ef_status efi_threads_run(int threads, int count, efi_thread_job *job, void *context);

/* Processors that this process may use, at least 1. A default for `threads`; results never depend on it. */
int efi_threads_available(void);

#endif
