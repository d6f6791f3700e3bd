/* SPDX-License-Identifier: GPL-3.0-or-later
 * Lists of lots, for tests: each answer passes through its verifier. */
#ifndef TESTS_LISTS_H
#define TESTS_LISTS_H

#include "scenarios.h"

#include <evenfeed/shift_lots.h>
#include <evenfeed/trace.h>

/* The cleaner takes 10 % of wheat and 20 % of barley away, if all chaff. */
#define FRAME                                                                                                \
    "evenfeed: 1\nplant: {name: Lots (invented), labour price: 28 EUR/h, people: 2}\nmaterials: {sound: "    \
    "{wanted: yes}, chaff: }\ncrops:\n"                                                                      \
    "  wheat: {density: 0.8 t/m3, receipt: {sound: rest, chaff: 10 %}}\n"                                    \
    "  barley: {density: 0.5 t/m3, receipt: {sound: rest, chaff: 20 %}}\n"

/* Two machines right behind each other: wheat at 5 t/h, barley at 4 t/h. */
#define TWO_CROPS                                                                                            \
    FRAME "stations:\n"                                                                                      \
          "  Pit: {kind: intake, capacity: 20 t/h, to: Cleaner}\n"                                           \
          "  Cleaner:\n"                                                                                     \
          "    kind: air-screen cleaner\n"                                                                   \
          "    capacity: {wheat: 5 t/h, barley: 4 t/h}\n"                                                    \
          "    discharges:\n"                                                                                \
          "      air: {takes: {chaff: 100 %}, to: Chaff}\n"                                                  \
          "      seed: {takes: rest, to: Bagger}\n"                                                          \
          "  Bagger: {kind: bagger, capacity: 10 t/h, to: Bags}\n"                                           \
          "  Bags: {kind: outlet, product: yes}\n"                                                           \
          "  Chaff: {kind: outlet}\n"

#define THREE_LOTS                                                                                           \
    "lots:\n"                                                                                                \
    "  A: {crop: wheat, variety: Amber, amount: 10 t}\n"                                                     \
    "  B: {crop: wheat, variety: Tamar, amount: 15 t}\n"                                                     \
    "  C: {crop: barley, variety: Vela, amount: 8 t}\n"

#define TWO_RULES "other crop: {when: crop, takes: 3 h}\n    other variety: {when: variety, takes: 90 min}\n"

/* The leg is what limits: 10 t/h, of which the split sends 60 % north. Nothing stops or is cleaned. */
#define SHARED_LEG                                                                                           \
    FRAME "lines: {North: , South: }\nstations:\n"                                                           \
          "  Pit: {kind: intake, capacity: 40 t/h, to: Leg}\n"                                               \
          "  Leg: {kind: elevator, capacity: 10 t/h, to: Flap}\n"                                            \
          "  Flap: {kind: split, rule: fixed, branches: {north: {share: 60 %, to: North cleaner}, south: "   \
          "{share: 40 %, to: South cleaner}}}\n"                                                             \
          "  North cleaner: {kind: air-screen cleaner, line: North, capacity: 9 t/h, discharges: {air: "     \
          "{takes: {chaff: 100 %}, to: Screw}, seed: {takes: rest, to: North seed}}}\n"                      \
          "  South cleaner: {kind: air-screen cleaner, line: South, capacity: 9 t/h, discharges: {air: "     \
          "{takes: {chaff: 50 %}, to: Screw}, seed: {takes: rest, to: South seed}}}\n"                       \
          "  Screw: {kind: belt conveyor, capacity: 30 t/h, to: Chaff}\n"                                    \
          "  Chaff: {kind: outlet}\n"                                                                        \
          "  North seed: {kind: outlet, product: yes}\n"                                                     \
          "  South seed: {kind: outlet, product: yes}\n"

/* Six runs on one thread. */
ef_shift_lots_settings lists_quick(void);

/* Run, verified, to be freed by the caller; fail the running test otherwise. */
ef_shift_lots *lists_run(const ef_scenario *scenario, ef_shift_lots_settings settings);
ef_trace *lists_trace(const ef_scenario *scenario, double hours);

/* Does the verifier agree? `shown`: what differs is printed. */
bool lists_verified(const ef_scenario *scenario, const ef_shift_lots *lots, bool shown);
bool lists_trace_verified(const ef_scenario *scenario, const ef_trace *trace, bool shown);

#endif
