/* SPDX-License-Identifier: GPL-3.0-or-later
 * What the verifier of a trace looks at where it runs a list of lots. */
#ifndef EFI_VERIFY_TRACE_LOTS_H
#define EFI_VERIFY_TRACE_LOTS_H

#include "model/scenario.h"
#include "shared/verify/differences.h"

#include <evenfeed/trace.h>

/* The most a station may take of any crop of the list, t/h; INFINITY where that is not said by weight. */
double efi_trace_check_most(const ef_scenario *scenario, const ef_trace *trace, const efi_station *station);

/* Order and amounts of the lots, and the clean-downs between them by the rules and the calendar. */
void efi_trace_check_lots(const ef_scenario *scenario, const ef_trace *trace, efi_differences *list);

/* Lists on a plant of several lines: what they make together, who runs what, and the events and stops of all
 * in the order of time (trace_lines.c). */
void efi_trace_check_lines(const ef_scenario *scenario, const ef_trace *trace, efi_differences *list);

#endif
