/* SPDX-License-Identifier: GPL-3.0-or-later
 * The page as a whole: what stands where, for whom. */
#include "base/tongue.h"
#include "report/balance_view.h"
#include "report/bins_view.h"
#include "report/html/html.h"
#include "report/report.h"
#include "report/season_view.h"
#include "report/shift_view.h"

#include <string.h>

/* ---- chapters -------------------------------------------------------------------------------------------
 */

enum {
    CHAPTER_LEVEL = 3,
    CROP_LEVEL = 4
};

static void put_balance(efi_page *page, const ef_report_answers *answers)
{
    efi_paper paper = {.with_pictures = true};
    efi_balance_put(&paper, answers->balance, answers->units);
    efi_html_paper(page, &paper, CROP_LEVEL);
    efi_paper_free(&paper);
}

static void put_bins(efi_page *page, const ef_report_answers *answers)
{
    efi_paper paper = {.with_pictures = true};
    efi_bins_put(&paper, answers->bins, answers->units);
    efi_html_paper(page, &paper, CROP_LEVEL);
    efi_paper_free(&paper);
}

static void put_shifts(efi_page *page, const ef_report_answers *answers)
{
    for (int i = 0; i < answers->shift_count; i++) {
        efi_paper paper = {.with_pictures = true};
        efi_shift_put(&paper, answers->shifts[i], answers->units);
        efi_html_paper(page, &paper, CROP_LEVEL);
        efi_paper_free(&paper);
    }
}

static void put_planning(efi_page *page, const ef_report_answers *answers)
{
    efi_paper paper = {0};
    efi_planning_put(&paper, answers);
    efi_html_paper(page, &paper, CROP_LEVEL);
    efi_paper_free(&paper);
}

static void put_levels(efi_page *page, const ef_report_answers *answers)
{
    efi_paper paper = {.with_pictures = true};
    for (int i = 0; i < answers->shift_count; i++) {
        const ef_shift *shift = answers->shifts[i];
        char *svg = NULL;
        efi_paper_heading(&paper, 2, true, shift->crop);
        efi_paper_picture(&paper, "envelope", ef_report_envelope_svg(shift, answers->units, &svg), &svg);
    }
    efi_html_paper(page, &paper, CROP_LEVEL);
    efi_paper_free(&paper);
}

static void put_season(efi_page *page, const ef_report_answers *answers)
{
    efi_paper paper = {.with_pictures = true};
    efi_season_paper(&paper, answers->season, answers->units);
    efi_html_paper(page, &paper, CROP_LEVEL);
    efi_paper_free(&paper);
}

static void put_season_costs(efi_page *page, const ef_report_answers *answers)
{
    efi_paper paper = {0};
    efi_season_costs_put(&paper, answers->season, answers->units);
    efi_html_paper(page, &paper, CROP_LEVEL);
    efi_paper_free(&paper);
}

static bool has_season(const ef_report_answers *answers)
{
    return answers->season != NULL;
}

static bool has_balance(const ef_report_answers *answers)
{
    return answers->balance != NULL;
}

static bool has_bins(const ef_report_answers *answers)
{
    return answers->bins != NULL;
}

static bool has_shifts(const ef_report_answers *answers)
{
    return answers->shift_count > 0;
}

static bool has_levels(const ef_report_answers *answers)
{
    for (int i = 0; i < answers->shift_count; i++)
        if (answers->shifts[i]->bin_count > 0)
            return true;
    return false;
}

typedef enum reader {
    DESIGNER,
    SCHEDULER,
    MANAGER
} reader;

static const struct {
    const char *id;
    const char *words;
} readers[] = {[DESIGNER] = {"designer", EFI_TR("For the plant designer")},
               [SCHEDULER] = {"scheduler", EFI_TR("For the scheduler")},
               [MANAGER] = {"manager", EFI_TR("For the manager")}};

/* What each reader asks, in the order of the page. A chapter without its answer is left out, unless the
 * answer is among those that could not be had: then it says so. */
static const struct chapter {
    const char *answer;
    reader reader;
    const char *id;
    const char *question;
    bool (*has)(const ef_report_answers *answers);
    void (*put)(efi_page *page, const ef_report_answers *answers);
} chapters[] = {
    {"balance", DESIGNER, "balance", EFI_TR("What rate does the line hold, and what limits it?"), has_balance,
     put_balance},
    {"bins", DESIGNER, "bins", EFI_TR("How large must the bins be?"), has_bins, put_bins},
    {"season", SCHEDULER, "season", EFI_TR("Which lot runs when, and what is in trouble?"), has_season,
     put_season},
    {"shift", SCHEDULER, "planning", EFI_TR("Which rates to plan with?"), has_shifts, put_planning},
    {"shift", SCHEDULER, "levels", EFI_TR("How do the bins fill and empty?"), has_levels, put_levels},
    {"shift", MANAGER, "shift", EFI_TR("How much does a shift make, and what does it cost?"), has_shifts,
     put_shifts},
    {"season", MANAGER, "season-costs", EFI_TR("What does the season cost?"), has_season, put_season_costs},
};

/* Is it the first chapter of its answer for its reader? There an answer that could not be had is told. */
static bool tells_missing(size_t chapter)
{
    for (size_t i = 0; i < chapter; i++)
        if (chapters[i].reader == chapters[chapter].reader &&
            strcmp(chapters[i].answer, chapters[chapter].answer) == 0)
            return false;
    return true;
}

static int count_missing(const ef_report_answers *answers, size_t chapter)
{
    int count = 0;
    for (int i = 0; i < answers->missing_count && tells_missing(chapter); i++)
        count += strcmp(answers->missing[i].answer, chapters[chapter].answer) == 0;
    return count;
}

static bool is_shown(const ef_report_answers *answers, size_t chapter)
{
    return chapters[chapter].has(answers) || count_missing(answers, chapter) > 0;
}

static bool has_reader(const ef_report_answers *answers, int who)
{
    for (size_t i = 0; i < EF_COUNT(chapters); i++)
        if ((int)chapters[i].reader == who && is_shown(answers, i))
            return true;
    return false;
}

/* ---- head -----------------------------------------------------------------------------------------------
 */

static void add_head(efi_page *page)
{
    efi_text *out = page->out;
    efi_text title = {0};
    efi_text_addf(&title, efi_tr("%s: report"), page->answers->plant);
    efi_text_addf(out, "<!DOCTYPE html>\n<html lang=\"%s\">\n<head>\n<meta charset=\"utf-8\">\n<title>",
                  ef_tongue_used());
    efi_html_words(out, efi_text_get(&title));
    efi_text_add(out, "</title>\n"
                      "<meta name=\"viewport\" content=\"width=device-width, initial-scale=1\">\n"
                      "<meta http-equiv=\"Content-Security-Policy\" content=\"default-src 'none'; style-src "
                      "'unsafe-inline'; script-src 'unsafe-inline'; base-uri 'none'; form-action 'none'\">\n"
                      "<meta name=\"color-scheme\" content=\"light dark\">\n"
                      "<meta name=\"generator\" content=\"evenfeed " EF_VERSION "\">\n<style>\n");
    for (int i = 0; efi_html_style[i]; i++)
        efi_text_add(out, efi_html_style[i]);
    efi_text_addf(out, "</style>\n</head>\n<body>\n<a class=\"skip\" href=\"#main\">%s</a>\n<header>\n<h1>",
                  efi_tr("To the results"));
    efi_html_words(out, page->answers->plant);
    efi_text_addf(out, "</h1>\n<p>%s</p>\n</header>\n",
                  efi_tr("Planning figures: the <a href=\"#cautions\">cautions</a> come first."));
    out->failed = out->failed || title.failed;
    efi_text_free(&title);
}

static void add_link(efi_text *out, const char *id, const char *words)
{
    efi_text_addf(out, "<li><a href=\"#%s\">", id);
    efi_html_words(out, words);
    efi_text_add(out, "</a>");
}

static void add_contents(efi_page *page)
{
    efi_text *out = page->out;
    efi_text_addf(out, "<nav aria-label=\"%s\">\n<ul>\n", efi_tr("Contents"));
    add_link(out, "overview", efi_tr("In one look"));
    efi_text_add(out, "</li>\n");
    for (int r = 0; r < (int)EF_COUNT(readers); r++) {
        if (!has_reader(page->answers, r))
            continue;
        add_link(out, readers[r].id, efi_tr(readers[r].words));
        efi_text_add(out, "\n<ul>\n");
        for (size_t i = 0; i < EF_COUNT(chapters); i++) {
            if ((int)chapters[i].reader != r || !is_shown(page->answers, i))
                continue;
            add_link(out, chapters[i].id, efi_tr(chapters[i].question));
            efi_text_add(out, "</li>\n");
        }
        efi_text_add(out, "</ul></li>\n");
    }
    add_link(out, "cautions", efi_tr("Cautions"));
    efi_text_add(out, "</li>\n");
    add_link(out, "again", efi_tr("How to make this report again"));
    efi_text_add(out, "</li>\n</ul>\n</nav>\n<main id=\"main\" tabindex=\"-1\">\n");
}

/* ---- body -----------------------------------------------------------------------------------------------
 */

static void begin_section(efi_text *out, const char *id, int level, const char *words)
{
    efi_text_addf(out,
                  "<section id=\"%s\" class=\"level%d\" aria-labelledby=\"%s-title\">\n<h%d id=\"%s-title\">",
                  id, level, id, level, id);
    efi_html_words(out, words);
    efi_text_addf(out, "</h%d>\n", level);
}

static void end_section(efi_text *out)
{
    efi_text_add(out, "</section>\n");
}

static void add_overview(efi_page *page)
{
    efi_paper paper = {0};
    begin_section(page->out, "overview", 2, efi_tr("In one look"));
    efi_overview_put(&paper, page->answers);
    efi_html_paper(page, &paper, CROP_LEVEL);
    efi_paper_free(&paper);
    end_section(page->out);
}

static void add_missing(efi_page *page, size_t chapter)
{
    for (int i = 0; i < page->answers->missing_count && tells_missing(chapter); i++) {
        const ef_report_missing *missing = &page->answers->missing[i];
        if (strcmp(missing->answer, chapters[chapter].answer) != 0)
            continue;
        efi_text_addf(page->out, "<p class=\"warning\"><strong>%s</strong> ", efi_tr("Not answered:"));
        efi_html_prose(page->out, missing->why);
        efi_text_add(page->out, "</p>\n");
    }
}

static void add_reader(efi_page *page, int who)
{
    if (!has_reader(page->answers, who))
        return;
    begin_section(page->out, readers[who].id, 2, efi_tr(readers[who].words));
    for (size_t i = 0; i < EF_COUNT(chapters); i++) {
        if ((int)chapters[i].reader != who || !is_shown(page->answers, i))
            continue;
        begin_section(page->out, chapters[i].id, CHAPTER_LEVEL, efi_tr(chapters[i].question));
        add_missing(page, i);
        if (chapters[i].has(page->answers))
            chapters[i].put(page, page->answers);
        end_section(page->out);
    }
    end_section(page->out);
}

static void add_cautions(efi_page *page)
{
    begin_section(page->out, "cautions", 2, efi_tr("Cautions"));
    efi_text_add(page->out, "<ul class=\"cautions\">\n");
    for (int i = 0; i < page->cautions.part_count; i++) {
        efi_text_add(page->out, "<li>");
        efi_html_prose(page->out, page->cautions.parts[i].words);
        efi_text_add(page->out, "</li>\n");
    }
    efi_text_add(page->out, "</ul>\n");
    end_section(page->out);
}

/* ---- how it was made ------------------------------------------------------------------------------------
 */

static void add_fact(efi_text *out, const char *name, const char *words)
{
    efi_text_add(out, "<dt>");
    efi_html_words(out, name);
    efi_text_add(out, "</dt><dd>");
    efi_html_words(out, words);
    efi_text_add(out, "</dd>\n");
}

/* The seeds of the answers that draw random numbers: one where all have the same. */
static void add_seeds(efi_text *out, const ef_report_answers *answers)
{
    efi_text words = {0};
    if (answers->bins)
        efi_text_addf(&words, efi_tr("%llu for the bins (%d traces of %d shifts)"),
                      (unsigned long long)answers->bins->seed, answers->bins->traces, answers->bins->shifts);
    for (int i = 0; i < answers->shift_count; i++) {
        const ef_shift *shift = answers->shifts[i];
        efi_text_add(&words, words.length ? ", " : "");
        efi_text_addf(&words, efi_tr("%llu for the shift on %s (%d runs)"), (unsigned long long)shift->seed,
                      shift->crop, shift->runs);
    }
    if (answers->season) {
        efi_text_add(&words, words.length ? ", " : "");
        efi_text_addf(&words, efi_tr("%llu for the season (%llu steps of search)"),
                      (unsigned long long)answers->season->seed, (unsigned long long)answers->season->steps);
    }
    if (words.length)
        add_fact(out, efi_tr("Seed of the random numbers"), efi_text_get(&words));
    out->failed = out->failed || words.failed;
    efi_text_free(&words);
}

static void add_again(efi_page *page)
{
    const ef_report_answers *answers = page->answers;
    efi_text *out = page->out;
    begin_section(out, "again", 2, efi_tr("How to make this report again"));
    efi_text_add(out, "<dl>\n");
    add_fact(out, efi_tr("Plant"), answers->plant);
    add_fact(out, efi_tr("Scenario file"), answers->scenario_file);
    add_fact(out, efi_tr("Program"), "evenfeed " EF_VERSION);
    add_fact(out, efi_tr("Units"),
             answers->units == EF_UNITS_US ? efi_tr_in("units", "us") : efi_tr_in("units", "metric"));
    add_seeds(out, answers);
    efi_text_add(out, "</dl>\n");
    if (answers->command) {
        efi_text_addf(
            out, "<p>%s</p>\n<pre tabindex=\"0\" role=\"group\" aria-label=\"%s\"><code>",
            efi_tr("The same scenario, version, seed and command give the same figures on every machine:"),
            efi_tr("Command"));
        efi_html_words(out, answers->command);
        efi_text_add(out, "</code></pre>\n");
    }
    end_section(out);
}

static void write_page(efi_page *page)
{
    add_head(page);
    add_contents(page);
    efi_cautions_put(&page->cautions, page->answers);
    add_overview(page);
    for (int r = 0; r < (int)EF_COUNT(readers); r++)
        add_reader(page, r);
    add_cautions(page);
    add_again(page);
    efi_text_addf(page->out, "</main>\n<script>\n%s</script>\n</body>\n</html>\n", efi_html_script);
}

ef_status ef_report_html(const ef_report_answers *answers, char **text)
{
    efi_text out = {0};
    efi_page page = {.answers = answers, .out = &out};
    write_page(&page);
    out.failed = out.failed || page.cautions.failed || page.style.failed;
    efi_paper_free(&page.cautions);
    efi_text_free(&page.style);
    return efi_report_give(&out, text);
}
