/* SPDX-License-Identifier: GPL-3.0-or-later
 * The verifier of a comparison of two plants: differences, recomputed from the shifts of both. */
#include "base/locale.h"
#include "base/memory.h"
#include "shared/verify/sample.h"
#include "shared/verify/shift.h"

#include <string.h>

typedef struct pairing {
    const ef_shift_comparison *claim;
    efi_differences *list;
    double *here_t; /* shape [runs], as are the two below */
    double *there_t;
    double *more_t;
} pairing;

/* Tonnes of a stream of the one plant, run by run, a shift; 0 where it has none such. */
static void take(const pairing *p, const ef_shift *shift, const char *name, int stream, double *tonnes)
{
    const size_t periods = (size_t)shift->period_count;
    const size_t shifts = (size_t)shift->runs * periods;
    memset(tonnes, 0, (size_t)shift->runs * sizeof *tonnes);
    for (size_t i = 0; i < shifts; i++) {
        double sum = stream == 0 ? shift->intake_t[i] : 0.0;
        for (int o = 0; o < shift->outlet_count; o++)
            if (stream == 1 ? shift->is_product[o] : stream > 1 && strcmp(shift->outlets[o], name) == 0)
                sum += shift->outlet_t[(size_t)o * shifts + i];
        tonnes[i / periods] += sum / p->claim->shifts;
    }
}

static double mean_of(const double *values, int count)
{
    double sum = 0.0;
    for (int i = 0; i < count; i++)
        sum += values[i];
    return sum / count;
}

static void check_stream(const pairing *p, const efi_shift_check *c, int s)
{
    const ef_shift_difference *one = &p->claim->streams[s];
    const int runs = p->claim->here->runs;
    take(p, p->claim->here, one->name, s, p->here_t);
    take(p, p->claim->there, one->name, s, p->there_t);
    for (int r = 0; r < runs; r++)
        p->more_t[r] = p->here_t[r] - p->there_t[r];
    p->list->subject = one->name;
    efi_differ_number(p->list, "the mean here", "t", one->here_t, mean_of(p->here_t, runs), 1e-9);
    efi_differ_number(p->list, "the mean there", "t", one->there_t, mean_of(p->there_t, runs), 1e-9);
    const efi_sample_limits limits = efi_sample_mean(p->more_t, runs, EFI_VERIFY_CONFIDENCE);
    efi_shift_check_estimate(c, "the difference", one->more_t, limits.value, limits.low, limits.high);
    p->list->subject = NULL;
    if (s != 1)
        return;
    double better = 0.0;
    double worse = 0.0;
    for (int r = 0; r < runs; r++) {
        better += p->more_t[r] > 1e-9;
        worse += p->more_t[r] < -1e-9;
    }
    /* runs as good as equal may be told either way */
    const double equal = 1.0 - (better + worse) / runs;
    if (!(p->claim->better_share >= better / runs - 1e-12) ||
        !(p->claim->better_share <= better / runs + equal + 1e-12) ||
        !(p->claim->worse_share >= worse / runs - 1e-12) ||
        !(p->claim->worse_share <= worse / runs + equal + 1e-12))
        efi_differ(p->list, "better in %.10g and worse in %.10g of the runs, recomputed %.10g and %.10g",
                   p->claim->better_share, p->claim->worse_share, better / runs, worse / runs);
}

static bool has_station(const ef_shift *shift, const char *name)
{
    for (int s = 0; s < shift->station_count; s++)
        if (strcmp(shift->stations[s].name, name) == 0)
            return true;
    return false;
}

static bool is_station(const ef_shift *shift, int s, const char *name)
{
    return s >= 0 ? s < shift->station_count && strcmp(shift->stations[s].name, name) == 0
                  : !has_station(shift, name);
}

static void check_pairs(const pairing *p)
{
    const ef_shift_comparison *claim = p->claim;
    int here = 0;
    int there = 0;
    for (int i = 0; i < claim->station_count; i++) {
        const ef_shift_pair *pair = &claim->stations[i];
        here += pair->here >= 0;
        there += pair->there >= 0;
        if (!is_station(claim->here, pair->here, pair->name) ||
            !is_station(claim->there, pair->there, pair->name))
            efi_differ(p->list, "station \"%s\" is not matched by name", pair->name);
    }
    efi_differ_count(p->list, "the number of stations here", here, claim->here->station_count);
    efi_differ_count(p->list, "the number of stations there", there, claim->there->station_count);
}

static ef_status check(const ef_scenario *here, const ef_shift_comparison *claim, efi_differences *list)
{
    const efi_shift_check c = {.scenario = here, .claim = claim->here, .list = list};
    const size_t runs = (size_t)claim->here->runs;
    efi_differ_count(list, "the number of runs there", claim->there->runs, claim->here->runs);
    if (claim->there->runs != claim->here->runs || claim->stream_count < 2 || claim->shifts < 1)
        return EF_OK;
    double *values = efi_new(3 * runs, sizeof *values);
    if (!values)
        return EF_MEMORY;
    const pairing p = {claim, list, values, values + runs, values + 2 * runs};
    const bool same = claim->here->period_count == claim->there->period_count;
    efi_differ_count(list, "the shifts that a difference is for", claim->shifts,
                     same ? claim->here->period_count : 1);
    for (int s = 0; s < claim->stream_count; s++)
        check_stream(&p, &c, s);
    check_pairs(&p);
    efi_free(values);
    return EF_OK;
}

ef_status ef_shift_comparison_verify(const ef_scenario *here, const ef_scenario *there,
                                     const ef_shift_comparison *comparison, char **differences)
{
    EF_TRY(ef_shift_verify(here, comparison->here, differences));
    EF_TRY(ef_shift_verify(there, comparison->there, differences));
    efi_locale locale;
    EF_TRY(efi_locale_enter(&locale));
    efi_differences list = {.crop = "the comparison"};
    ef_status status = check(here, comparison, &list);
    status = efi_differences_end(&list, status, differences);
    efi_locale_leave(&locale);
    return status;
}
