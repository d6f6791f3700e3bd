/* SPDX-License-Identifier: GPL-3.0-or-later
 * Crews against the machine repair model (M/M/c with N machines, Palm 1947; formulas as in textbooks of
 * queueing, Gross and Harris 1998 section 2.7, from memory, summed here term by term): N machines fail after
 * exponential running times, c teams repair. Judged by z scores of batch means. */
#include "../lib/lines.h"

#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <cmocka.h>
#include <math.h>

#define MACHINES 6

typedef struct plant {
    efi_network_station station[2 * MACHINES];
    efi_network_spout spout[MACHINES];
    efi_stop_mode mode;
    efi_network_crew crew;
    efi_network network;
} plant;

static void describe_plant(plant *p, double fail_per_h, double repair_per_h, int teams)
{
    *p = (plant){.mode = {.counting = EFI_COUNT_RUNNING,
                          .gap = {EFI_EXPONENTIAL, 1.0 / fail_per_h, 0.0},
                          .duration = {EFI_EXPONENTIAL, 1.0 / repair_per_h, 0.0},
                          .has_crew = true},
                 .crew = {.teams = teams}};
    for (int i = 0; i < MACHINES; i++) {
        p->station[2 * i] = (efi_network_station){.kind = EFI_NETWORK_INTAKE,
                                                  .key = (uint64_t)i,
                                                  .capacity_tph = 1.0,
                                                  .machines = 1,
                                                  .modes = 1,
                                                  .mode = &p->mode};
        p->station[2 * i + 1] = (efi_network_station){
            .kind = EFI_NETWORK_OUTLET, .key = 100 + (uint64_t)i, .capacity_tph = INFINITY, .machines = 1};
        p->spout[i] = (efi_network_spout){.from = 2 * i, .to = 2 * i + 1, .share = 1.0};
    }
    p->network = (efi_network){.stations = 2 * MACHINES,
                               .station = p->station,
                               .spouts = MACHINES,
                               .spout = p->spout,
                               .crews = 1,
                               .crew = &p->crew};
}

/* 0: machines running; 1: teams at work; 2: stops waiting; 3: hours of waiting in the account of stations. */
static double measure(const efi_engine *engine, const void *context, int metric, double hours)
{
    (void)context;
    efi_crew_account crew;
    efi_engine_read_crew(engine, 0, &crew);
    if (metric == 1)
        return crew.busy_h / hours;
    if (metric == 2)
        return crew.wait_h / hours;
    double sum = 0.0;
    for (int i = 0; i < MACHINES; i++) {
        efi_account account;
        efi_engine_read(engine, 2 * i, &account);
        sum += metric == 0 ? account.in_t : account.state_h[EFI_STATE_NO_CREW];
    }
    return sum / hours;
}

/* Mean numbers running, in repair and waiting: p_n the chance of n machines down,
 * p_n/p_(n-1) = (N - n + 1) fail / (min(n, c) repair). */
static void repair_model(double fail_per_h, double repair_per_h, int teams, double value[3])
{
    double p[MACHINES + 1] = {1.0};
    double all = 1.0;
    for (int n = 1; n <= MACHINES; n++) {
        p[n] = p[n - 1] * (MACHINES - n + 1) * fail_per_h / ((n < teams ? n : teams) * repair_per_h);
        all += p[n];
    }
    value[0] = value[1] = value[2] = 0.0;
    for (int n = 0; n <= MACHINES; n++) {
        const int busy = n < teams ? n : teams;
        value[0] += (MACHINES - n) * p[n] / all;
        value[1] += busy * p[n] / all;
        value[2] += (n - busy) * p[n] / all;
    }
}

static void machines_and_teams_meet_the_repair_model(void **state)
{
    (void)state;
    static const char *const what[] = {"running", "in repair", "waiting", "waiting by station"};
    lines_scores scores = {0};
    for (int teams = 1; teams <= 3; teams++)
        for (int k = 0; k < 3; k++) {
            const double fail_per_h = 0.05 * (k + 1) * (k + 1);
            plant p;
            describe_plant(&p, fail_per_h, 0.8, teams);
            const lines_batches batches = {400, 2000.0, 200.0};
            double mean[4];
            double error[4];
            lines_run(&p.network, 10 * (uint64_t)teams + (uint64_t)k, &batches, measure, NULL, 4, mean,
                      error);
            double value[4];
            repair_model(fail_per_h, 0.8, teams, value);
            value[3] = value[2];
            char name[64];
            snprintf(name, sizeof name, "%d teams, %.2f failures an hour", teams, fail_per_h);
            for (int m = 0; m < 4; m++)
                lines_judge(&scores, name, what[m], mean[m], error[m], value[m]);
            assert_true(fabs(mean[0] - value[0]) <= 0.01 * value[0]);
        }
    assert_int_equal(scores.cases, 36);
    assert_true(lines_scores_good(&scores));
}

int main(void)
{
    const struct CMUnitTest tests[] = {cmocka_unit_test(machines_and_teams_meet_the_repair_model)};
    return cmocka_run_group_tests(tests, NULL, NULL);
}
