/* SPDX-License-Identifier: GPL-3.0-or-later
 * Where a lot that might come would go best: in every place of every line of a plan. */
#include "answers/season/order.h"
#include "base/text.h"
#include "base/tongue.h"

#include <stdlib.h>
#include <string.h>

enum {
    MOST_OFFERS = 10
};

typedef struct owned_answer {
    ef_season_answer answer; /* first, so that the public pointer is the owned one */
    efi_arena *arena;
} owned_answer;

/* What is being asked. */
typedef struct inquiry {
    const efi_season_case *of; /* with the lot */
    const efi_season_worked *before;
    int lot; /* its number in the engine */
    efi_season_judge *judge;
    efi_season_order scratch;
    efi_season_run *run;
    ef_season_offer *offers; /* shape [lots + lines] */
    int count;
} inquiry;

/* ---- one place ------------------------------------------------------------------------------------------
 */

/* What the lot itself costs: cleaning before it, lateness, overtime, room. */
static int64_t own_cost(const inquiry *q)
{
    const efi_season_problem *p = &q->of->problem;
    const efi_season_run *run = &q->run[q->lot];
    const efi_season_lot *lot = &p->lot[q->lot];
    const size_t pair = (size_t)run->before * (size_t)(p->lots + 1) + (size_t)q->lot;
    return q->of->line_clean_price[run->line][pair] +
           efi_season_price(run->late_s, lot->late_price, EFI_DAY_S) + run->overtime +
           efi_season_room_price(run->raw_missing_kg, run->start_s - lot->arrives_s, p->raw_price) +
           efi_season_room_price(run->finished_missing_kg, lot->leaves_s, p->finished_price);
}

static int others_late(const inquiry *q)
{
    int count = 0;
    for (int e = 0; e < q->of->problem.lots; e++)
        count += e != q->lot && q->run[e].late_s > q->before->run[e].late_s;
    return count;
}

/* The name of the lot before, and the place in the plan as it is shown. */
static void name_place(const inquiry *q, int line, int place, ef_season_offer *offer)
{
    const efi_season_case *of = q->of;
    const efi_season_order *order = &q->before->order;
    offer->behind = "";
    offer->place = 0;
    for (int i = 0; i < place; i++) {
        const int l = of->lot_of[order->lot[order->first[line] + i]];
        if (of->now[l].state == EF_SEASON_DONE && of->now[l].start == EF_SEASON_NONE)
            continue;
        offer->behind = of->lots[l].name;
        offer->place++;
    }
}

static ef_status try_place(inquiry *q, int line, int place)
{
    const efi_season_case *of = q->of;
    efi_season_cost cost;
    efi_season_insert(of, &q->before->order, q->lot, line, place, &q->scratch);
    EF_TRY(efi_season_judge_order(q->judge, &q->scratch, q->run, &cost));
    if (cost.forbidden > q->before->cost.forbidden)
        return EF_OK;
    const efi_season_run *run = &q->run[q->lot];
    const int64_t more = cost.total - q->before->cost.total;
    ef_season_offer *offer = &q->offers[q->count++];
    *offer = (ef_season_offer){.line = line,
                               .start = efi_season_to_moment(of->scenario, run->start_s),
                               .end = efi_season_to_moment(of->scenario, run->end_s),
                               .cost = (double)more / 1000.0,
                               .others_cost = (double)(more - own_cost(q)) / 1000.0,
                               .others_late = others_late(q)};
    name_place(q, line, place, offer);
    return EF_OK;
}

/* ---- all places -----------------------------------------------------------------------------------------
 */

static int by_cost(const void *left, const void *right)
{
    const ef_season_offer *a = left;
    const ef_season_offer *b = right;
    if (a->cost < b->cost || a->cost > b->cost)
        return a->cost < b->cost ? -1 : 1;
    if (a->end != b->end)
        return a->end < b->end ? -1 : 1;
    if (a->line != b->line)
        return a->line < b->line ? -1 : 1;
    return a->place < b->place ? -1 : a->place > b->place;
}

static ef_status try_all(inquiry *q)
{
    const efi_season_case *of = q->of;
    const efi_season_order *order = &q->before->order;
    const size_t lots = (size_t)of->problem.lots;
    q->scratch.lot = efi_arena_get(of->arena, lots, sizeof *q->scratch.lot);
    q->run = efi_arena_get(of->arena, lots, sizeof *q->run);
    q->offers = efi_arena_get(of->arena, lots + (size_t)of->lines, sizeof *q->offers);
    if (!q->scratch.lot || !q->run || !q->offers)
        return EF_MEMORY;
    for (int line = 0; line < of->lines; line++) {
        if (of->problem.work_s[(size_t)line * lots + (size_t)q->lot] < 0)
            continue;
        const int last = order->first[line + 1] - order->first[line];
        for (int place = efi_season_fixed(of, order, line); place <= last; place++)
            EF_TRY(try_place(q, line, place));
    }
    return EF_OK;
}

static ef_status tell(const inquiry *q, efi_arena *arena, ef_season_answer *answer, char **reason)
{
    if (q->count == 0) {
        efi_text words = {0};
        efi_text_add(&words,
                     EFI_TR("there is no place for such a lot: in each it would not fit into the season, or "
                            "follow a lot that it must not follow"));
        if (reason && !words.failed)
            *reason = words.bytes;
        else
            efi_text_free(&words);
        return EF_NO_ANSWER;
    }
    qsort(q->offers, (size_t)q->count, sizeof *q->offers, by_cost);
    answer->cheapest = answer->earliest = q->offers[0];
    for (int i = 1; i < q->count; i++)
        if (q->offers[i].end < answer->earliest.end)
            answer->earliest = q->offers[i];
    answer->offer_count = q->count < MOST_OFFERS ? q->count : MOST_OFFERS;
    ef_season_offer *offers = efi_arena_get(arena, (size_t)answer->offer_count, sizeof *offers);
    if (!offers)
        return EF_MEMORY;
    memcpy(offers, q->offers, (size_t)answer->offer_count * sizeof *offers);
    answer->offers = offers;
    return EF_OK;
}

/* ---- the lot --------------------------------------------------------------------------------------------
 */

static efi_by_date moment_or_none(int64_t moment)
{
    return (efi_by_date){.moment = {.value = moment, .given = moment != EF_SEASON_NONE}};
}

static efi_scenario_lot invent(const ef_season_question *question)
{
    efi_scenario_lot lot = {.name = "the lot asked about",
                            .crop = question->crop,
                            .amount_t = {.value = question->amount_t, .given = true},
                            .left_t = {.value = question->amount_t, .given = true},
                            .arrives = moment_or_none(question->arrives),
                            .due = moment_or_none(question->due),
                            .line = EFI_NOWHERE,
                            .after = EFI_NOWHERE,
                            .state = EFI_LOT_WAITING};
    lot.trait[EFI_LOT_VARIETY] = question->variety;
    lot.trait[EFI_LOT_CLASS] = question->seed_class;
    lot.trait[EFI_LOT_TREATMENT] = question->treatment;
    return lot;
}

/* Works out the plan before with room for the lot: its runs carry over, since it is the last. */
static ef_status ask(const efi_season_case *before, const efi_season_worked *worked,
                     const ef_season_question *question, owned_answer *owned, char **reason)
{
    const size_t lots = (size_t)before->lot_count;
    efi_season_case with = *before;
    inquiry q = {.of = &with, .before = worked};
    efi_scenario_lot *list = efi_arena_get(before->arena, lots + 1, sizeof *list);
    efi_plan_lot *planned = efi_arena_get(before->arena, lots + 1, sizeof *planned);
    if (!list || !planned)
        return EF_MEMORY;
    if (lots > 0)
        memcpy(list, before->lots, lots * sizeof *list);
    if (before->planned)
        memcpy(planned, before->planned, lots * sizeof *planned);
    list[lots] = invent(question);
    planned[lots] = (efi_plan_lot){(int)lots, EF_SEASON_NONE, EF_SEASON_NONE};
    with.lots = list;
    with.lot_count++;
    with.planned = before->planned ? planned : NULL;
    with.problem = (efi_season_problem){0};
    with.time = with.ahead = NULL;
    ef_status status = efi_season_case_build(&with, reason);
    q.lot = with.problem.lots - 1;
    if (status == EF_OK)
        status = efi_season_judge_new(&with.problem, &q.judge);
    if (status == EF_OK)
        status = try_all(&q);
    if (status == EF_OK)
        status = tell(&q, owned->arena, &owned->answer, reason);
    efi_season_judge_free(q.judge);
    efi_season_case_free(&with);
    return status;
}

static ef_status answer(const ef_scenario *scenario, const ef_season_settings *settings,
                        const ef_season_question *question, owned_answer *owned, char **reason)
{
    efi_season_rates rates;
    efi_season_worked worked;
    efi_arena *arena;
    owned->answer.season = efi_season_new(&arena);
    if (!owned->answer.season)
        return EF_MEMORY;
    owned->answer.crop = scenario->crops[question->crop].name;
    owned->answer.amount_t = question->amount_t;
    owned->answer.arrives = question->arrives;
    owned->answer.due = question->due;
    efi_season_case of = {.scenario = scenario,
                          .settings = settings,
                          .rates = &rates,
                          .arena = arena,
                          .lots = scenario->lots,
                          .lot_count = scenario->lot_count};
    ef_status status = efi_season_rates_build(&rates, arena, scenario, settings, question->crop);
    if (status == EF_OK)
        status = efi_season_answer_case(&of, &worked, owned->answer.season, reason);
    if (status == EF_OK)
        status = ask(&of, &worked, question, owned, reason);
    efi_season_case_free(&of);
    return status == EF_USAGE ? EF_INTERNAL : status;
}

ef_status ef_season_when(const ef_scenario *scenario, const ef_season_settings *settings,
                         const ef_season_question *question, ef_season_answer **found, char **reason)
{
    if (!efi_season_settings_are_valid(settings) || question->crop < 0 ||
        question->crop >= scenario->crop_count || !(question->amount_t > 0.0 && question->amount_t <= 1e9))
        return EF_USAGE;
    owned_answer *owned = efi_new(1, sizeof *owned);
    if (!owned)
        return EF_MEMORY;
    owned->arena = efi_arena_new();
    const ef_status status = owned->arena ? answer(scenario, settings, question, owned, reason) : EF_MEMORY;
    if (status == EF_OK)
        *found = &owned->answer;
    else
        ef_season_answer_free(&owned->answer);
    return status;
}

void ef_season_answer_free(ef_season_answer *answer)
{
    owned_answer *owned = (owned_answer *)answer;
    if (!owned)
        return;
    ef_season_free(owned->answer.season);
    efi_arena_free(owned->arena);
    efi_free(owned);
}
