/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "report/picture/style.h"

#include <stddef.h>

/* Colours that stay apart for colour-blind readers (after the set of M. Okabe and K. Ito, "Color universal
 * design", 2008, darkened for contrast on white and lightened on black); what they tell apart differs in
 * stroke, hatching, place or words too. */
#define INK          "ink", "#1c2733"
#define SOFT         "soft", "#4a5866"
#define PAPER        "paper", "#ffffff"
#define BOX          "box", "#f4f6f8"
#define LINE         "line", "#6f7c8a"
#define FAINT        "faint", "#d9dfe5"
#define PRODUCT      "product", "#0a6aa6"
#define PRODUCT_SOFT "product-soft", "#a9d0e8"
#define REJECT       "reject", "#9a5b00"
#define RETURNS      "returns", "#7d3f86"
#define RETURNS_SOFT "returns-soft", "#e3c8e7"
#define GREEN_SOFT   "green-soft", "#bfe3cf"
#define LIMIT        "limit", "#b3261e"
#define LIMIT_SOFT   "limit-soft", "#f0b8b3"
#define WAIT         "wait", "#d8a800"
#define WAIT_SOFT    "wait-soft", "#f6e3a1"
#define STOP         "stop", "#5c6773"
#define STOP_SOFT    "stop-soft", "#c3cbd3"

/* A colour, first as it is, then by its variable; and a variable that is set. */
#define COLOUR(property, name, value) property ":" value ";" property ":var(--ef-" name "," value ")"
#define FILL(pair)                    COLOUR("fill", pair)
#define STROKE(pair)                  COLOUR("stroke", pair)
#define VARIABLE(name, value)         "--ef-" name ":" value ";"
#define SET(pair)                     VARIABLE(pair)

const char *const efi_style[] = {
    "<style>\n"
    "svg.ef{font-family:system-ui,sans-serif;max-width:100%;height:auto}\n"
    "@media(prefers-color-scheme:dark){.ef{--ef-ink:#e8edf2;--ef-soft:#b4c0cc;--ef-paper:#14191f;"
    "--ef-box:#202830;--ef-line:#8391a0;--ef-faint:#333d47;--ef-product:#62b5ea;--ef-product-soft:#1f4a68;"
    "--ef-reject:#e0a04a;--ef-returns:#cf9ad8;--ef-returns-soft:#553a5a;--ef-green-soft:#1f4d38;--ef-limit:#"
    "ff8a80;--ef-limit-soft:#6e2f2b;--ef-wait:#e6c34d;"
    "--ef-wait-soft:#574a1c;--ef-stop:#98a5b2;--ef-stop-soft:#434e59}}\n"
    /* on paper */
    "@media print{.ef{" SET(INK) SET(SOFT) SET(PAPER) SET(BOX) SET(LINE) SET(FAINT) SET(PRODUCT)
        SET(PRODUCT_SOFT) SET(REJECT) SET(RETURNS) SET(RETURNS_SOFT) SET(GREEN_SOFT) SET(LIMIT)
            SET(LIMIT_SOFT) SET(WAIT) SET(WAIT_SOFT) SET(STOP) SET(STOP_SOFT) "print-color-"
                                                                              "adjust:exact}}\n",
    /* words */
    ".ef text{" FILL(
        INK) "}\n"
             ".ef .title{font-size:16px;font-weight:600}\n"
             ".ef .name{font-size:13px;font-weight:600}\n"
             ".ef .label,.ef .inside,.ef .count{font-size:12px}.ef .inside{" FILL(
                 PAPER) "}\n"
                        ".ef .note,.ef .rate,.ef .legend{font-size:11px;" FILL(
                            SOFT) "}\n"
                                  ".ef .strong{font-weight:600}.ef .note.strong{" FILL(
                                      LIMIT) "}\n"
                                             ".ef .rate,.ef "
                                             ".count{paint-order:stroke;stroke-width:3px;"
                                             "stroke-linejoin:round;" STROKE(
                                                 PAPER) "}\n"
                                                        /* the sheet, axes, bars */
                                                        ".ef .ground{" FILL(PAPER) "}\n"
                                                                                   ".ef .grid{" STROKE(FAINT) "}.ef .edge{" STROKE(
                                                                                       LINE) "}\n"
                                                                                             ".ef "
                                                                                             ".mark{fill:"
                                                                                             "none;"
                                                                                             "stroke-width:1."
                                                                                             "6;" STROKE(
                                                                                                 LIMIT) "}."
                                                                                                        "ef "
                                                                                                        ".mar"
                                                                                                        "k."
                                                                                                        "oute"
                                                                                                        "r{"
                                                                                                        "stro"
                                                                                                        "ke"
                                                                                                        "-das"
                                                                                                        "ha"
                                                                                                        "rray"
                                                                                                        ":"
                                                                                                        "5 "
                                                                                                        "3}\n"
                                                                                                        ".ef "
                                                                                                        ".bar"
                                                                                                        "{" FILL(PRODUCT) "}.ef .bar.now{" FILL(
                                                                                                            STOP) "}\n"
                                                                                                                  ".ef .part{stroke-width:1;" STROKE(
                                                                                                                      PAPER) "}\n"
                                                                                                                             ".ef .hatch{fill:none;stroke-width:1.5;pointer-events:none;" STROKE(
                                                                                                                                 PAPER) "}.ef .hatch.dark{stroke-width:1;" STROKE(INK) "}\n",
    /* the line */
    ".ef .box{stroke-width:1.2;" FILL(BOX) ";" STROKE(
        LINE) "}\n"
              ".ef .box.steady{stroke-width:2;" STROKE(
                  INK) "}\n"
                       ".ef "
                       ".box.limits{stroke-width:"
                       "3;" STROKE(
                           LIMIT) "}\n"
                                  ".ef "
                                  ".load{" FILL(LINE) "}."
                                                      "ef"
                                                      " ."
                                                      "lo"
                                                      "ad"
                                                      ".l"
                                                      "im"
                                                      "it"
                                                      "s"
                                                      "{" FILL(
                                                          LIMIT) "}\n"
                                                                 ".ef .stream{fill:none}\n"
                                                                 ".ef .stream.product{" STROKE(PRODUCT) "}."
                                                                                                        "ef "
                                                                                                        ".hea"
                                                                                                        "d."
                                                                                                        "prod"
                                                                                                        "uct"
                                                                                                        "{" FILL(PRODUCT) "}\n"
                                                                                                                          ".ef .stream.reject{stroke-dasharray:3 2.5;" STROKE(REJECT) "}.ef .head.reject{" FILL(REJECT) "}\n"
                                                                                                                                                                                                                        ".ef .stream.returns{stroke-dasharray:10 4;" STROKE(RETURNS) "}.ef .head.returns{" FILL(RETURNS) "}\n"
                                                                                                                                                                                                                                                                                                                         /* hours */
                                                                                                                                                                                                                                                                                                                         ".ef .runs{" FILL(PRODUCT) "}.ef .slow{" FILL(PRODUCT_SOFT) "}.ef .warm{" FILL(RETURNS) "}\n"
                                                                                                                                                                                                                                                                                                                                                                                                                 ".ef .starved{" FILL(
                                                                                                                                                                                                                                                                                                                                                                                                                     WAIT) "}.ef .truck{" FILL(WAIT_SOFT) "}.ef .blocked{" FILL(REJECT) "}\n"
                                                                                                                                                                                                                                                                                                                                                                                                                                                                                        ".ef .fails{" FILL(LIMIT) "}.ef .crew{" FILL(LIMIT_SOFT) "}.ef .planned{" FILL(STOP) "}\n"
                                                                                                                                                                                                                                                                                                                                                                                                                                                                                                                                                                             ".ef .break{" FILL(STOP_SOFT) "}.ef .closed{" FILL(
                                                                                                                                                                                                                                                                                                                                                                                                                                                                                                                                                                                 FAINT) "}\n",
    /* levels */
    ".ef .level{fill:none;stroke-width:1.6;stroke-linejoin:round;" STROKE(
        PRODUCT) "}\n"
                 ".ef .below,.ef .band{" FILL(
                     PRODUCT_SOFT) "}.ef .below{opacity:.6}\n"
                                   ".ef .one{fill:none;stroke-width:1;stroke-dasharray:2 2;" STROKE(
                                       INK) "}\n"
                                            ".ef .full{fill:none;stroke-width:5;" STROKE(
                                                LIMIT) "}\n"
                                                       ".ef "
                                                       ".empty{fill:none;stroke-width:5;stroke-dasharray:4 "
                                                       "2;" STROKE(
                                                           RETURNS) "}\n"
                                                                    /* volume against minutes */
                                                                    ".ef "
                                                                    ".curve{fill:none;stroke-width:"
                                                                    "2;stroke-linejoin:"
                                                                    "round;" STROKE(
                                                                        PRODUCT) "}\n"
                                                                                 ".ef "
                                                                                 ".dot"
                                                                                 "{" FILL(
                                                                                     PRODUCT) "}\n"
                                                                                              ".ef "
                                                                                              ".marker{"
                                                                                              "stroke-width:"
                                                                                              "2;" FILL(PAPER) ";" STROKE(INK) "}.ef .marker.best{" FILL(
                                                                                                  LIMIT) "}\n"
                                                                                                         ".ef"
                                                                                                         " ."
                                                                                                         "whi"
                                                                                                         "ske"
                                                                                                         "r{"
                                                                                                         "fil"
                                                                                                         "l:"
                                                                                                         "non"
                                                                                                         "e;"
                                                                                                         "str"
                                                                                                         "oke"
                                                                                                         "-wi"
                                                                                                         "dth"
                                                                                                         ":1."
                                                                                                         "4"
                                                                                                         ";" STROKE(
                                                                                                             INK) "}\n",
    /* the season: lots by crop, in light colours that words can stand on */
    ".ef .lot{stroke-width:1;" FILL(BOX) ";" STROKE(LINE) "}.ef .lot.bad{stroke-width:3;" STROKE(
        LIMIT) "}\n"
               ".ef .crop-1{" FILL(
                   PRODUCT_SOFT) "}.ef .crop-2{" FILL(WAIT_SOFT) "}.ef "
                                                                 ".crop-3{" FILL(
                                                                     STOP_SOFT) "}\n"
                                                                                ".ef .crop-4{" FILL(GREEN_SOFT) "}.ef .crop-5{" FILL(RETURNS_SOFT) "}.ef .crop-6{" FILL(LIMIT_SOFT) "}\n"
                                                                                                                                                                                    ".ef .overtime{" FILL(
                                                                                                                                                                                        WAIT_SOFT) ";opacity:.7}\n"
                                                                                                                                                                                                   ".ef .arrival{fill:none;stroke-width:1.2;" STROKE(INK) "}.ef .due{" FILL(INK) "}.ef .due.late{" FILL(LIMIT) "}\n"
                                                                                                                                                                                                                                                                                                               ".ef .late-way{fill:none;stroke-width:2;stroke-dasharray:4 2;" STROKE(LIMIT) "}\n"
                                                                                                                                                                                                                                                                                                                                                                                            ".ef .alert{" FILL(
                                                                                                                                                                                                                                                                                                                                                                                                LIMIT) "}\n"
                                                                                                                                                                                                                                                                                                                                                                                                       ".ef .stay{stroke-width:1;" FILL(WAIT_SOFT) ";" STROKE(LINE) "}.ef .stay.finished{" FILL(
                                                                                                                                                                                                                                                                                                                                                                                                           GREEN_SOFT) "}\n"
                                                                                                                                                                                                                                                                                                                                                                                                                       ".ef .stay.bad{stroke-width:2;" FILL(LIMIT_SOFT) ";" STROKE(LIMIT) "}\n"
                                                                                                                                                                                                                                                                                                                                                                                                                                                                                          /* steel */
                                                                                                                                                                                                                                                                                                                                                                                                                                                                                          ".ef .steel{fill:none;stroke-width:2.4;stroke-linejoin:round;" STROKE(
                                                                                                                                                                                                                                                                                                                                                                                                                                                                                              INK) "}\n"
                                                                                                                                                                                                                                                                                                                                                                                                                                                                                                   ".ef .heap{" FILL(
                                                                                                                                                                                                                                                                                                                                                                                                                                                                                                       WAIT_SOFT) "}.ef .dead{" FILL(REJECT) "}\n"
                                                                                                                                                                                                                                                                                                                                                                                                                                                                                                                                             ".ef .surface{fill:none;stroke-width:1.4;stroke-dasharray:6 3;" STROKE(
                                                                                                                                                                                                                                                                                                                                                                                                                                                                                                                                                 REJECT) "}\n"
                                                                                                                                                                                                                                                                                                                                                                                                                                                                                                                                                         ".ef .measure{fill:none;stroke-width:1;" STROKE(SOFT) "}.ef .arrow{" FILL(
                                                                                                                                                                                                                                                                                                                                                                                                                                                                                                                                                             SOFT) "}\n"
                                                                                                                                                                                                                                                                                                                                                                                                                                                                                                                                                                   ".ef .help{fill:none;stroke-width:.6;" STROKE(LINE) "}\n"
                                                                                                                                                                                                                                                                                                                                                                                                                                                                                                                                                                                                                       ".ef .roof{fill:none;stroke-width:1.6;stroke-dasharray:9 3 2 3;" STROKE(
                                                                                                                                                                                                                                                                                                                                                                                                                                                                                                                                                                                                                           LIMIT) "}\n"
                                                                                                                                                                                                                                                                                                                                                                                                                                                                                                                                                                                                                                  ".ef .floor{fill:none;stroke-width:1.6;" STROKE(
                                                                                                                                                                                                                                                                                                                                                                                                                                                                                                                                                                                                                                      INK) "}\n"
                                                                                                                                                                                                                                                                                                                                                                                                                                                                                                                                                                                                                                           "</style>\n",
    NULL};
