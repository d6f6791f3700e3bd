/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "report/picture/style.h"
#include "base/base.h"

/* Colours that stay apart for colour-blind readers (after the set of M. Okabe and K. Ito, "Color universal
 * design", 2008, darkened for contrast on white and lightened on black); what they tell apart differs in
 * stroke, hatching, place or words too. Words in ink stand on any of the soft ones at 7:1 at the least. Name,
 * variable, on light, on dark. */
#define COLOURS(X)                                                                                           \
    X(INK, "ink", "#1c2733", "#e8edf2")                                                                      \
    X(SOFT, "soft", "#4a5866", "#b4c0cc")                                                                    \
    X(PAPER, "paper", "#ffffff", "#14191f")                                                                  \
    X(BOX, "box", "#f4f6f8", "#202830")                                                                      \
    X(LINE, "line", "#6f7c8a", "#8391a0")                                                                    \
    X(FAINT, "faint", "#d9dfe5", "#333d47")                                                                  \
    X(PRODUCT, "product", "#0a6aa6", "#62b5ea")                                                              \
    X(PRODUCT_SOFT, "product-soft", "#a9d0e8", "#1f4a68")                                                    \
    X(REJECT, "reject", "#9a5b00", "#e0a04a")                                                                \
    X(RETURNS, "returns", "#7d3f86", "#cf9ad8")                                                              \
    X(RETURNS_SOFT, "returns-soft", "#e3c8e7", "#553a5a")                                                    \
    X(GREEN_SOFT, "green-soft", "#bfe3cf", "#1f4d38")                                                        \
    X(LIMIT, "limit", "#b3261e", "#ff8a80")                                                                  \
    X(LIMIT_SOFT, "limit-soft", "#f0b8b3", "#6e2f2b")                                                        \
    X(ALERT, "alert", "#8f1712", "#ffc4be")                                                                  \
    X(WAIT, "wait", "#d8a800", "#e6c34d")                                                                    \
    X(WAIT_SOFT, "wait-soft", "#f6e3a1", "#574a1c")                                                          \
    X(STOP, "stop", "#5c6773", "#98a5b2")                                                                    \
    X(STOP_SOFT, "stop-soft", "#c3cbd3", "#434e59")

typedef enum colour {
    LEFT_ALONE,
    NONE,
#define ENUM(name, variable, light, dark) name,
    COLOURS(ENUM)
#undef ENUM
} colour;

static const struct {
    const char *variable, *light, *dark;
} colours[] = {
#define ROW(name, variable, light, dark) [name] = {variable, light, dark},
    COLOURS(ROW)
#undef ROW
};

/* What of class `selector` is filled and stroked with, and its other properties. */
static const struct {
    const char *selector;
    colour fill, stroke;
    const char *rest;
} rules[] = {
    /* words; later rules win */
    {" text", INK, LEFT_ALONE, ""},
    {" .title", LEFT_ALONE, LEFT_ALONE, "font-size:16px;font-weight:600"},
    {" .name", LEFT_ALONE, LEFT_ALONE, "font-size:13px;font-weight:600"},
    {" .label", LEFT_ALONE, LEFT_ALONE, "font-size:12px"},
    {" .inside", PAPER, LEFT_ALONE, "font-size:12px"},
    {" .count", LEFT_ALONE, PAPER,
     "font-size:12px;paint-order:stroke;stroke-width:3px;stroke-linejoin:round"},
    {" .note", SOFT, LEFT_ALONE, "font-size:11px"},
    {" .legend", SOFT, LEFT_ALONE, "font-size:11px"},
    {" .rate", SOFT, PAPER, "font-size:11px;paint-order:stroke;stroke-width:3px;stroke-linejoin:round"},
    {" .strong", LEFT_ALONE, LEFT_ALONE, "font-weight:600"},
    {" .note.strong", LIMIT, LEFT_ALONE, ""},
    {" .on", INK, LEFT_ALONE, ""},
    {" .alert", ALERT, LEFT_ALONE, ""},
    /* the sheet, axes, bars */
    {" .ground", PAPER, LEFT_ALONE, ""},
    {" .grid", LEFT_ALONE, FAINT, ""},
    {" .edge", LEFT_ALONE, LINE, ""},
    {" .mark", NONE, LIMIT, "stroke-width:1.6"},
    {" .mark.outer", LEFT_ALONE, LEFT_ALONE, "stroke-dasharray:5 3"},
    {" .bar", PRODUCT, LEFT_ALONE, ""},
    {" .bar.now", STOP, LEFT_ALONE, ""},
    {" .part", LEFT_ALONE, PAPER, "stroke-width:1"},
    {" .hatch", NONE, PAPER, "stroke-width:1.5;pointer-events:none"},
    {" .hatch.dark", LEFT_ALONE, INK, "stroke-width:1"},
    /* the line */
    {" .box", BOX, LINE, "stroke-width:1.2"},
    {" .box.steady", LEFT_ALONE, INK, "stroke-width:2"},
    {" .box.limits", LEFT_ALONE, LIMIT, "stroke-width:3"},
    {" .load", LINE, LEFT_ALONE, ""},
    {" .load.limits", LIMIT, LEFT_ALONE, ""},
    {" .stream", NONE, LEFT_ALONE, ""},
    {" .stream.product", LEFT_ALONE, PRODUCT, ""},
    {" .stream.reject", LEFT_ALONE, REJECT, "stroke-dasharray:3 2.5"},
    {" .stream.returns", LEFT_ALONE, RETURNS, "stroke-dasharray:10 4"},
    {" .head.product", PRODUCT, LEFT_ALONE, ""},
    {" .head.reject", REJECT, LEFT_ALONE, ""},
    {" .head.returns", RETURNS, LEFT_ALONE, ""},
    /* hours */
    {" .runs", PRODUCT, LEFT_ALONE, ""},
    {" .slow", PRODUCT_SOFT, LEFT_ALONE, ""},
    {" .warm", RETURNS, LEFT_ALONE, ""},
    {" .starved", WAIT, LEFT_ALONE, ""},
    {" .truck", WAIT_SOFT, LEFT_ALONE, ""},
    {" .blocked", REJECT, LEFT_ALONE, ""},
    {" .fails", LIMIT, LEFT_ALONE, ""},
    {" .crew", LIMIT_SOFT, LEFT_ALONE, ""},
    {" .planned", STOP, LEFT_ALONE, ""},
    {" .break", STOP_SOFT, LEFT_ALONE, ""},
    {" .closed", FAINT, LEFT_ALONE, ""},
    /* levels */
    {" .level", NONE, PRODUCT, "stroke-width:1.6;stroke-linejoin:round"},
    {" .below", PRODUCT_SOFT, LEFT_ALONE, "opacity:.6"},
    {" .band", PRODUCT_SOFT, LEFT_ALONE, ""},
    {" .one", NONE, INK, "stroke-width:1;stroke-dasharray:2 2"},
    {" .full", NONE, LIMIT, "stroke-width:5"},
    {" .empty", NONE, RETURNS, "stroke-width:5;stroke-dasharray:4 2"},
    /* volume against minutes */
    {" .curve", NONE, PRODUCT, "stroke-width:2;stroke-linejoin:round"},
    {" .dot", PRODUCT, LEFT_ALONE, ""},
    {" .marker", PAPER, INK, "stroke-width:2"},
    {" .marker.best", LIMIT, LEFT_ALONE, ""},
    {" .whisker", NONE, INK, "stroke-width:1.4"},
    /* the season: lots by crop, in light colours that words can stand on */
    {" .lot", BOX, LINE, "stroke-width:1"},
    {" .lot.bad", LEFT_ALONE, LIMIT, "stroke-width:3"},
    {" .crop-1", PRODUCT_SOFT, LEFT_ALONE, ""},
    {" .crop-2", WAIT_SOFT, LEFT_ALONE, ""},
    {" .crop-3", STOP_SOFT, LEFT_ALONE, ""},
    {" .crop-4", GREEN_SOFT, LEFT_ALONE, ""},
    {" .crop-5", RETURNS_SOFT, LEFT_ALONE, ""},
    {" .crop-6", LIMIT_SOFT, LEFT_ALONE, ""},
    {" .overtime", WAIT_SOFT, LEFT_ALONE, "opacity:.7"},
    {" .arrival", NONE, INK, "stroke-width:1.2"},
    {" .due", INK, LEFT_ALONE, ""},
    {" .due.late", LIMIT, LEFT_ALONE, ""},
    {" .late-way", NONE, LIMIT, "stroke-width:2;stroke-dasharray:4 2"},
    {" .stay", WAIT_SOFT, LINE, "stroke-width:1"},
    {" .stay.finished", GREEN_SOFT, LEFT_ALONE, ""},
    {" .stay.bad", LIMIT_SOFT, LIMIT, "stroke-width:2"},
    /* steel */
    {" .steel", NONE, INK, "stroke-width:2.4;stroke-linejoin:round"},
    {" .heap", WAIT_SOFT, LEFT_ALONE, ""},
    {" .dead", REJECT, LEFT_ALONE, ""},
    {" .surface", NONE, REJECT, "stroke-width:1.4;stroke-dasharray:6 3"},
    {" .measure", NONE, SOFT, "stroke-width:1"},
    {" .arrow", SOFT, LEFT_ALONE, ""},
    {" .help", NONE, LINE, "stroke-width:.6"},
    {" .roof", NONE, LIMIT, "stroke-width:1.6;stroke-dasharray:9 3 2 3"},
    {" .floor", NONE, INK, "stroke-width:1.6"},
};

static void add_variables(efi_text *out, bool dark)
{
    for (size_t c = INK; c < EF_COUNT(colours); c++)
        efi_text_addf(out, "--ef-%s:%s;", colours[c].variable, dark ? colours[c].dark : colours[c].light);
}

static void add_colour(efi_text *out, const char *property, colour c)
{
    if (c == NONE)
        efi_text_addf(out, "%s:none;", property);
    else if (c != LEFT_ALONE)
        efi_text_addf(out, "%s:%s;%s:var(--ef-%s,%s);", property, colours[c].light, property,
                      colours[c].variable, colours[c].light);
}

void efi_style_add(efi_text *out)
{
    efi_text_add(out, "<style>\nsvg.ef{font-family:system-ui,sans-serif;max-width:100%;height:auto}\n"
                      "@media(prefers-color-scheme:dark){.ef{");
    add_variables(out, true);
    efi_text_add(out, "}}\n@media print{.ef{print-color-adjust:exact;");
    add_variables(out, false);
    efi_text_add(out, "}}\n");
    for (size_t r = 0; r < EF_COUNT(rules); r++) {
        efi_text_addf(out, ".ef%s{", rules[r].selector);
        add_colour(out, "fill", rules[r].fill);
        add_colour(out, "stroke", rules[r].stroke);
        efi_text_addf(out, "%s}\n", rules[r].rest);
    }
    efi_text_add(out, "</style>\n");
}
