/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "shared/sequence/timed_bound.h"
#include "shared/sequence/assignment.h"

#include <stdlib.h>
#include <string.h>

typedef struct room {
    int64_t *price; /* [n+1, n+1] */
    int64_t *row_dual;
    int64_t *column_dual;
    int *column_of;
    int64_t *spans; /* [n] work and least changeover, ascending */
} room;

static ef_status solve(room *r, int size, int64_t *least)
{
    return efi_assignment_solve(size, r->price, r->column_of, r->row_dual, r->column_dual, least);
}

/* Assignment of prices (or, for `times`, of ticks) of changeovers; forbidden ones cost what they cost. */
static ef_status changeovers(const efi_model *m, room *r, bool times, int64_t *least)
{
    const size_t size = (size_t)m->n + 1;
    for (size_t at = 0; at < size * size; at++) {
        const bool ruled_out = m->price[at] >= m->forbidden_price || at / size == at % size;
        r->price[at] = ruled_out ? m->forbidden_price : times ? m->time[at] : m->price[at];
    }
    return solve(r, m->n + 1, least);
}

static int by_size(const void *left, const void *right)
{
    const int64_t a = *(const int64_t *)left;
    const int64_t b = *(const int64_t *)right;
    return (a > b) - (a < b);
}

static ef_status lateness(const efi_model *m, room *r, int64_t *least)
{
    const size_t n = (size_t)m->n;
    for (size_t j = 0; j < n; j++)
        r->spans[j] = m->work[j] + m->least[j];
    qsort(r->spans, n, sizeof *r->spans, by_size);
    for (size_t j = 0; j < n; j++) {
        const int64_t own = m->work[j] + m->least[j];
        int64_t sum = 0; /* of the k shortest, this lot left out */
        bool passed = false;
        for (size_t k = 0; k < n; k++) {
            int64_t end = own + sum;
            if (end < m->earliest[j] + m->work[j])
                end = m->earliest[j] + m->work[j];
            r->price[j * n + k] = end > m->due[j] ? m->weight[j] * (end - m->due[j]) : 0;
            size_t next = k;
            if (passed || r->spans[k] == own) {
                passed = true;
                next = k + 1;
            }
            if (next < n)
                sum += r->spans[next];
        }
    }
    return solve(r, m->n, least);
}

static ef_status makespan(const efi_model *m, room *r, int64_t *least)
{
    EF_TRY(changeovers(m, r, true, least));
    for (int j = 0; j < m->n; j++)
        *least += m->work[j];
    for (int j = 0; j < m->n; j++)
        if (*least < m->earliest[j] + m->work[j] + m->least[m->n])
            *least = m->earliest[j] + m->work[j] + m->least[m->n];
    return EF_OK;
}

static ef_status add_terms(const efi_model *m, room *r, int64_t *bound)
{
    int64_t part = 0;
    EF_TRY(changeovers(m, r, false, &part));
    *bound = m->constant + part;
    EF_TRY(lateness(m, r, &part));
    *bound += part;
    if (m->makespan_price == 0)
        return EF_OK;
    EF_TRY(makespan(m, r, &part));
    *bound += m->makespan_price * part;
    return EF_OK;
}

ef_status efi_timed_bound(const efi_model *m, int64_t *bound)
{
    const size_t size = (size_t)m->n + 1;
    room r = {.price = efi_new(size * size, sizeof(int64_t)),
              .row_dual = efi_new(size, sizeof(int64_t)),
              .column_dual = efi_new(size, sizeof(int64_t)),
              .column_of = efi_new(size, sizeof(int)),
              .spans = efi_new(size, sizeof(int64_t))};
    int64_t sum = 0;
    ef_status status = r.price && r.row_dual && r.column_dual && r.column_of && r.spans ? EF_OK : EF_MEMORY;
    if (status == EF_OK)
        status = add_terms(m, &r, &sum);
    if (status == EF_OK)
        *bound = sum;
    efi_free(r.price);
    efi_free(r.row_dual);
    efi_free(r.column_dual);
    efi_free(r.column_of);
    efi_free(r.spans);
    return status;
}
