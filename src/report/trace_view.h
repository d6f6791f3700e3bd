/* SPDX-License-Identifier: GPL-3.0-or-later
 * What the files that print a trace for people share. */
#ifndef EFI_TRACE_VIEW_H
#define EFI_TRACE_VIEW_H

#include "report/paper.h"
#include "report/report.h"

#include <evenfeed/trace.h>

/* Of a list of lots: the first sentence, of several lines or of one; how it is run; each lot in a row, with a
 * picture of when it was on the line. */
void efi_trace_add_list(efi_paper *paper, const ef_trace *trace, ef_units units);
void efi_trace_add_list_notes(efi_paper *paper, const ef_trace *trace);
void efi_trace_add_lots(efi_paper *paper, const ef_trace *trace, ef_units units);

/* Is the event shown to people? Steps of batches are not; of a list only what happens to lots, and
 * clean-downs. */
bool efi_trace_is_shown(const ef_trace *trace, const ef_trace_event *event);

#endif
