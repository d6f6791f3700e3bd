/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "made_season.h"

#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#define DAY_S  86400
#define HOUR_S 3600
#define FROM_S (20697LL * DAY_S) /* 2026-09-01 */
enum {
    NAME = 24
};

/* A number below `limit` by a linear congruential step (Knuth's constants for 64 bits). */
static int draw(uint64_t *state, int limit)
{
    *state = *state * 6364136223846793005u + 1442695040888963407u;
    return (int)((*state >> 33) % (uint64_t)limit);
}

typedef struct made {
    ef_season season; /* first: the season is the whole */
    ef_season_lot *lot;
    ef_season_run *run;
    ef_season_line *line;
    ef_season_store *store;
    ef_season_stay *stay;
    ef_season_stretch *stretch;
    char (*name)[NAME];
    int names;
} made;

static void *get(size_t count, size_t size)
{
    void *memory = calloc(count > 0 ? count : 1, size);
    if (!memory)
        abort();
    return memory;
}

static const char *name_of(made *m, const char *word, int number)
{
    char *name = m->name[m->names++];
    (void)snprintf(name, NAME, "%s %d", word, number);
    return name;
}

/* Work from 6 to 22 on weekdays. */
static void make_stretches(made *m, int lines, int days)
{
    int count = 0;
    for (int l = 0; l < lines; l++) {
        for (int d = 0; d < days + 3; d++) {
            const int64_t day = FROM_S + (int64_t)d * DAY_S;
            const bool weekend = (d + 1) % 7 >= 5; /* 2026-09-01 is a Tuesday */
            const int64_t closed_to = weekend ? day + DAY_S : day + 6 * HOUR_S;
            m->stretch[count++] = (ef_season_stretch){l, day, closed_to, EF_SEASON_CLOSED};
            if (weekend)
                continue;
            m->stretch[count++] = (ef_season_stretch){l, closed_to, day + 13 * HOUR_S, EF_SEASON_SHIFT};
            m->stretch[count++] = (ef_season_stretch){l, day + 13 * HOUR_S, day + 14 * HOUR_S,
                                                      EF_SEASON_BREAK};
            m->stretch[count++] = (ef_season_stretch){l, day + 14 * HOUR_S, day + 22 * HOUR_S,
                                                      EF_SEASON_SHIFT};
            m->stretch[count++] = (ef_season_stretch){l, day + 22 * HOUR_S, day + DAY_S,
                                                      d % 5 == 0   ? EF_SEASON_OVERTIME_TIME
                                                      : d % 5 == 1 ? EF_SEASON_MAINTENANCE
                                                                   : EF_SEASON_CLOSED};
        }
    }
    m->season.stretch_count = count;
}

static void make_lot(made *m, int i, uint64_t *state)
{
    static const char *const crops[] = {"wheat",      "barley",  "oats",    "field peas",
                                        "red clover", "lentils", "ryegrass"};
    ef_season_lot *lot = &m->lot[i];
    *lot = (ef_season_lot){.name = name_of(m, "Lot", i + 1), .crop = crops[draw(state, 7)]};
    lot->variety = lot->seed_class = lot->treatment = lot->allergen = lot->trait = "";
    lot->colour = lot->product = lot->note = lot->after = "";
    lot->amount_t = lot->left_t = 10.0 + draw(state, 90);
    lot->product_t = 0.9 * lot->amount_t;
    lot->arrives_latest = lot->latest_start = EF_SEASON_NONE;
}

static void make_run(made *m, int i, int line, int64_t *at, int64_t step, uint64_t *state)
{
    ef_season_run *run = &m->run[i];
    ef_season_lot *lot = &m->lot[i];
    *run = (ef_season_run){
        .lot = i, .line = line, .place = i, .before = -1, .shift = "", .rule = "crop", .fits = true};
    run->clean_from = *at;
    run->clean_to = *at + (draw(state, 3) ? step / 12 : 0);
    run->start = run->clean_to;
    run->end = run->start + step / 2 + draw(state, (int)(step / 3));
    *at = run->end + step / 20;
    lot->arrives = draw(state, 4) ? run->clean_from - (int64_t)(1 + draw(state, 6)) * DAY_S : EF_SEASON_NONE;
    lot->due = i % 7 == 3 ? run->end - (int64_t)(1 + draw(state, 3)) * DAY_S
                          : run->end + (int64_t)draw(state, 20) * DAY_S;
    run->late_days = i % 7 == 3 ? (double)(run->end - lot->due) / DAY_S : 0.0;
    m->season.late_lots += i % 7 == 3;
    run->forbidden = i % 61 == 60;
    run->raw_missing_t = i % 23 == 22 ? lot->amount_t : 0.0;
    m->season.end = run->end > m->season.end ? run->end : m->season.end;
}

static void make_stay(made *m, int i, int stores, uint64_t *state)
{
    const ef_season_run *run = &m->run[i];
    const bool without = run->raw_missing_t > 0.0;
    if (stores == 0)
        return;
    const int store = without ? -1 : draw(state, stores);
    const int64_t from = run->start - (int64_t)(1 + draw(state, 4)) * DAY_S;
    m->stay[m->season.stay_count++] = (ef_season_stay){
        store, store >= 0 && m->store[store].finished, i, from, run->end, m->lot[i].amount_t};
}

ef_season *made_season(int lots, int lines, int stores, int days, uint64_t seed)
{
    made *m = get(1, sizeof *m);
    uint64_t state = seed * 2654435761u + 1;
    m->lot = get((size_t)lots, sizeof *m->lot);
    m->run = get((size_t)lots, sizeof *m->run);
    m->line = get((size_t)lines, sizeof *m->line);
    m->store = get((size_t)stores, sizeof *m->store);
    m->stay = get((size_t)lots, sizeof *m->stay);
    m->stretch = get((size_t)lines * (size_t)(days + 3) * 5, sizeof *m->stretch);
    m->name = get((size_t)lots + (size_t)lines + (size_t)stores, sizeof *m->name);
    m->season = (ef_season){.plant = "Made-up plant",
                            .scenario_file = "made.yaml",
                            .currency = "EUR",
                            .lots = m->lot,
                            .lot_count = lots,
                            .runs = m->run,
                            .run_count = lots,
                            .lines = m->line,
                            .line_count = lines,
                            .stores = m->store,
                            .store_count = stores,
                            .stays = m->stay,
                            .stretches = m->stretch,
                            .from = FROM_S,
                            .at = FROM_S};
    m->season.to = m->season.end = FROM_S + (int64_t)days * DAY_S;
    for (int l = 0; l < lines; l++)
        m->line[l] = (ef_season_line){.name = name_of(m, "Line", l + 1), .last_rule = ""};
    for (int s = 0; s < stores; s++)
        m->store[s] = (ef_season_store){.name = name_of(m, "Silo", s + 1),
                                        .finished = s % 2 == 1,
                                        .shared = s % 3 == 0,
                                        .holds_t = 120.0,
                                        .most_t = 100.0};
    make_stretches(m, lines, days);
    int i = 0;
    for (int l = 0; l < lines; l++) {
        const int end = lots * (l + 1) / lines;
        int64_t at = FROM_S + 6 * HOUR_S;
        const int64_t step = (int64_t)days * DAY_S / (end - i > 0 ? end - i : 1);
        for (; i < end; i++) {
            make_lot(m, i, &state);
            make_run(m, i, l, &at, step, &state);
            make_stay(m, i, stores, &state);
        }
    }
    return &m->season;
}

void made_season_free(ef_season *season)
{
    made *m = (made *)season;
    free(m->lot);
    free(m->run);
    free(m->line);
    free(m->store);
    free(m->stay);
    free(m->stretch);
    free(m->name);
    free(m);
}
