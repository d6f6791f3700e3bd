/* SPDX-License-Identifier: GPL-3.0-or-later
 * All pictures that can be drawn: their names, what they show, and any of them as SVG. */
#ifndef EVENFEED_PICTURE_H
#define EVENFEED_PICTURE_H

#include <evenfeed/balance.h>
#include <evenfeed/bins.h>
#include <evenfeed/season.h>
#include <evenfeed/shift.h>
#include <evenfeed/status.h>
#include <evenfeed/trace.h>
#include <evenfeed/units.h>

#ifdef __cplusplus
extern "C" {
#endif

/* The answer that a picture shows. */
typedef enum ef_picture_answer {
    EF_PICTURE_OF_BALANCE,
    EF_PICTURE_OF_BINS,
    EF_PICTURE_OF_TRACE,
    EF_PICTURE_OF_SHIFT,
    EF_PICTURE_OF_SEASON
} ef_picture_answer;

/* One kind of picture. */
typedef struct ef_picture {
    const char *name; /* a word */
    ef_picture_answer answer;
    const char
        *parts; /* what there is one picture for each of: "crop", "bin" ...; NULL: there is one alone */
    const char *meaning; /* what is to be seen, a line without full stop */
} ef_picture;

/* Answers to draw; those that are not there are NULL. */
typedef struct ef_picture_source {
    const ef_balance *balance;
    const ef_bins *bins;
    const ef_trace *trace;
    const ef_shift *shift;
    const ef_season *season;
} ef_picture_source;

/* Kind number `index`, from 0 on, NULL behind the last: those of one answer side by side, the most asked for
 * first. Any thread, as are all below. */
const ef_picture *ef_picture_at(int index);

/* The kind of that name; NULL when there is none. */
const ef_picture *ef_picture_find(const char *name);

/* How many pictures of a kind the answers give: 0 when the answer is not there or has nothing to draw. */
int ef_picture_parts(const ef_picture *picture, const ef_picture_source *source);

/* What part number `part`, from 0 on, is about, in `*name`: the name of a crop, a bin, a station on a crop;
 * "" where there is one picture alone. To be freed with ef_report_free. EF_OK, EF_USAGE (no such part),
 * EF_MEMORY. */
ef_status ef_picture_part(const ef_picture *picture, const ef_picture_source *source, int part, char **name);

/*
 * Draws part number `part` as SVG 1.1, a new UTF-8 text in `*svg` to be freed with ef_report_free. It stands
 * alone or in an HTML page, beside others too: no ids, its style is for class "ef" only, its colours follow a
 * dark screen, and on paper what colours tell apart is told by hatching, dashes or words too. EF_OK;
 * EF_USAGE: no such part; EF_NO_ANSWER: there is nothing to draw; EF_MEMORY.
 */
ef_status ef_picture_svg(const ef_picture *picture, const ef_picture_source *source, int part, ef_units units,
                         char **svg);

#ifdef __cplusplus
}
#endif
#endif
