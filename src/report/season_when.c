/* SPDX-License-Identifier: GPL-3.0-or-later
 * Where a lot that might come would go, for people. */
#include "report/report.h"
#include "report/season_view.h"

#include <evenfeed/report.h>

static void add_place(efi_text *words, const efi_season_view *v, const ef_season_offer *offer)
{
    if (v->season->line_count > 1)
        efi_text_addf(words, " on %s", v->season->lines[offer->line].name);
    if (*offer->behind)
        efi_text_addf(words, " behind %s", offer->behind);
    else
        efi_text_add(words, " as the first lot");
    efi_text_add(words, ", ");
    efi_season_add_when(words, offer->start);
    efi_text_add(words, " to ");
    efi_season_add_near(words, offer->end, offer->start);
}

static void add_cost(efi_text *words, const efi_season_view *v, const ef_season_offer *offer)
{
    efi_text_add(words, ", for ");
    efi_season_add_money(words, v, offer->cost);
    efi_text_add(words, " more in all");
    if (offer->others_cost > 0.0) {
        efi_text_add(words, ", of which other lots lose ");
        efi_season_add_money(words, v, offer->others_cost);
    }
    if (offer->others_late > 0) {
        efi_text_add(words, "; ");
        efi_season_add_lots(words, offer->others_late);
        efi_text_addf(words, " become%s late or later by it", offer->others_late == 1 ? "s" : "");
    }
}

static bool is_same(const ef_season_offer *a, const ef_season_offer *b)
{
    return a->line == b->line && a->place == b->place;
}

static void add_verdict(efi_paper *paper, const efi_season_view *v, const ef_season_answer *answer)
{
    efi_text words = {0};
    const bool same = answer->offer_count > 0 && is_same(&answer->cheapest, &answer->earliest);
    efi_display_add_alone(&words, EFI_KIND_MASS, v->units, answer->amount_t,
                          efi_season_trade_weight(v->season, answer->crop), NULL);
    efi_text_addf(&words, " of %s", answer->crop);
    if (answer->offer_count == 0) {
        efi_text_add(&words, " find no place in this plan.");
        efi_paper_say(paper, EFI_VERDICT, &words);
        return;
    }
    efi_text_addf(&words, " cost least%s", same ? ", and run earliest," : "");
    add_place(&words, v, &answer->cheapest);
    add_cost(&words, v, &answer->cheapest);
    efi_text_add(&words, ".");
    efi_paper_say(paper, EFI_VERDICT, &words);
    if (same)
        return;
    efi_text_add(&words, "Earliest it runs");
    add_place(&words, v, &answer->earliest);
    add_cost(&words, v, &answer->earliest);
    efi_text_add(&words, ".");
    efi_paper_say(paper, EFI_DETAIL, &words);
}

static void add_offers(efi_paper *paper, const efi_season_view *v, const ef_season_answer *answer)
{
    efi_text more = {0};
    efi_text others = {0};
    efi_text_addf(&more, "More %s", v->money.name);
    efi_text_addf(&others, "Others %s", v->money.name);
    const efi_column columns[] = {{.title = "Line", .align = 'l'},
                                  {.title = "Behind", .align = 'l'},
                                  {.title = "From", .align = 'l'},
                                  {.title = "To", .align = 'l'},
                                  {.title = efi_text_get(&more), .align = 'r'},
                                  {.title = efi_text_get(&others), .align = 'r'},
                                  {.title = "Lots later", .align = 'r'}};
    const efi_table_form form = {.name = "offers", .caption = "Where it could go, the cheapest first"};
    efi_paper_table(paper, &form, columns, (int)EF_COUNT(columns));
    for (int i = 0; i < answer->offer_count; i++) {
        const ef_season_offer *offer = &answer->offers[i];
        efi_text words = {0};
        efi_paper_cell(paper, v->season->lines[offer->line].name);
        efi_paper_cell(paper, *offer->behind ? offer->behind : "(first)");
        efi_season_add_when(&words, offer->start);
        efi_paper_take(paper, &words);
        efi_season_add_when(&words, offer->end);
        efi_paper_take(paper, &words);
        efi_paper_number(paper, &v->money, offer->cost);
        efi_paper_number(paper, &v->money, offer->others_cost);
        efi_paper_count(paper, offer->others_late);
    }
    paper->failed = paper->failed || more.failed || others.failed;
    efi_text_free(&more);
    efi_text_free(&others);
    efi_paper_gap(paper);
}

void efi_when_paper(efi_paper *paper, const ef_season_answer *answer, ef_units units)
{
    const efi_season_view v = efi_season_view_of(answer->season, units);
    efi_text title = {0};
    efi_text_addf(&title, "%s: %s, when could another lot run?", answer->season->plant,
                  answer->season->scenario_file);
    efi_paper_title(paper, &title);
    add_verdict(paper, &v, answer);
    paper->depth = 1;
    efi_paper_gap(paper);
    if (answer->offer_count > 0)
        add_offers(paper, &v, answer);
    paper->depth = 0;
    efi_paper_words(
        paper, EFI_NOTE,
        "All other lots keep their order; what the lot costs includes its own clean-downs, room and "
        "lateness. Take it into the scenario and plan again for what a new order would save.");
}

ef_status ef_report_when_text(const ef_season_answer *answer, ef_units units, char **text)
{
    efi_paper paper = {0};
    efi_when_paper(&paper, answer, units);
    return efi_paper_give_text(&paper, text);
}
