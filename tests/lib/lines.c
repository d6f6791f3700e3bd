/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "lines.h"

#include <math.h>
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdlib.h>
#include <string.h>
#include <cmocka.h>

int lines_machine(const lines_line *line, int i)
{
    return line->no_bins ? i : 2 * i;
}

int lines_bin(const lines_line *line, int i)
{
    (void)line;
    return 2 * i + 1;
}

void lines_describe(lines_line *line)
{
    const int last = lines_machine(line, line->machines - 1);
    for (int i = 0; i < line->machines; i++) {
        const int at = lines_machine(line, i);
        efi_stop_mode *mode = &line->mode[i];
        *mode = (efi_stop_mode){.counting = line->counts_clock ? EFI_COUNT_CLOCK : EFI_COUNT_RUNNING,
                                .gap = {EFI_EXPONENTIAL, 1.0 / line->fail_per_h[i], 0.0},
                                .duration = {EFI_EXPONENTIAL, 1.0 / line->repair_per_h[i], 0.0}};
        line->station[at] = (efi_network_station){.kind = i == 0                    ? EFI_NETWORK_INTAKE
                                                          : i == line->machines - 1 ? EFI_NETWORK_OUTLET
                                                                                    : EFI_NETWORK_MACHINE,
                                                  .key = (uint64_t)i,
                                                  .capacity_tph = line->speed[i],
                                                  .machines = 1,
                                                  .modes = line->fail_per_h[i] > 0.0,
                                                  .mode = mode};
        if (i + 1 < line->machines && !line->no_bins)
            line->station[at + 1] = (efi_network_station){
                .kind = EFI_NETWORK_BIN,
                .key = (uint64_t)(100 + i),
                .bin = {.full_t = line->bin[i], .start_t = line->start[i], .refill_t = line->bin[i]}};
    }
    for (int e = 0; e < last; e++)
        line->spout[e] = (efi_network_spout){.from = e, .to = e + 1, .share = 1.0};
    line->network = (efi_network){
        .stations = last + 1, .station = line->station, .spouts = last, .spout = line->spout};
}

/* ---- running ----------------------------------------------------------------------------------- */

static void run_or_fail(efi_engine *engine, double until_h)
{
    efi_trouble trouble;
    if (efi_engine_run(engine, until_h, &trouble) != EF_OK)
        fail_msg("engine at %g h: %s", trouble.at_h, efi_trouble_text(trouble.kind));
}

void lines_run(const efi_network *network, uint64_t seed, const lines_batches *batches, lines_metric *measure,
               const void *context, int metrics, double *mean, double *error)
{
    lines_run_watching(network, seed, batches, -1, 0.0, measure, context, metrics, mean, error);
}

void lines_run_watching(const efi_network *network, uint64_t seed, const lines_batches *batches, int bin,
                        double level, lines_metric *measure, const void *context, int metrics, double *mean,
                        double *error)
{
    efi_engine *engine = NULL;
    efi_trouble trouble;
    if (efi_engine_build(network, NULL, &engine, &trouble) != EF_OK)
        fail_msg("network: %s", efi_trouble_text(trouble.kind));
    efi_engine_start(engine, seed, 0);
    if (bin >= 0)
        efi_engine_watch_level(engine, bin, level);
    run_or_fail(engine, batches->warm_h);
    double *sum = calloc((size_t)metrics * 2, sizeof *sum);
    assert_non_null(sum);
    for (int b = 0; b < batches->batches; b++) {
        efi_engine_clear(engine);
        run_or_fail(engine, batches->warm_h + batches->batch_h * (b + 1));
        for (int m = 0; m < metrics; m++) {
            const double x = measure(engine, context, m, batches->batch_h);
            const double delta = x - sum[2 * m];
            sum[2 * m] += delta / (b + 1);
            sum[2 * m + 1] += delta * (x - sum[2 * m]);
        }
    }
    for (int m = 0; m < metrics; m++) {
        mean[m] = sum[2 * m];
        error[m] = sqrt(sum[2 * m + 1] / (batches->batches - 1) / batches->batches);
    }
    free(sum);
    efi_engine_free(engine);
}

void lines_judge(lines_scores *scores, const char *name, const char *what, double mean, double error,
                 double value)
{
    scores->cases++;
    if (fabs(mean - value) <= 1e-12)
        return;
    const double z = fabs(mean - value) / error;
    scores->above_two += !(z <= 2.0);
    scores->above_four += !(z <= 4.0);
    if (!(z <= scores->greatest))
        scores->greatest = z;
    if (!(z <= 3.0))
        print_message("%s %s: %.8g, expected %.8g, standard error %.2g, |z| %.2f\n", name, what, mean, value,
                      error, z);
}

bool lines_scores_good(const lines_scores *scores)
{
    const bool is_good = scores->cases > 0 && scores->above_four == 0 &&
                         10 * scores->above_two <= scores->cases;
    if (!is_good)
        print_message("of %d z scores %d are above 2 and %d above 4, the greatest is %.2f\n", scores->cases,
                      scores->above_two, scores->above_four, scores->greatest);
    return is_good;
}

/* ---- tables ------------------------------------------------------------------------------------ */

FILE *lines_open_table(const char *name)
{
    char path[256];
    snprintf(path, sizeof path, "tests/outside/data/%s", name);
    FILE *table = fopen(path, "r");
    if (!table)
        fail_msg("%s cannot be opened: run from the top of the repository", path);
    int c;
    do
        c = fgetc(table);
    while (c != '\n' && c != EOF);
    return table;
}

int lines_read_row(FILE *table, char *room, int room_bytes, char **field, int most)
{
    if (!fgets(room, room_bytes, table))
        return 0;
    room[strcspn(room, "\r\n")] = '\0';
    int fields = 0;
    char *at = room;
    while (fields < most) {
        const bool is_quoted = *at == '"';
        field[fields++] = at += is_quoted;
        char *end = is_quoted ? strchr(at, '"') : at + strcspn(at, ",");
        assert_non_null(end);
        if (!end)
            break;
        char *comma = is_quoted ? end + 1 : end;
        const bool is_last = *comma != ',';
        *end = '\0';
        if (is_last)
            break;
        at = comma + 1;
    }
    return fields;
}

double lines_number(const char *field)
{
    return *field == '\0' ? (double)INFINITY : strtod(field, NULL);
}

bool lines_is_soak(void)
{
    const char *soak = getenv("EF_SOAK");
    return soak && strcmp(soak, "1") == 0;
}
