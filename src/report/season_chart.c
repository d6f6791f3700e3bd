/* SPDX-License-Identifier: GPL-3.0-or-later
 * The chart of a season on a terminal: a block for each week, in it a row for each line, and so many signs
 * for each day. A stretch of a lot shows its name where that fits, else a letter that stands below the week.
 */
#include "base/tongue.h"
#include "report/season_view.h"

enum {
    WIDTH = 100 - 2,     /* within the indent of the paper */
    SIGNS_OF_DAY = 12,   /* two hours each ... */
    SIGNS_OF_SEVEN = 10, /* ... where a week has a day without work */
    LABEL_GAP = 2,
    SAMPLES = 8, /* of a sign; what most of them say is shown */
    MOST_SIGNS = EFI_WEEK_DAYS * SIGNS_OF_DAY
};

/* What a sign stands for; from 0 on the number of a run. */
enum {
    CLOSED = -1,
    IDLE = -2,
    CLEANING = -3,
    MAINTENANCE = -4
};

static const char letters[] = "abcdefghijklmnopqrstuvwxyzABCDEFGHIJKLMNOPQRSTUVWXYZ";
#define MANY '+' /* when there are no letters left */

/* How far a line has been walked through; moments only grow. */
typedef struct cursor {
    int stretch, last_stretch; /* at or before the moment; one past the last of the line */
    int run, last_run;
} cursor;

typedef struct chart {
    const efi_season_view *v;
    cursor *cursors; /* shape [line] */
    int per_day;
    bool works[EFI_WEEK_DAYS]; /* some line is ever open on it */
    int days;                  /* how many of them */
    int label_width;
    char *letter; /* shape [run]: in this week; 0 none */
    int used;     /* letters of this week */
} chart;

/* ---- what is when ---------------------------------------------------------------------------------------
 */

static int state_at(const chart *c, int line, int64_t moment)
{
    const ef_season *season = c->v->season;
    cursor *at = &c->cursors[line];
    while (at->stretch < at->last_stretch && season->stretches[at->stretch].to <= moment)
        at->stretch++;
    while (at->run < at->last_run && season->runs[at->run].end <= moment)
        at->run++;
    const ef_season_stretch *stretch = at->stretch < at->last_stretch ? &season->stretches[at->stretch]
                                                                      : NULL;
    if (!stretch || stretch->from > moment || stretch->state == EF_SEASON_CLOSED)
        return CLOSED;
    if (stretch->state == EF_SEASON_MAINTENANCE)
        return MAINTENANCE;
    if (stretch->state == EF_SEASON_DAILY_CLEAN)
        return CLEANING;
    const ef_season_run *run = at->run < at->last_run ? &season->runs[at->run] : NULL;
    if (run && run->start <= moment)
        return at->run;
    if (run && run->clean_from <= moment && moment < run->clean_to)
        return CLEANING;
    const ef_season_line *l = &season->lines[line];
    return l->last_clean_from <= moment && moment < l->last_clean_to ? CLEANING : IDLE;
}

/* What most samples of a sign say; of those that are level the first. */
static int state_of_sign(const chart *c, int line, int64_t from, int64_t to)
{
    int states[SAMPLES];
    int best = 0;
    int most = 0;
    for (int s = 0; s < SAMPLES; s++)
        states[s] = state_at(c, line, from + (to - from) * (2 * s + 1) / (2 * SAMPLES));
    for (int s = 0; s < SAMPLES; s++) {
        int same = 0;
        for (int o = 0; o < SAMPLES; o++)
            same += states[o] == states[s];
        if (same > most) {
            most = same;
            best = states[s];
        }
    }
    return best;
}

/* ---- a week ---------------------------------------------------------------------------------------------
 */

/* The first `width` columns of a name. */
static void add_cut(efi_text *out, const char *name, int width)
{
    efi_text cut = {0};
    for (const char *at = name; *at && !cut.failed;) {
        size_t length = 1;
        while (((unsigned char)at[length] & 0xC0u) == 0x80u)
            length++;
        efi_text_add_bytes(&cut, at, length);
        if (efi_text_width(efi_text_get(&cut)) > width)
            break;
        efi_text_add_bytes(out, at, length);
        at += length;
    }
    out->failed = out->failed || cut.failed;
    efi_text_free(&cut);
}

static char letter_of(chart *c, int run)
{
    if (c->letter[run] == 0)
        c->letter[run] = c->used < (int)sizeof letters - 1 ? letters[c->used++] : MANY;
    return c->letter[run];
}

/* A stretch of one run, `length` signs; `is_next` when another lot follows at once; `named` when the stretch
 * before on this row said its name. Returns whether it is named now. */
static bool add_stretch(efi_text *out, chart *c, int run, int length, bool is_next, bool named)
{
    const ef_season *season = c->v->season;
    const char *name = season->lots[season->runs[run].lot].name;
    const int width = efi_text_width(name);
    if (width < length || (width == length && !is_next)) {
        efi_text_add(out, name);
        efi_text_fill(out, '=', length - width);
        return true;
    }
    efi_text_fill(out, named ? '=' : letter_of(c, run), length);
    return named;
}

static void add_sign(efi_text *out, int state, int length)
{
    efi_text_fill(out,
                  state == IDLE          ? '.'
                  : state == CLEANING    ? '/'
                  : state == MAINTENANCE ? '#'
                                         : ' ',
                  length);
}

/* The signs of one line with bars between the days. */
static void add_signs(efi_text *out, chart *c, const int *states)
{
    int named = -1; /* run whose name stands on this row */
    for (int day = 0; day < c->days; day++) {
        const int end = (day + 1) * c->per_day;
        efi_text_add(out, "|");
        for (int at = day * c->per_day; at < end;) {
            int next = at + 1;
            while (next < end && states[next] == states[at])
                next++;
            if (states[at] < 0)
                add_sign(out, states[at], next - at);
            else if (add_stretch(out, c, states[at], next - at, next < end && states[next] >= 0,
                                 named == states[at]))
                named = states[at];
            at = next;
        }
    }
    efi_text_add(out, "|");
}

static void get_states(const chart *c, int line, int64_t monday, int *states)
{
    int count = 0;
    for (int day = 0; day < EFI_WEEK_DAYS; day++) {
        const int64_t start = (monday + day) * EFI_DAY_S;
        for (int s = 0; s < c->per_day && c->works[day]; s++)
            states[count++] = state_of_sign(c, line, start + (int64_t)EFI_DAY_S * s / c->per_day,
                                            start + (int64_t)EFI_DAY_S * (s + 1) / c->per_day);
    }
}

static void add_week_heading(efi_paper *paper, const chart *c, int64_t monday)
{
    efi_text days = {0};
    int owed = 0; /* blanks before the next name, so that no line ends in blanks */
    efi_paper_cellf(paper, efi_tr("week %d"), efi_day_week(monday).week);
    for (int day = 0; day < EFI_WEEK_DAYS; day++) {
        if (!c->works[day])
            continue;
        const efi_piece name = efi_season_short_day((monday + day) * EFI_DAY_S);
        efi_text_fill(&days, ' ', owed + 1);
        efi_text_add(&days, name.words);
        owed = c->per_day - efi_text_width(name.words);
    }
    efi_paper_take(paper, &days);
}

/* Which letter is which lot. */
static void add_week_legend(efi_paper *paper, const chart *c)
{
    const ef_season *season = c->v->season;
    efi_text words = {0};
    bool many = false;
    for (int r = 0; r < season->run_count; r++)
        many = many || c->letter[r] == MANY;
    for (int l = 0; l < c->used; l++)
        for (int r = 0; r < season->run_count; r++)
            if (c->letter[r] == letters[l])
                efi_text_addf(&words, "%s%c %s", words.length ? "\n" : "", letters[l],
                              season->lots[season->runs[r].lot].name);
    if (many)
        efi_text_addf(&words, "\n%c %s", MANY, efi_tr("more lots, see the order of work"));
    if (words.length > 0 || words.failed) {
        efi_paper_cell(paper, NULL);
        efi_paper_take(paper, &words);
    }
}

static bool is_busy(const chart *c, int64_t monday)
{
    const int64_t from = monday * EFI_DAY_S;
    const int64_t to = from + (int64_t)EFI_WEEK_DAYS * EFI_DAY_S;
    for (int r = 0; r < c->v->season->run_count; r++) {
        const ef_season_run *run = &c->v->season->runs[r];
        if (run->clean_from < to && run->end > from)
            return true;
    }
    return false;
}

static void add_week(efi_paper *paper, chart *c, int64_t monday)
{
    const ef_season *season = c->v->season;
    int states[MOST_SIGNS];
    for (int r = 0; r < season->run_count; r++)
        c->letter[r] = 0;
    c->used = 0;
    add_week_heading(paper, c, monday);
    for (int line = 0; line < season->line_count; line++) {
        efi_text words = {0};
        add_cut(&words, season->line_count > 1 ? season->lines[line].name : "", c->label_width);
        efi_paper_take(paper, &words);
        get_states(c, line, monday, states);
        add_signs(&words, c, states);
        efi_paper_take(paper, &words);
    }
    add_week_legend(paper, c);
}

/* ---- the whole ------------------------------------------------------------------------------------------
 */

static void place_cursors(const chart *c)
{
    const ef_season *season = c->v->season;
    int stretch = 0;
    int run = 0;
    for (int line = 0; line < season->line_count; line++) {
        cursor *at = &c->cursors[line];
        at->stretch = stretch;
        at->run = run;
        while (stretch < season->stretch_count && season->stretches[stretch].line == line)
            stretch++;
        while (run < season->run_count && season->runs[run].line == line)
            run++;
        at->last_stretch = stretch;
        at->last_run = run;
    }
}

/* Which days of the week are ever worked on, and with that how many signs a day has. */
static void find_days(chart *c)
{
    const ef_season *season = c->v->season;
    for (int i = 0; i < season->stretch_count; i++) {
        const ef_season_stretch *stretch = &season->stretches[i];
        if (stretch->state == EF_SEASON_CLOSED)
            continue;
        for (int64_t day = efi_moment_day(stretch->from), n = 0;
             n < EFI_WEEK_DAYS && day * EFI_DAY_S < stretch->to; day++, n++)
            c->works[efi_day_weekday(day)] = true;
    }
    for (int day = 0; day < EFI_WEEK_DAYS; day++)
        c->days += c->works[day];
    c->per_day = c->days == EFI_WEEK_DAYS ? SIGNS_OF_SEVEN : SIGNS_OF_DAY;
    c->label_width = WIDTH - LABEL_GAP - 1 - c->days * (c->per_day + 1);
}

static void add_weeks(efi_paper *paper, chart *c)
{
    const ef_season *season = c->v->season;
    const efi_column columns[] = {
        {.title = EFI_TR("Line"), .align = 'l'},
        {.title = EFI_TR("Week"), .align = 'l', .wrap = c->days * (c->per_day + 1)}};
    const efi_table_form form = {
        .name = "chart",
        .caption = EFI_TR(
            "The season week by week: name or letter of a lot and = as it goes on, / clean-down, "
            "# maintenance, . idle, blank: closed. What is shorter than half a sign may not show."),
        .bare = true,
        .drawn = true};
    int64_t from = season->runs[0].clean_from;
    int64_t to = season->end;
    for (int r = 0; r < season->run_count; r++) {
        from = season->runs[r].clean_from < from ? season->runs[r].clean_from : from;
        to = season->runs[r].end > to ? season->runs[r].end : to;
    }
    from = from < season->from ? season->from : from; /* the calendar begins there */
    place_cursors(c);
    efi_paper_table(paper, &form, columns, (int)EF_COUNT(columns));
    for (int64_t monday = efi_day_monday(efi_moment_day(from)); monday * EFI_DAY_S < to;
         monday += EFI_WEEK_DAYS)
        if (is_busy(c, monday))
            add_week(paper, c, monday);
    efi_paper_gap(paper);
}

void efi_season_add_chart(efi_paper *paper, const efi_season_view *v)
{
    const ef_season *season = v->season;
    chart c = {.v = v,
               .cursors = efi_new((size_t)season->line_count, sizeof *c.cursors),
               .letter = efi_new((size_t)season->run_count, sizeof *c.letter)};
    find_days(&c);
    if (!c.cursors || !c.letter)
        paper->failed = true;
    else if (season->run_count > 0 && c.days > 0)
        add_weeks(paper, &c);
    efi_free(c.cursors);
    efi_free(c.letter);
}
