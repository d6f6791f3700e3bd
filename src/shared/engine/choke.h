/* SPDX-License-Identifier: GPL-3.0-or-later
 * Loops that have choked for good while other lines still run: who holds up whom, looked at from outside. */
#ifndef EFI_CHOKE_H
#define EFI_CHOKE_H

#include "shared/engine/engine.h"

/* Stations of a loop that hold each other up; stations 0: none. */
typedef struct efi_choke {
    int stations;
    int station[EFI_TROUBLE_STATIONS]; /* rising; the first EFI_TROUBLE_STATIONS of them */
} efi_choke;

/*
 * Looks for a loop that can never move again by itself: full bins that give nothing and blocked stations that
 * are not stopped, each held up by another of them. Takes time in proportion to spouts times what is held up,
 * and none of the engine's own: call between runs, or within a watch. A loop that stands for a while only,
 * because something after it is stopped or full, is none. `network` is the engine's. EF_OK or EF_MEMORY.
 */
ef_status efi_choke_find(const efi_engine *engine, const efi_network *network, efi_choke *choke);

#endif
