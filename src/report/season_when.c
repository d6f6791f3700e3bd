/* SPDX-License-Identifier: GPL-3.0-or-later
 * Where a lot that might come would go, for people. */
#include "base/tongue.h"
#include "report/report.h"
#include "report/season_view.h"

#include <evenfeed/report.h>

/* "on Line 1 behind W12, Tue 2026-09-01 06:00 to 14:00" */
static void add_place(efi_text *words, const efi_season_view *v, const ef_season_offer *offer)
{
    const char *line = v->season->line_count > 1 ? v->season->lines[offer->line].name : NULL;
    const efi_piece start = efi_piece_when(offer->start);
    const efi_piece end = efi_season_near(offer->end, offer->start);
    if (line && *offer->behind)
        efi_text_addf(words, efi_tr("on %s behind %s, %s to %s"), line, offer->behind, start.words,
                      end.words);
    else if (line)
        efi_text_addf(words, efi_tr("on %s as the first lot, %s to %s"), line, start.words, end.words);
    else if (*offer->behind)
        efi_text_addf(words, efi_tr("behind %s, %s to %s"), offer->behind, start.words, end.words);
    else
        efi_text_addf(words, efi_tr("as the first lot, %s to %s"), start.words, end.words);
}

/* "for 120 EUR more in all, of which other lots lose 20 EUR; 2 lots become late or later by it" */
static void add_cost(efi_text *words, const efi_season_view *v, const ef_season_offer *offer)
{
    const efi_piece cost = efi_season_sum(v, offer->cost);
    if (offer->others_cost > 0.0)
        efi_text_addf(words, efi_tr("for %s more in all, of which other lots lose %s"), cost.words,
                      efi_season_sum(v, offer->others_cost).words);
    else
        efi_text_addf(words, efi_tr("for %s more in all"), cost.words);
    if (offer->others_late > 0) {
        efi_text_add(words, "; ");
        efi_text_addf(words,
                      efi_tr_n("%d lot becomes late or later by it", "%d lots become late or later by it",
                               offer->others_late),
                      offer->others_late);
    }
}

static bool is_same(const ef_season_offer *a, const ef_season_offer *b)
{
    return a->line == b->line && a->place == b->place;
}

/* Which of the two an offer is. */
typedef enum best {
    CHEAPEST,
    EARLIEST,
    BOTH
} best;

static void add_offer(efi_paper *paper, const efi_season_view *v, const ef_season_answer *answer, best which)
{
    const ef_season_offer *offer = which == EARLIEST ? &answer->earliest : &answer->cheapest;
    const efi_piece amount = efi_piece_alone(EFI_KIND_MASS, v->units, answer->amount_t,
                                             efi_season_trade_weight(v->season, answer->crop), NULL);
    efi_text words = {0};
    efi_text place = {0};
    efi_text cost = {0};
    add_place(&place, v, offer);
    add_cost(&cost, v, offer);
    switch (which) {
    case CHEAPEST:
        efi_text_addf(&words, efi_tr("%s of %s cost least %s, %s."), amount.words, answer->crop,
                      efi_text_get(&place), efi_text_get(&cost));
        break;
    case EARLIEST:
        efi_text_addf(&words, efi_tr("Earliest it runs %s, %s."), efi_text_get(&place), efi_text_get(&cost));
        break;
    case BOTH:
        efi_text_addf(&words, efi_tr("%s of %s cost least, and run earliest, %s, %s."), amount.words,
                      answer->crop, efi_text_get(&place), efi_text_get(&cost));
        break;
    }
    words.failed = words.failed || place.failed || cost.failed;
    efi_text_free(&place);
    efi_text_free(&cost);
    efi_paper_say(paper, which == EARLIEST ? EFI_DETAIL : EFI_VERDICT, &words);
}

static void add_verdict(efi_paper *paper, const efi_season_view *v, const ef_season_answer *answer)
{
    efi_text words = {0};
    if (answer->offer_count == 0) {
        efi_text_addf(&words, efi_tr("%s of %s find no place in this plan."),
                      efi_piece_alone(EFI_KIND_MASS, v->units, answer->amount_t,
                                      efi_season_trade_weight(v->season, answer->crop), NULL)
                          .words,
                      answer->crop);
        efi_paper_say(paper, EFI_VERDICT, &words);
        return;
    }
    const bool same = is_same(&answer->cheapest, &answer->earliest);
    add_offer(paper, v, answer, same ? BOTH : CHEAPEST);
    if (!same)
        add_offer(paper, v, answer, EARLIEST);
}

static void add_offers(efi_paper *paper, const efi_season_view *v, const ef_season_answer *answer)
{
    efi_text more = {0};
    efi_text others = {0};
    efi_text_addf(&more, efi_tr("More %s"), v->money.name);
    efi_text_addf(&others, efi_tr("Others %s"), v->money.name);
    const efi_column columns[] = {{.title = EFI_TR("Line"), .align = 'l'},
                                  {.title = EFI_TR("Behind"), .align = 'l'},
                                  {.title = efi_tr_in("time", "From"), .align = 'l'},
                                  {.title = efi_tr_in("time", "To"), .align = 'l'},
                                  {.title = efi_text_get(&more), .align = 'r'},
                                  {.title = efi_text_get(&others), .align = 'r'},
                                  {.title = EFI_TR("Lots later"), .align = 'r'}};
    const efi_table_form form = {.name = "offers",
                                 .caption = EFI_TR("Where it could go, the cheapest first")};
    efi_paper_table(paper, &form, columns, (int)EF_COUNT(columns));
    for (int i = 0; i < answer->offer_count; i++) {
        const ef_season_offer *offer = &answer->offers[i];
        efi_paper_cell(paper, efi_season_line_said(v->season, offer->line));
        efi_paper_cell(paper, *offer->behind ? offer->behind : efi_tr("(first)"));
        efi_paper_cell(paper, efi_piece_when(offer->start).words);
        efi_paper_cell(paper, efi_piece_when(offer->end).words);
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
    efi_text_addf(&title, efi_tr("%s: %s, when could another lot run?"), answer->season->plant,
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
        efi_tr("All other lots keep their order; what the lot costs includes its own clean-downs, room and "
               "lateness. Take it into the scenario and plan again for what a new order would save."));
}

ef_status ef_report_when_text(const ef_season_answer *answer, ef_units units, char **text)
{
    efi_paper paper = {0};
    efi_when_paper(&paper, answer, units);
    return efi_paper_give_text(&paper, text);
}
