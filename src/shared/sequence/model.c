/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "shared/sequence/model.h"
#include "shared/sequence/assignment.h"

#include <string.h>

static bool in_range(const int64_t *values, size_t count, int64_t least, bool none_allowed)
{
    if (!values)
        return true;
    for (size_t i = 0; i < count; i++) {
        if (none_allowed && values[i] == EFI_SEQUENCE_NONE)
            continue;
        if (!(values[i] >= least && values[i] <= EFI_SEQUENCE_MOST))
            return false;
    }
    return true;
}

static bool is_valid(const efi_sequence_problem *p)
{
    if (p->lots < 1 || p->lots > EFI_SEQUENCE_MOST_LOTS || !p->setup_time || p->pairs < 0)
        return false;
    const size_t n = (size_t)p->lots;
    const size_t cells = (n + 1) * (n + 1);
    if (!(p->setup_price >= 0 && p->setup_price <= EFI_SEQUENCE_MOST && p->makespan_price >= 0 &&
          p->makespan_price <= EFI_SEQUENCE_MOST))
        return false;
    for (int i = 0; i < p->pairs; i++) {
        const int *const pair = p->before[i];
        if (pair[0] < 0 || pair[0] >= p->lots || pair[1] < 0 || pair[1] >= p->lots || pair[0] == pair[1])
            return false;
    }
    return in_range(p->work, n, 0, false) && in_range(p->weight, n, 0, false) &&
           in_range(p->release, n, 0, false) && in_range(p->due, n, -EFI_SEQUENCE_MOST, true) &&
           in_range(p->start_latest, n, -EFI_SEQUENCE_MOST, true) &&
           in_range(p->end_latest, n, -EFI_SEQUENCE_MOST, true) && in_range(p->refusal, n, 0, false) &&
           in_range(p->setup_time, cells, EFI_SEQUENCE_FORBIDDEN, false) &&
           in_range(p->setup_cost, cells, EFI_SEQUENCE_FORBIDDEN, false);
}

static ef_status get_arrays(const efi_sequence_problem *p, efi_model *m)
{
    const size_t n = (size_t)p->lots;
    m->arena = efi_arena_new();
    if (!m->arena)
        return EF_MEMORY;
    int64_t **const one[] = {&m->work, &m->weight, &m->release, &m->due, &m->latest, &m->earliest, &m->least};
    for (size_t i = 0; i < EF_COUNT(one); i++)
        if (!(*one[i] = efi_arena_get(m->arena, n + 1, sizeof(int64_t))))
            return EF_MEMORY;
    if (p->refusal && !(m->refusal = efi_arena_get(m->arena, n, sizeof(int64_t))))
        return EF_MEMORY;
    m->time = efi_arena_get(m->arena, (n + 1) * (n + 1), sizeof(int64_t));
    m->price = efi_arena_get(m->arena, (n + 1) * (n + 1), sizeof(int64_t));
    m->before = efi_arena_get(m->arena, n * (size_t)m->words, sizeof(uint64_t));
    m->after = efi_arena_get(m->arena, n * (size_t)m->words, sizeof(uint64_t));
    return m->time && m->price && m->before && m->after ? EF_OK : EF_MEMORY;
}

static int64_t smaller(int64_t a, int64_t b)
{
    return a < b ? a : b;
}

static int64_t larger(int64_t a, int64_t b)
{
    return a > b ? a : b;
}

static void fill_lots(const efi_sequence_problem *p, efi_model *m)
{
    for (int j = 0; j <= m->n; j++) {
        const bool lot = j < m->n;
        m->work[j] = lot && p->work ? p->work[j] : 0;
        m->weight[j] = lot && p->weight ? p->weight[j] : 0;
        m->release[j] = lot && p->release ? p->release[j] : 0;
        m->due[j] = lot && p->due && p->due[j] != EFI_SEQUENCE_NONE ? p->due[j] : EFI_FAR;
        m->latest[j] = EFI_FAR;
        if (lot && p->start_latest && p->start_latest[j] != EFI_SEQUENCE_NONE)
            m->latest[j] = p->start_latest[j];
        if (lot && p->end_latest && p->end_latest[j] != EFI_SEQUENCE_NONE)
            m->latest[j] = smaller(m->latest[j], p->end_latest[j] - m->work[j]);
        if (m->due[j] == EFI_FAR)
            m->weight[j] = 0;
        m->has_limits = m->has_limits || m->latest[j] != EFI_FAR;
        m->timed = m->timed || m->weight[j] > 0;
        if (lot && m->refusal)
            m->refusal[j] = p->refusal[j];
    }
}

/* Adds factor * amount to *sum; false when it would pass EFI_FAR / 8. */
static bool add_product(int64_t *sum, int64_t factor, int64_t amount)
{
    const int64_t most = EFI_FAR / 8 - *sum;
    if (most < 0 || (factor > 0 && amount > most / factor))
        return false;
    *sum += factor * amount;
    return true;
}

/* Changeovers, the horizon and the price of a forbidden one; false when sums would not fit. */
static bool fill_setups(const efi_sequence_problem *p, efi_model *m)
{
    const int size = m->n + 1;
    const int64_t *const cost = p->setup_cost ? p->setup_cost : p->setup_time;
    int64_t release = 0;
    int64_t setups = 0;
    int64_t worst = 0;
    m->horizon = 0;
    for (int i = 0; i < size; i++) {
        int64_t longest = 0;
        int64_t dearest = 0;
        for (int j = 0; j < size; j++) {
            const size_t at = (size_t)i * (size_t)size + (size_t)j;
            const bool forbidden = p->setup_time[at] < 0 || cost[at] < 0;
            m->time[at] = forbidden || i == j ? 0 : p->setup_time[at];
            m->price[at] = forbidden || i == j ? 0 : cost[at];
            longest = larger(longest, m->time[at]);
            dearest = larger(dearest, m->price[at]);
        }
        release = larger(release, m->release[i]);
        setups += dearest;
        m->horizon += longest + m->work[i];
    }
    m->horizon += release;
    if (!add_product(&worst, p->setup_price, setups) || !add_product(&worst, m->makespan_price, m->horizon))
        return false;
    for (int j = 0; j < m->n; j++)
        if (!add_product(&worst, m->weight[j], m->horizon + (m->due[j] < 0 ? -m->due[j] : 0)) ||
            (m->refusal && !add_product(&worst, 1, m->refusal[j])))
            return false;
    m->forbidden_price = worst + 1;
    if (m->forbidden_price > EFI_FAR / 8 / size)
        return false;
    for (int i = 0; i < size; i++)
        for (int j = 0; j < size; j++) {
            const size_t at = (size_t)i * (size_t)size + (size_t)j;
            if (i != j && (p->setup_time[at] < 0 || cost[at] < 0))
                m->price[at] = m->forbidden_price;
            else
                m->price[at] *= p->setup_price;
        }
    return true;
}

static void fill_least(efi_model *m)
{
    const int size = m->n + 1;
    for (int j = 0; j < size; j++) {
        m->least[j] = EFI_FAR;
        for (int i = 0; i < size; i++) {
            const size_t at = (size_t)i * (size_t)size + (size_t)j;
            if (i != j && m->price[at] < m->forbidden_price)
                m->least[j] = smaller(m->least[j], m->time[at]);
        }
        if (m->least[j] == EFI_FAR)
            m->least[j] = 0;
        m->earliest[j] = m->early ? larger(m->release[j], m->least[j]) : m->release[j] + m->least[j];
    }
}

/* Least ticks from start to start (Floyd and Warshall), for what latest starts imply. */
static ef_status fill_ways(efi_model *m)
{
    const size_t n = (size_t)m->n;
    m->way = efi_arena_get(m->arena, n * n, sizeof(int64_t));
    if (!m->way)
        return EF_MEMORY;
    for (size_t i = 0; i < n; i++)
        for (size_t j = 0; j < n; j++) {
            const size_t at = i * (n + 1) + j;
            const bool possible = m->price[at] < m->forbidden_price;
            m->way[i * n + j] = i == j ? 0 : possible ? m->work[i] + m->time[at] : EFI_FAR;
        }
    for (size_t k = 0; k < n; k++)
        for (size_t i = 0; i < n; i++)
            for (size_t j = 0; j < n; j++)
                if (m->way[i * n + k] + m->way[k * n + j] < m->way[i * n + j])
                    m->way[i * n + j] = m->way[i * n + k] + m->way[k * n + j];
    return EF_OK;
}

static void add_pair(efi_model *m, int first, int second)
{
    efi_set_add(m->before + (size_t)second * (size_t)m->words, first);
}

/* Lots that cannot run after another within their limits run before it. */
static void add_implied_pairs(efi_model *m)
{
    const size_t n = (size_t)m->n;
    for (size_t i = 0; i < n; i++) {
        m->impossible = m->impossible || (!m->refusal && m->earliest[i] > m->latest[i]);
        for (size_t j = 0; j < n; j++)
            if (i != j && m->latest[j] != EFI_FAR && m->earliest[i] + m->way[i * n + j] > m->latest[j]) {
                add_pair(m, (int)j, (int)i);
                m->has_pairs = true;
            }
    }
}

/* Closes `before` under itself (Warshall), finds cycles, mirrors it into `after`. Where lots may be refused a
 * pair binds only lots that are both run, so it is left as given. */
static void close_pairs(efi_model *m)
{
    const size_t words = (size_t)m->words;
    for (int k = 0; k < m->n && !m->refusal; k++)
        for (int i = 0; i < m->n; i++)
            if (efi_set_has(m->before + (size_t)i * words, k))
                for (size_t w = 0; w < words; w++)
                    m->before[(size_t)i * words + w] |= m->before[(size_t)k * words + w];
    for (int i = 0; i < m->n; i++) {
        m->impossible = m->impossible || (!m->refusal && efi_set_has(m->before + (size_t)i * words, i));
        for (int j = 0; j < m->n; j++)
            if (efi_set_has(m->before + (size_t)i * words, j))
                efi_set_add(m->after + (size_t)j * words, i);
    }
}

/* A changeover that some pair rules out is as good as forbidden. */
static void forbid_by_pairs(efi_model *m)
{
    const size_t size = (size_t)m->n + 1;
    const size_t words = (size_t)m->words;
    for (int i = 0; i < m->n; i++)
        for (int j = 0; j < m->n; j++) {
            const uint64_t *const later = m->after + (size_t)i * words;
            const uint64_t *const earlier = m->before + (size_t)j * words;
            bool between = efi_set_has(m->before + (size_t)i * words, j);
            for (size_t w = 0; w < words && !between; w++)
                between = (later[w] & earlier[w]) != 0;
            if (between && i != j)
                m->price[(size_t)i * size + (size_t)j] = m->forbidden_price;
        }
    for (int j = 0; j < m->n; j++)
        for (size_t w = 0; w < words; w++) {
            if (m->before[(size_t)j * words + w])
                m->price[(size_t)m->n * size + (size_t)j] = m->forbidden_price;
            if (m->after[(size_t)j * words + w])
                m->price[(size_t)j * size + (size_t)m->n] = m->forbidden_price;
        }
}

/* With nothing to wait for, the end of the sequence is work and changeovers: a price on the pairs alone. */
static void fold_makespan(efi_model *m)
{
    const int size = m->n + 1;
    bool waits = m->timed || m->has_limits || m->refusal;
    for (int j = 0; j < m->n; j++)
        waits = waits || m->release[j] > 0;
    if (waits)
        return;
    for (int i = 0; i < size; i++) {
        for (int j = 0; j < size; j++) {
            const size_t at = (size_t)i * (size_t)size + (size_t)j;
            if (m->price[at] < m->forbidden_price)
                m->price[at] += m->makespan_price * m->time[at];
        }
        m->constant += m->makespan_price * m->work[i];
    }
    m->makespan_price = 0;
}

static ef_status fill_duals(efi_model *m)
{
    const size_t size = (size_t)m->n + 1;
    m->row_dual = efi_arena_get(m->arena, size, sizeof(int64_t));
    m->column_dual = efi_arena_get(m->arena, size, sizeof(int64_t));
    int64_t *const price = efi_new(size * size, sizeof *price);
    int *const column_of = efi_new(size, sizeof *column_of);
    ef_status status = m->row_dual && m->column_dual && price && column_of ? EF_OK : EF_MEMORY;
    if (status == EF_OK) {
        memcpy(price, m->price, size * size * sizeof *price);
        for (size_t i = 0; i < size; i++)
            price[i * size + i] = m->forbidden_price;
        status = efi_assignment_solve(m->n + 1, price, column_of, m->row_dual, m->column_dual,
                                      &m->assignment);
    }
    efi_free(price);
    efi_free(column_of);
    return status;
}

static ef_status fill(const efi_sequence_problem *problem, efi_model *m)
{
    EF_TRY(get_arrays(problem, m));
    fill_lots(problem, m);
    if (!fill_setups(problem, m))
        return EF_USAGE;
    fill_least(m);
    for (int i = 0; i < problem->pairs; i++)
        add_pair(m, problem->before[i][0], problem->before[i][1]);
    m->has_pairs = problem->pairs > 0;
    fold_makespan(m);
    m->timed = m->timed || m->has_limits || m->makespan_price > 0;
    if (m->has_limits && !m->refusal) {
        EF_TRY(fill_ways(m));
        add_implied_pairs(m);
    }
    close_pairs(m);
    if (m->has_pairs && !m->refusal)
        forbid_by_pairs(m);
    return m->timed || m->refusal ? EF_OK : fill_duals(m);
}

ef_status efi_model_build(const efi_sequence_problem *problem, efi_model *model)
{
    if (!is_valid(problem))
        return EF_USAGE;
    efi_model built = {.n = problem->lots,
                       .words = (problem->lots + 63) / 64,
                       .early = problem->cleaned_before_release,
                       .makespan_price = problem->makespan_price};
    const ef_status status = fill(problem, &built);
    if (status == EF_OK)
        *model = built;
    else
        efi_model_free(&built);
    return status;
}

void efi_model_free(efi_model *model)
{
    efi_arena_free(model->arena);
    memset(model, 0, sizeof *model);
}

int64_t efi_model_price(const efi_model *m, const int *order, int run, int64_t *broken)
{
    const size_t size = (size_t)m->n + 1;
    int64_t total = m->constant;
    int64_t end = 0;
    int from = m->n;
    *broken = 0;
    for (int k = 0; k <= run; k++) {
        const int to = k < run ? order[k] : m->n;
        const int64_t start = efi_model_start(m, from, end, to);
        const int64_t price = m->price[(size_t)from * size + (size_t)to];
        if (price >= m->forbidden_price)
            (*broken)++;
        else
            total += price;
        if (start > m->latest[to])
            *broken += start - m->latest[to];
        end = start + m->work[to];
        if (end > m->due[to])
            total += m->weight[to] * (end - m->due[to]);
        from = to;
    }
    for (int k = run; k < m->n; k++)
        total += m->refusal ? m->refusal[order[k]] : 0;
    return total + m->makespan_price * end;
}
