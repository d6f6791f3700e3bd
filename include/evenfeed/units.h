/* SPDX-License-Identifier: GPL-3.0-or-later
 * In which units people read results. */
#ifndef EVENFEED_UNITS_H
#define EVENFEED_UNITS_H

#ifdef __cplusplus
extern "C" {
#endif

/* units, word in a scenario and on the command line, words */
#define EF_UNITS_LIST(X)                                                                                     \
    X(EF_UNITS_METRIC, "metric", "tonnes, cubic metres, metres")                                             \
    X(EF_UNITS_US, "us", "bushels by trade weight, pounds, short tons, cubic feet, feet")

typedef enum ef_units {
#define EF_UNITS_ENUM(name, word, words) name,
    EF_UNITS_LIST(EF_UNITS_ENUM)
#undef EF_UNITS_ENUM
} ef_units;

#ifdef __cplusplus
}
#endif
#endif
