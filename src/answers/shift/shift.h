/* SPDX-License-Identifier: GPL-3.0-or-later
 * What the files of the shift share: replications of one network. */
#ifndef EFI_SHIFT_H
#define EFI_SHIFT_H

#include "shared/engine/engine.h"
#include "shared/plant/plant.h"

#include <evenfeed/shift.h>

/* Replications of one network, independent of each other, each after a warm-up of its own. */
typedef struct efi_replicas {
    const efi_network *network;
    uint64_t seed;
    int runs;
    int threads;
    double warm_up_h;
    double shift_h;
    int streams;          /* stations whose tonnes are kept shift by shift */
    const int *stream_of; /* shape [streams]: station of the network */
    double *tonnes;       /* shape [streams][runs], receives what each took in each shift */
    efi_account *means;   /* shape [stations], receives mean accounts (times and tonnes); NULL: not wanted */
} efi_replicas;

/*
 * Runs all of them in blocks on threads; means are added up in the order of the blocks. EF_OK; EF_NO_ANSWER
 * with `trouble` when the network cannot run; EF_MEMORY, EF_INTERNAL.
 */
ef_status efi_replicas_run(const efi_replicas *replicas, efi_trouble *trouble);

#endif
