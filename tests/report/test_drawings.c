/* SPDX-License-Identifier: GPL-3.0-or-later
 * Every picture of every bundled scenario, of a line of 40 stations, of seasons and bins made up at random:
 * well formed, nothing cut off, no words over words, sizes that can be, and numbers that are those of the
 * answer. */
#include "base/base.h"

#include "../lib/drawing.h"
#include "../lib/made_season.h"
#include "../lib/near.h"
#include "../lib/scenarios.h"

#include <evenfeed/report.h>
#include <math.h>
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include <cmocka.h>

#define PIXEL 0.011 /* coordinates are written to a hundredth */
enum {
    NAME = 160
};

/* Keeps a picture in the folder that EF_DRAWINGS names, for other eyes (tests/report/test_drawings.sh). */
static void keep(const char *svg)
{
    static int number;
    const char *folder = getenv("EF_DRAWINGS");
    char path[1024];
    if (!folder)
        return;
    (void)snprintf(path, sizeof path, "%s/%03d.svg", folder, ++number);
    FILE *file = fopen(path, "w");
    assert_non_null(file);
    assert_true(fputs(svg, file) >= 0);
    assert_int_equal(fclose(file), 0);
}

/* Draws all pictures of some answers, each read back; how many there were. */
static int draw_all(const ef_picture_source *source, const char *about, ef_units units, bool keeps)
{
    int count = 0;
    for (int i = 0; ef_picture_at(i); i++) {
        const ef_picture *picture = ef_picture_at(i);
        for (int part = 0; part < ef_picture_parts(picture, source); part++) {
            char name[NAME];
            char *svg;
            (void)snprintf(name, sizeof name, "%s, %s %d", about, picture->name, part);
            assert_int_equal(ef_picture_svg(picture, source, part, units, &svg), EF_OK);
            drawing of = drawing_read(svg, name);
            drawing_free(&of);
            if (keeps)
                keep(svg);
            ef_report_free(svg);
            count++;
        }
    }
    return count;
}

/* ---- the bundled scenarios ------------------------------------------------------------------------------
 */

/* Pictures of one crop, but for its bins. */
static int draw_crop(const ef_scenario *scenario, int crop, const char *about, ef_units units)
{
    ef_picture_source source = {0};
    ef_balance *balance = NULL;
    ef_trace *trace = NULL;
    ef_shift *shift = NULL;
    ef_balance_settings balance_settings = ef_balance_defaults();
    ef_trace_settings trace_settings = ef_trace_defaults(scenario);
    ef_shift_settings shift_settings = ef_shift_defaults();
    balance_settings.crop = trace_settings.crop = shift_settings.crop = crop;
    balance_settings.ladder = 6;
    shift_settings.runs = 60;
    shift_settings.remedies = false;
    (void)ef_balance_solve(scenario, &balance_settings, &balance);
    (void)ef_trace_run(scenario, &trace_settings, &trace, NULL);
    (void)ef_shift_run(scenario, &shift_settings, &shift, NULL);
    source = (ef_picture_source){.balance = balance, .trace = trace, .shift = shift};
    const int count = draw_all(&source, about, units, true);
    ef_balance_free(balance);
    ef_trace_free(trace);
    ef_shift_free(shift);
    return count;
}

static int draw_scenario(ef_scenario *scenario, const char *about, ef_units units)
{
    int count = 0;
    for (int crop = 0; crop < ef_scenario_crops(scenario); crop++)
        count += draw_crop(scenario, crop, about, units);
    ef_bins_settings settings = ef_bins_defaults();
    settings.traces = 12;
    settings.shifts = 2;
    ef_bins *bins;
    assert_int_equal(ef_bins_run(scenario, &settings, &bins), EF_OK);
    const ef_picture_source source = {.bins = bins};
    count += draw_all(&source, about, units, true);
    ef_bins_free(bins);
    ef_scenario_free(scenario);
    return count;
}

static void test_bundled(void **state)
{
    (void)state;
    static const char *const paths[] = {"scenarios/cereal-seed.yaml", "scenarios/clover-grass-seed.yaml",
                                        "scenarios/pulses-export.yaml", "scenarios/soybean-seed.yaml"};
    for (size_t i = 0; i < EF_COUNT(paths); i++) {
        const int drawn = draw_scenario(plant_load(paths[i]), paths[i], EF_UNITS_METRIC);
        assert_true(drawn >= 12);
    }
    assert_true(draw_scenario(plant_load(paths[0]), "cereals in US units", EF_UNITS_US) >= 12);
}

/* ---- a long line with long names ------------------------------------------------------------------------
 */

enum {
    LONG_LINE = 40
};

/* A chain of machines with a bin before every fifth, each machine with rejects, one with a return. */
static void write_long_line(char *text, size_t room)
{
    size_t at = (size_t)snprintf(
        text, room,
        "evenfeed: 1\nplant: {name: 'The plant with the longest line & <names> that \"anyone\" has drawn'}\n"
        "materials: {sound: {wanted: yes}, chaff: {}}\n"
        "crops: {wheat: {receipt: {chaff: 10%%, sound: rest}, density: 760 kg/m3}}\nstations:\n"
        "  Receiving pit 0 under the old roof: {kind: intake, capacity: 30 t/h, to: Machine 1 of the long "
        "line}\n");
    for (int i = 1; i <= LONG_LINE; i++) {
        const bool last = i == LONG_LINE;
        char next[64];
        (void)snprintf(next, sizeof next, last ? "Clean seed" : "Machine %d of the long line", i + 1);
        if (i % 5 == 0 && !last)
            at += (size_t)snprintf(text + at, room - at,
                                   "  Machine %d of the long line: {kind: bin, live volume: 8 m3, to: %s}\n",
                                   i, next);
        else
            at += (size_t)snprintf(
                text + at, room - at,
                "  Machine %d of the long line: {kind: machine, capacity: %d t/h, "
                "discharges: {good: {takes: rest, to: %s}, light: {takes: {chaff: 4 %%}, to: %s}}, "
                "stops: {jam: {every: 20 h, lasts: 12 min}}}\n",
                i, 12 + i % 7, next, i % 3 == 0 ? "Screenings" : "Dust house");
    }
    (void)snprintf(text + at, room - at,
                   "  Clean seed: {kind: outlet, product: yes}\n  Screenings: {kind: outlet}\n"
                   "  Dust house: {kind: outlet}\n");
}

static void test_long_line(void **state)
{
    (void)state;
    static char text[32768];
    write_long_line(text, sizeof text);
    ef_scenario *scenario = plant_read(text);
    ef_balance_settings settings = ef_balance_defaults();
    settings.crop = 0;
    ef_balance *balance;
    char *svg;
    assert_int_equal(ef_balance_solve(scenario, &settings, &balance), EF_OK);
    assert_int_equal(ef_report_flow_svg(balance, 0, EF_UNITS_METRIC, &svg), EF_OK);
    drawing of = drawing_read(svg, "a long line");
    for (int i = 1; i <= LONG_LINE; i++) {
        char name[32];
        (void)snprintf(name, sizeof name, "Machine %d of", i);
        assert_non_null(drawing_find_text(&of, name));
    }
    assert_true(of.width < 2000.0);
    drawing_free(&of);
    keep(svg);
    ef_report_free(svg);
    ef_balance_free(balance);
    assert_true(draw_crop(scenario, 0, "a long line", EF_UNITS_METRIC) >= 4);
    ef_scenario_free(scenario);
}

/* ---- seasons --------------------------------------------------------------------------------------------
 */

/* Every lot has bars that are as long as it runs, on all rows of days together; late ones say so. */
static void test_season_bars(void **state)
{
    (void)state;
    ef_season *season = made_season(30, 2, 4, 40, 7);
    char *svg;
    assert_int_equal(ef_report_season_svg(season, -1, EF_UNITS_METRIC, &svg), EF_OK);
    drawing of = drawing_read(svg, "a season");
    double px_per_hour = 0.0;
    for (int r = 0; r < season->run_count; r++) {
        const ef_season_run *run = &season->runs[r];
        const ef_season_lot *lot = &season->lots[run->lot];
        char title[NAME];
        (void)snprintf(title, sizeof title, "%s: %s, ", lot->name, lot->crop);
        double width = 0.0;
        for (int i = 0; i < of.rects; i++) {
            const drawing_rect *bar = &of.rect[i];
            if (strncmp(bar->title, title, strlen(title)) != 0)
                continue;
            width += bar->width;
            assert_true((strstr(bar->classes, " bad") != NULL) == (run->late_days > 0.0 || run->forbidden));
            assert_true((strstr(bar->title, ", late ") != NULL) == (run->late_days > 0.0 && !run->forbidden));
        }
        const double hours = (double)(run->end - run->start) / 3600.0;
        if (r == 0)
            px_per_hour = width / hours;
        assert_near_absolute(width, hours * px_per_hour, 4.0 * PIXEL + 0.001 * width);
    }
    drawing_free(&of);
    ef_report_free(svg);
    made_season_free(season);
}

/* Each stay lies in the row of its store for as long as it lasts; what found no room is not left out. */
static void test_stores(void **state)
{
    (void)state;
    ef_season *season = made_season(60, 2, 5, 30, 3);
    char *svg;
    assert_int_equal(ef_report_stores_svg(season, -1, EF_UNITS_METRIC, &svg), EF_OK);
    drawing of = drawing_read(svg, "stores");
    double px_per_hour = 0.0;
    for (int s = 0; s < season->stay_count; s++) {
        const ef_season_stay *stay = &season->stays[s];
        char title[NAME];
        (void)snprintf(title, sizeof title, "%s, ", season->lots[stay->lot].name);
        double width = 0.0;
        for (int i = 0; i < of.rects; i++) {
            if (strncmp(of.rect[i].title, title, strlen(title)) != 0)
                continue;
            width += of.rect[i].width;
            assert_true((strstr(of.rect[i].classes, "bad") != NULL) == (stay->store < 0));
        }
        const double hours = (double)(stay->to - stay->from) / 3600.0;
        px_per_hour = s == 0 ? width / hours : px_per_hour;
        assert_near_absolute(width, hours * px_per_hour, 4.0 * PIXEL + 0.001 * width);
    }
    drawing_free(&of);
    ef_report_free(svg);
    made_season_free(season);
}

/* 500 lots over 100 days: small enough, quick enough, and nearly all lots still told by name. */
static void test_great_season(void **state)
{
    (void)state;
    ef_season *season = made_season(500, 2, 12, 100, 1);
    const ef_picture_source source = {.season = season};
    assert_int_equal(draw_all(&source, "a great season", EF_UNITS_METRIC, true), 2);
    char *svg;
    assert_int_equal(ef_report_season_svg(season, -1, EF_UNITS_METRIC, &svg), EF_OK);
    assert_true(strlen(svg) < 1500000);
    drawing of = drawing_read(svg, "a great season");
    int named = 0;
    for (int i = 0; i < season->lot_count; i++) {
        bool found = false;
        for (int t = 0; t < of.texts && !found; t++)
            found = strcmp(of.text[t].words, season->lots[i].name) == 0;
        named += found;
    }
    printf("# %d of %d lots are told by their whole name\n", named, season->lot_count);
    assert_true(named >= 400);
    drawing_free(&of);
    ef_report_free(svg);
    made_season_free(season);
}

/* All days stand on one page, and none on two. */
static void test_pages(void **state)
{
    (void)state;
    ef_season *season = made_season(200, 2, 6, 90, 5);
    char *svg;
    int days = 0;
    int pages = 0;
    for (; ef_report_season_svg(season, pages, EF_UNITS_METRIC, &svg) == EF_OK; pages++) {
        drawing of = drawing_read(svg, "a page of a season");
        assert_true(of.height < 1400.0);
        for (int t = 0; t < of.texts; t++)
            days += of.text[t].top > 0.0 && strstr(of.text[t].classes, "note") &&
                    strlen(of.text[t].words) < 12;
        drawing_free(&of);
        ef_report_free(svg);
    }
    assert_true(pages >= 2);
    assert_int_equal(ef_report_season_svg(season, pages, EF_UNITS_METRIC, &svg), EF_USAGE);
    assert_int_equal(ef_report_season_svg(season, -1, EF_UNITS_METRIC, &svg), EF_OK);
    drawing of = drawing_read(svg, "all pages of a season");
    for (int t = 0; t < of.texts; t++)
        days -= of.text[t].top > 0.0 && strstr(of.text[t].classes, "note") && strlen(of.text[t].words) < 12;
    assert_int_equal(days, 0);
    drawing_free(&of);
    ef_report_free(svg);
    assert_int_equal(ef_report_stores_svg(season, 0, EF_UNITS_METRIC, &svg), EF_OK);
    ef_report_free(svg);
    assert_int_equal(ef_report_stores_svg(season, 99, EF_UNITS_METRIC, &svg), EF_USAGE);
    made_season_free(season);
}

static void test_random_seasons(void **state)
{
    (void)state;
    for (uint64_t seed = 1; seed <= 40; seed++) {
        const int lots = 1 + (int)(seed * 37 % 90);
        const int lines = 1 + (int)(seed % 5);
        char about[NAME];
        ef_season *season = made_season(lots, lines, (int)(seed % 7), 1 + (int)(seed * seed % 130), seed);
        const ef_picture_source source = {.season = season};
        (void)snprintf(about, sizeof about, "season with seed %d", (int)seed);
        assert_true(draw_all(&source, about, seed % 2 ? EF_UNITS_METRIC : EF_UNITS_US, seed % 8 == 0) >= 1);
        made_season_free(season);
    }
}

/* ---- bins -----------------------------------------------------------------------------------------------
 */

static double random_from(uint64_t *state, double from, double to)
{
    *state = *state * 6364136223846793005u + 1442695040888963407u;
    return from + (to - from) * (double)(*state >> 33) / 2147483648.0;
}

/* A bin of random dimensions, also such as no one would build. */
static ef_steel random_steel(uint64_t *state, ef_steel_crop *crop)
{
    static const char *const cautions[] = {"Structural loads are not computed here.", "Bin entry kills."};
    static const char *const hoppers[] = {"cone", "pyramid", "wedge", "flat"};
    const char *hopper = hoppers[(int)random_from(state, 0.0, 3.999)];
    const bool is_flat = strcmp(hopper, "flat") == 0;
    const bool is_round = strcmp(hopper, "cone") == 0 || (is_flat && random_from(state, 0.0, 1.0) < 0.5);
    ef_steel_size size = {.shape = is_round ? "round" : "rectangular", .hopper = hopper};
    size.width_m = random_from(state, 0.3, 12.0);
    size.length_m = is_round ? size.width_m : random_from(state, 0.3, 12.0);
    size.wall_m = random_from(state, 0.0, 15.0);
    size.hopper_m = is_flat ? 0.0 : random_from(state, 0.05, 6.0);
    size.hopper_deg = is_flat ? 0.0 : random_from(state, 20.0, 75.0);
    size.outlet_m = random_from(state, 0.05, 0.9) * size.width_m;
    size.outlet_length_m = is_round ? size.outlet_m : random_from(state, 0.05, 0.9) * size.length_m;
    size.inlet_offset_m = random_from(state, -0.4, 0.4) * size.length_m;
    size.freeboard_m = random_from(state, 0.0, 0.5);
    size.clearance_m = random_from(state, 0.0, 1.0) < 0.4 ? 0.0 : random_from(state, 0.0, 3.0);
    size.height_m = size.clearance_m + size.hopper_m + size.wall_m;
    size.has_headroom = random_from(state, 0.0, 1.0) < 0.6;
    size.headroom_m = size.height_m * random_from(state, 0.9, 2.0);
    size.level_m3 = random_from(state, 0.1, 500.0);
    *crop = (ef_steel_crop){.crop = "winter wheat", .repose_deg = random_from(state, 0.0, 60.0)};
    crop->emptying_deg = random_from(state, 0.0, 60.0);
    crop->asked_m3 = crop->live_m3 = 0.8 * size.level_m3;
    crop->dead_m3 = random_from(state, 0.0, 0.2) * size.level_m3;
    crop->cleans_out = random_from(state, 0.0, 1.0) < 0.5;
    return (ef_steel){.station = "Bin",
                      .why = EF_STEEL_FITS,
                      .size = size,
                      .crops = crop,
                      .crop_count = 1,
                      .cautions = cautions,
                      .caution_count = 2};
}

/* The number behind words, of the unit that stands after it. */
static double metres_after(const char *svg, const char *words)
{
    const char *at = strstr(svg, words);
    if (!at) {
        fail_msg("not in the picture: %s", words);
        return 0.0;
    }
    char *end;
    const double value = strtod(at + strlen(words), &end);
    return strncmp(end, " mm", 3) == 0 ? value / 1000.0 : strncmp(end, " cm", 3) == 0 ? value / 100.0 : value;
}

/* The outline of the bin: its steps are M L-shaped, one for each side. Its width over the height of its
 * walls, px. */
static void read_outline(const char *svg, double *wide, double *walls, double *hopper)
{
    *wide = *walls = *hopper = 0.0;
    double side[2][4] = {{0.0}}; /* x of the wall, y of its top, y of its foot, y of the outlet */
    const char *at = strstr(svg, "class=\"steel\" d=\"");
    assert_non_null(at);
    for (int i = 0; i < 2; i++) {
        char *end;
        at = at ? strchr(at + 1, 'M') : NULL;
        if (!at) {
            fail_msg("the outline has no side %d", i);
            return;
        }
        side[i][0] = strtod(at + 1, &end);
        side[i][1] = strtod(end, &end);
        assert_true(*end == 'V');
        side[i][2] = strtod(end + 1, &end);
        assert_true(*end == 'L');
        (void)strtod(end + 1, &end);
        side[i][3] = strtod(end, &end);
    }
    *wide = side[1][0] - side[0][0];
    *walls = side[0][2] - side[0][1];
    *hopper = side[0][3] - side[0][2];
}

/* Bins are drawn to scale, and the words beside their dimensions are the dimensions. */
static void test_elevations(void **state)
{
    (void)state;
    uint64_t random = 20261125;
    for (int i = 0; i < 200; i++) {
        char about[NAME];
        ef_steel_crop crop;
        const ef_steel steel = random_steel(&random, &crop);
        const ef_bins_whole whole = {.name = "Bin", .crop = -1, .steel = &steel};
        const ef_bins bins = {.plant = "Made-up plant", .bins = &whole, .bin_count = 1};
        char *svg;
        (void)snprintf(about, sizeof about, "bin %d of seed 20261125", i);
        assert_int_equal(ef_report_elevation_svg(&bins, 0, EF_UNITS_METRIC, &svg), EF_OK);
        drawing of = drawing_read(svg, about);
        const ef_steel_size *size = &steel.size;
        double wide;
        double walls;
        double hopper;
        read_outline(svg, &wide, &walls, &hopper);
        const double across = strcmp(size->hopper, "wedge") == 0 ? size->width_m : size->length_m;
        const double px_per_m = wide / across;
        assert_near_absolute(walls, size->wall_m * px_per_m,
                             4.0 * PIXEL + 2.0 * PIXEL * size->wall_m / across);
        assert_near_absolute(hopper, size->hopper_m * px_per_m,
                             4.0 * PIXEL + 2.0 * PIXEL * size->hopper_m / across);
        assert_near_relative(metres_after(svg, ">walls "), size->wall_m, 0.006);
        assert_near_relative(metres_after(svg, ">outlet "),
                             across == size->width_m && size->length_m != size->width_m
                                 ? size->outlet_m
                                 : size->outlet_length_m,
                             0.006);
        if (size->freeboard_m > 0.001)
            assert_near_absolute(metres_after(svg, ">freeboard "), size->freeboard_m, 0.0006);
        assert_non_null(drawing_find_text(&of, "Bin entry kills."));
        drawing_free(&of);
        if (i % 20 == 0)
            keep(svg);
        ef_report_free(svg);
    }
}

/* A curve of random volumes and minutes with three marks. */
static void fill_curve(uint64_t *random, ef_bins_point *point, int count, ef_bins_feed *feed)
{
    double volume = random_from(random, 0.0, 60.0);
    double minutes = random_from(random, 0.0, 1.0) < 0.5 ? 0.0 : random_from(random, 0.0, 40.0);
    for (int i = 0; i < count; i++) {
        point[i] = (ef_bins_point){.short_h = minutes / 60.0, .volume_m3 = volume};
        volume *= random_from(random, 0.0, 1.0);
        minutes += random_from(random, 0.0, 20.0);
    }
    feed->name = "Separator";
    feed->curve = point;
    feed->curve_count = count;
    feed->knee = (int)random_from(random, -1.0, count - 0.01);
    ef_bins_check *checks[] = {&feed->now, &feed->rule, &feed->recommended};
    for (size_t i = 0; i < EF_COUNT(checks); i++) {
        checks[i]->is_run = random_from(random, 0.0, 1.0) < 0.9;
        const double value = random_from(random, 0.0, 0.5) * (double)(i % 2);
        const bool known = random_from(random, 0.0, 1.0) < 0.8;
        checks[i]->short_h = (ef_bins_estimate){value, known ? 0.8 * value : -INFINITY,
                                                known ? 1.3 * value : INFINITY};
    }
}

static void test_curves(void **state)
{
    (void)state;
    uint64_t random = 4711;
    for (int i = 0; i < 200; i++) {
        char about[NAME];
        ef_bins_point point[12];
        ef_bins_feed feed = {.segments = 2};
        const ef_bins_link link = {.bin = "Bin", .most_t = 10.0};
        ef_bins_bin bin = {.name = "Bin", .choice = EF_BINS_SIZED, .has_now = true, .has_rule = true};
        bin.now_m3 = random_from(&random, 0.0, 60.0);
        bin.rule_m3 = random_from(&random, 0.0, 60.0);
        const ef_bins_whole whole = {.name = "Bin", .recommended_m3 = random_from(&random, 0.0, 60.0)};
        feed.links = &link;
        fill_curve(&random, point, 2 + (int)random_from(&random, 0.0, 9.9), &feed);
        const ef_bins_crop crop = {
            .name = "wheat", .feeds = &feed, .feed_count = 1, .bins = &bin, .bin_count = 1};
        const ef_bins bins = {.plant = "Made-up plant",
                              .crops = &crop,
                              .crop_count = 1,
                              .bins = &whole,
                              .bin_count = 1,
                              .aim = i % 2 ? EF_BINS_MEAN : EF_BINS_PRICE,
                              .aim_h = 1.0 / 60.0};
        const ef_picture_source source = {.bins = &bins};
        (void)snprintf(about, sizeof about, "curve %d of seed 4711", i);
        assert_int_equal(draw_all(&source, about, EF_UNITS_METRIC, i % 20 == 0), 1);
    }
}

/* What is written of each volume that was tried is what the answer says; on one path it is the answer's own
 * sum. */
static void test_curve_numbers(void **state)
{
    (void)state;
    ef_scenario *scenario = plant_load("scenarios/cereal-seed.yaml");
    ef_bins_settings settings = ef_bins_defaults();
    settings.traces = 12;
    settings.crop = 0;
    ef_bins *bins;
    char *svg;
    assert_int_equal(ef_bins_run(scenario, &settings, &bins), EF_OK);
    assert_int_equal(ef_report_curve_svg(bins, 0, 0, EF_UNITS_METRIC, &svg), EF_OK);
    drawing of = drawing_read(svg, "curve");
    const ef_bins_feed *feed = &bins->crops[0].feeds[0];
    const ef_bins_check *checks[] = {&feed->now, &feed->rule, &feed->recommended};
    static const char *const names[] = {"now: ", "by the rule: ", "recommended: "};
    for (int i = 0; i < 3; i++) {
        const drawing_text *text = drawing_find_text(&of, names[i]);
        if (!text)
            fail_msg("no words about \"%s\"", names[i]);
        char *end;
        const double m3 = strtod(text->words + strlen(names[i]), &end);
        assert_true(strncmp(end, " m3, ", 5) == 0);
        const double minutes = strtod(end + 5, &end);
        assert_true(strncmp(end, " min", 4) == 0);
        assert_near_absolute(m3, checks[i]->volume_m3, 0.051);
        assert_near_absolute(minutes, 60.0 * checks[i]->short_h.value, 0.051);
    }
    drawing_free(&of);
    ef_report_free(svg);
    ef_bins_free(bins);
    ef_scenario_free(scenario);
}

/* ---- the table ------------------------------------------------------------------------------------------
 */

static void test_table(void **state)
{
    (void)state;
    const ef_picture_source nothing = {0};
    int count = 0;
    for (; ef_picture_at(count); count++) {
        const ef_picture *picture = ef_picture_at(count);
        char *text = NULL;
        assert_ptr_equal(ef_picture_find(picture->name), picture);
        assert_int_equal(ef_picture_parts(picture, &nothing), 0);
        assert_int_equal(ef_picture_svg(picture, &nothing, 0, EF_UNITS_METRIC, &text), EF_USAGE);
        assert_int_equal(ef_picture_part(picture, &nothing, 0, &text), EF_USAGE);
        assert_null(text);
        assert_true(strlen(picture->meaning) > 20);
    }
    assert_int_equal(count, 10);
    assert_null(ef_picture_at(-1));
    assert_null(ef_picture_find("nothing"));
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_table),         cmocka_unit_test(test_bundled),
        cmocka_unit_test(test_long_line),     cmocka_unit_test(test_season_bars),
        cmocka_unit_test(test_stores),        cmocka_unit_test(test_great_season),
        cmocka_unit_test(test_pages),         cmocka_unit_test(test_random_seasons),
        cmocka_unit_test(test_elevations),    cmocka_unit_test(test_curves),
        cmocka_unit_test(test_curve_numbers),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
