/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "answers/order/lots.h"
#include "shared/verify/sequence_check.h"

/*
 * Times become ticks of a second, prices thousandths for a tick; so the engine works in whole numbers and its
 * bound is exact for the rounded problem. A value is given in hours at price 1: price / (1000 * 3600).
 */
#define TICKS_AN_HOUR 3600.0
#define PRICE_PARTS   1000.0
#define MOST_PRICE    1e6

/* The engine's problem and its arrays, all in one arena. */
typedef struct built {
    efi_arena *arena;
    efi_sequence_problem problem;
    int first; /* lots left out at the front: 1 when the order is closed and lot 0 stands for its ends */
} built;

static int64_t ticks_of(double hours)
{
    return (int64_t)(hours * TICKS_AN_HOUR + 0.5);
}

static int64_t limit_of(double hours)
{
    return hours >= 0.0 ? ticks_of(hours) : EFI_SEQUENCE_NONE;
}

static int64_t parts_of(double price)
{
    return (int64_t)(price * PRICE_PARTS + 0.5);
}

static bool is_price(double price)
{
    return price >= 0.0 && price <= MOST_PRICE;
}

static bool is_valid(const ef_lots *lots, const ef_order_settings *settings)
{
    if (!is_price(settings->changeover_price) || !is_price(settings->late_price) ||
        !is_price(settings->end_price) || settings->threads < 1 || settings->rounds < 1)
        return false;
    const bool by_changeover = parts_of(settings->late_price) == 0 && parts_of(settings->end_price) == 0;
    return !settings->closed || (by_changeover && !lots->has_limits && !lots->has_ends);
}

static int64_t *get(built *b, size_t count)
{
    return efi_arena_get(b->arena, count, sizeof(int64_t));
}

/* Changeovers between the engine's lots; "nothing" is start and end, or lot 0 of a closed order. */
static void fill_changeovers(const ef_lots *lots, built *b, int64_t *setup)
{
    const int n = b->problem.lots;
    const int outside = b->first ? 0 : lots->count;
    for (int i = 0; i <= n; i++)
        for (int j = 0; j <= n; j++) {
            const int from = i == n ? outside : i + b->first;
            const int to = j == n ? outside : j + b->first;
            const double hours = lots->changeover_h[(size_t)from * (size_t)(lots->count + 1) + (size_t)to];
            setup[(size_t)i * (size_t)(n + 1) + (size_t)j] = i == j      ? 0
                                                             : hours < 0 ? EFI_SEQUENCE_FORBIDDEN
                                                                         : ticks_of(hours);
        }
}

static ef_status build(const ef_lots *lots, const ef_order_settings *settings, built *b)
{
    b->arena = efi_arena_new();
    if (!b->arena)
        return EF_MEMORY;
    b->first = settings->closed && lots->count > 1;
    const size_t n = (size_t)(lots->count - b->first);
    int64_t *const work = get(b, n), *const weight = get(b, n), *const release = get(b, n),
                   *const due = get(b, n);
    int64_t *const start_latest = get(b, n), *const end_latest = get(b, n),
                   *const setup = get(b, (n + 1) * (n + 1));
    if (!work || !weight || !release || !due || !start_latest || !end_latest || !setup)
        return EF_MEMORY;
    for (size_t j = 0; j < n; j++) {
        const size_t lot = j + (size_t)b->first;
        work[j] = ticks_of(lots->work_h[lot]);
        weight[j] = parts_of(lots->priority[lot] * settings->late_price);
        release[j] = ticks_of(lots->arrival_h[lot]);
        due[j] = limit_of(lots->due_h[lot]);
        start_latest[j] = limit_of(lots->latest_start_h[lot]);
        end_latest[j] = limit_of(lots->latest_end_h[lot]);
    }
    b->problem = (efi_sequence_problem){.lots = (int)n,
                                        .cleaned_before_release = settings->cleaned_before_arrival,
                                        .setup_price = parts_of(settings->changeover_price),
                                        .makespan_price = parts_of(settings->end_price),
                                        .work = work,
                                        .weight = weight,
                                        .release = release,
                                        .due = due,
                                        .start_latest = start_latest,
                                        .end_latest = end_latest,
                                        .setup_time = setup,
                                        .pairs = lots->pairs,
                                        .before = (const int(*)[2])lots->before};
    fill_changeovers(lots, b, setup);
    return EF_OK;
}

static double value_of(int64_t price)
{
    return (double)price / (PRICE_PARTS * TICKS_AN_HOUR);
}

typedef struct relay {
    const ef_order_settings *settings;
    bool stopped;
} relay;

static bool pass_on(void *context, const efi_sequence_progress *progress)
{
    relay *const to = context;
    if (!to->settings->go_on)
        return true;
    const ef_order_progress shown = {.found = progress->found,
                                     .value = value_of(progress->value),
                                     .bound = value_of(progress->bound),
                                     .rounds = progress->rounds};
    to->stopped = !to->settings->go_on(to->settings->context, &shown);
    return !to->stopped;
}

/* One lot in its place, its times from the evaluator. */
static void fill_row(const ef_lots *lots, ef_order *order, int at, int lot, int before, int64_t start)
{
    const int from = before >= 0 ? before : lots->count;
    const double due_h = lots->due_h[lot];
    const double end_h = (double)start / TICKS_AN_HOUR + lots->work_h[lot];
    order->rows[at] = (ef_order_row){.lot = lots->name[lot],
                                     .changeover_h = lots->changeover_h[from * (lots->count + 1) + lot],
                                     .start_h = (double)start / TICKS_AN_HOUR,
                                     .end_h = end_h,
                                     .late_h = due_h >= 0.0 && end_h > due_h ? end_h - due_h : 0.0};
    order->late_h += lots->priority[lot] * order->rows[at].late_h;
}

/* The answer from what the engine found; evaluated again from the problem, which must agree. */
static ef_status fill_order(const ef_lots *lots, const built *b, const efi_sequence_result *result,
                            ef_order *order)
{
    const size_t n = (size_t)b->problem.lots;
    int64_t *const start = efi_new(n, sizeof *start);
    order->rows = efi_new((size_t)lots->count, sizeof *order->rows);
    if (!start || !order->rows) {
        efi_free(start);
        return EF_MEMORY;
    }
    const efi_sequence_account account = efi_sequence_check(&b->problem, result->order, result->run, start,
                                                            NULL);
    const bool agrees = efi_sequence_keeps(&account) && account.price == result->value;
    order->count = lots->count;
    if (b->first)
        fill_row(lots, order, 0, 0, result->order[n - 1] + 1, 0);
    int before = b->first ? 0 : -1;
    for (size_t k = 0; k < n; k++) {
        const int lot = result->order[k] + b->first;
        const int64_t shift = b->first ? ticks_of(lots->work_h[0]) : 0;
        fill_row(lots, order, (int)k + b->first, lot, before, start[k] + shift);
        before = lot;
    }
    efi_free(start);
    order->changeover_h = (double)account.setup / TICKS_AN_HOUR;
    order->end_h = (double)account.makespan / TICKS_AN_HOUR + (b->first ? lots->work_h[0] : 0.0);
    order->value = value_of(result->value);
    order->bound = value_of(result->bound);
    order->gap_share = result->value > 0 ? (double)(result->value - result->bound) / (double)result->value
                                         : 0.0;
    order->proven = result->proven;
    order->rounds = result->rounds;
    order->steps = result->steps;
    return EF_NEVER(!agrees) ? EF_INTERNAL : EF_OK;
}

ef_order_settings ef_order_defaults(void)
{
    return (ef_order_settings){
        .changeover_price = 1.0, .late_price = 1.0, .seed = 1, .threads = 1, .rounds = 200};
}

static ef_status solve(const ef_lots *lots, const ef_order_settings *settings, const built *b,
                       ef_order *order, bool *proven)
{
    relay to = {.settings = settings};
    efi_sequence_settings engine = efi_sequence_defaults();
    engine.seed = settings->seed;
    engine.threads = settings->threads;
    engine.rounds = settings->rounds;
    engine.go_on = pass_on;
    engine.context = &to;
    efi_sequence_result result;
    EF_TRY(efi_sequence_solve(&b->problem, &engine, &result));
    *proven = result.proven;
    order->stopped = to.stopped;
    const ef_status status = result.found ? fill_order(lots, b, &result, order) : EF_NO_ANSWER;
    efi_sequence_result_free(&result);
    return status;
}

ef_status ef_order_solve(const ef_lots *lots, const ef_order_settings *settings, ef_order **order,
                         bool *proven)
{
    if (!is_valid(lots, settings))
        return EF_USAGE;
    ef_order *const made = efi_new(1, sizeof *made);
    built b = {0};
    ef_status status = made ? build(lots, settings, &b) : EF_MEMORY;
    if (status == EF_OK)
        status = solve(lots, settings, &b, made, proven);
    efi_arena_free(b.arena);
    if (status == EF_OK)
        *order = made;
    else
        ef_order_free(made);
    return status;
}

void ef_order_free(ef_order *order)
{
    if (!order)
        return;
    efi_free(order->rows);
    efi_free(order);
}
