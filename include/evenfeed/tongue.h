/* SPDX-License-Identifier: GPL-3.0-or-later
 * The language in which reports speak to people. Each language but English is a catalogue of messages; what
 * machines read (JSON, the tables of one answer, plan files, calendars' keys) is the same in all of them. */
#ifndef EVENFEED_TONGUE_H
#define EVENFEED_TONGUE_H

#include <evenfeed/status.h>

#ifdef __cplusplus
extern "C" {
#endif

/* The languages, from 0 on: the tag of a language by BCP 47 ("en", "de"), and its name in itself ("English");
 * NULL behind the last. The first is English. Valid for ever. */
const char *ef_tongue_tag(int index);
const char *ef_tongue_name(int index);

/* From now on the functions of report.h speak this language to the calling thread; other threads are left
 * alone, and each begins with English. `tag` not NULL. EF_OK; EF_USAGE: no such language, nothing changed. */
ef_status ef_tongue_use(const char *tag);

/* The tag of the language of the calling thread. Valid for ever. */
const char *ef_tongue_used(void);

#ifdef __cplusplus
}
#endif

#endif
