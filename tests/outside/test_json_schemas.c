/* SPDX-License-Identifier: GPL-3.0-or-later
 * The JSON of every answer, of all bundled scenarios and examples, against the published schemas
 * (docs/schemas), judged by the Python package jsonschema (JSON Schema draft 2020-12; Debian:
 * python3-jsonschema) through tests/outside/json_schemas.py; and spoilt documents, which it must refuse. */
#include "base/base.h"
#include "base/text.h"

#include "../lib/files.h"
#include "../lib/python.h"
#include "../lib/skip.h"

#include <evenfeed/status.h>
#include <glob.h>
#include <jansson.h>
#include <stdbool.h>
#include <stdlib.h>
#include <string.h>

enum {
    MOST_DOCUMENTS = 400,
    MOST_ARGUMENTS = 20,
    ROOM = 80,
    FEW_SPOILT = 12,  /* of an order, which has no more */
    LEAST_SPOILT = 50 /* places of each schema at which documents are spoilt in each way */
};

#define FOLDER "docs/schemas"

static const char *const names[] = {"balance", "bins", "shift", "shift-comparison", "shift-lots", "learn",
                                    "season",  "when", "order"};

/* The documents that the program wrote, by path. */
static struct {
    char *paths[MOST_DOCUMENTS];
    int count;
} documents;

/* Runs the program and keeps what it prints. `arguments` begins with the command, NULL closes it. */
static void write_document(const char *const *arguments, const char *input, int exit_code)
{
    const char *command[MOST_ARGUMENTS] = {program_path()};
    char name[ROOM];
    int count = 0;
    assert_non_null(command[0]);
    while (arguments[count]) {
        assert_true(count < MOST_ARGUMENTS - 2);
        command[count + 1] = arguments[count];
        count++;
    }
    command_result result = command_run(command, input);
    if (result.exit_code != exit_code || result.out_length == 0)
        fail_msg("%s %s: exit code %d: %s", arguments[0], arguments[1], result.exit_code, result.err);
    assert_true(documents.count < MOST_DOCUMENTS);
    (void)snprintf(name, sizeof name, "%03d-%s.json", documents.count, arguments[0]);
    char *path = scratch_path(name);
    file_write(path, result.out, result.out_length);
    documents.paths[documents.count++] = path;
    command_result_free(&result);
}

#define WRITE(...) write_document((const char *const[]){__VA_ARGS__, "--json", NULL}, NULL, 0)

static void write_of_scenario(const char *file)
{
    WRITE("balance", file, "--ladder", "2");
    WRITE("balance", file, "--objective", "value", "--ladder", "2");
    WRITE("bins", file, "--traces", "5");
    WRITE("shift", file, "--runs", "2");
    WRITE("shift", file, "--runs", "2", "--against", file);
}

static void write_of_all(const char *pattern, void (*write)(const char *file))
{
    glob_t found;
    assert_int_equal(glob(pattern, 0, NULL, &found), 0);
    for (size_t i = 0; i < found.gl_pathc; i++)
        write(found.gl_pathv[i]);
    globfree(&found);
}

static void write_season(const char *file)
{
    WRITE("season", file, "--steps", "50");
}

/* What the bundled scenarios alone do not bring about. */
static void write_rare(void)
{
    static const char pulses[] = "scenarios/pulses-export.yaml";
    static const char cereal[] = "scenarios/cereal-seed.yaml";
    static const char grass[] = "scenarios/seasons/clover-grass-seed.yaml";
    WRITE("balance", pulses, "--crop", "red lentils", "--set", "plant.power limit=120 kW", "--ladder", "3");
    WRITE("bins", cereal, "--traces", "20", "--set",
          "stations.Holding bin.steel={shape: round, headroom: 1 m, clearance: 60 cm}");
    WRITE("bins", cereal, "--traces", "20", "--target", "5 %,10 min", "--receipts");
    WRITE("bins", cereal, "--traces", "5", "--target", "none", "--shifts", "1");
    WRITE("bins", "scenarios/soybean-seed.yaml", "--traces", "20", "--target", "price=3");
    WRITE("shift", cereal, "--runs", "3", "--against", cereal, "--set",
          "stations.Bagger.stops.bags.lasts=2 min");
    WRITE("shift", "scenarios/clover-grass-seed.yaml", "--precision", "2 %", "--no-remedies");
    WRITE("learn", "scenarios/examples/learn-from-logs.yaml", "--stops", "scenarios/logs/stops.csv",
          "--totals", "scenarios/logs/totals.csv", "--resamples", "20");
    WRITE("learn", "scenarios/examples/two-shifts.yaml", "--stops", "scenarios/examples/two-shifts-log.csv");
    WRITE("shift", grass, "--lots", "--runs", "4");
    WRITE("shift", grass, "--lots", "--runs", "4", "--without-calendar");
    WRITE("shift", "scenarios/examples/cleaned-in-turn.yaml", "--lots", "--runs", "4");
    WRITE("shift", "scenarios/examples/lots-on-two-lines.yaml", "--lots", "--runs", "4");
    WRITE("when", grass, "--crop", "ryegrass", "--tonnes", "8", "--due", "2026-09-25", "--steps", "50");
    WRITE("when", "scenarios/seasons/cereal-seed.yaml", "--crop", "wheat", "--tonnes", "8", "--steps", "50");
    char *plan = scratch_path("plan.csv");
    WRITE("season", grass, "--steps", "50", "--write-plan", plan);
    WRITE("season", grass, "--steps", "50", "--plan", plan, "--keep-order");
    free(plan);
}

/* Demands that cannot be met: an answer too, with an exit code of its own. */
static void write_conflicts(void)
{
    const int no_answer = ef_status_exit_code(EF_NO_ANSWER);
    static const char key[] = "    product: yes\n";
    char *text = file_read("scenarios/cereal-seed.yaml", NULL);
    const char *at = strstr(text, key);
    efi_text demanding = {0};
    assert_non_null(at);
    efi_text_add_bytes(&demanding, text, (size_t)(at - text));
    efi_text_add(&demanding, key);
    efi_text_add(&demanding, "    least rate: {wheat: 9 t/h, barley: 9 t/h}\n");
    efi_text_add(&demanding, at + strlen(key));
    write_document((const char *const[]){"balance", "-", "--json", NULL}, efi_text_get(&demanding),
                   no_answer);
    efi_text_free(&demanding);
    free(text);
    write_document((const char *const[]){"balance", "scenarios/pulses-export.yaml", "--crop", "red lentils",
                                         "--set", "plant.power limit=90 kW", "--json", NULL},
                   NULL, no_answer);
    write_document((const char *const[]){"balance", "scenarios/pulses-export.yaml", "--crop", "yellow peas",
                                         "--set", "stations.Small in bags.least purity=98 %", "--json", NULL},
                   NULL, no_answer);
}

static int write_documents(void **state)
{
    (void)state;
    write_of_all("scenarios/*.yaml", write_of_scenario);
    write_of_all("scenarios/examples/*.yaml", write_of_scenario);
    write_of_all("scenarios/seasons/*.yaml", write_season);
    write_season("scenarios/examples/lots-and-season.yaml");
    write_season("scenarios/examples/cleaned-in-turn.yaml");
    WRITE("order", "scenarios/order/lots.csv", "--changeovers", "scenarios/order/changeovers.csv");
    write_rare();
    write_conflicts();
    return 0;
}

static int forget_documents(void **state)
{
    (void)state;
    while (documents.count > 0)
        free(documents.paths[--documents.count]);
    return 0;
}

/* What the script counts; NULL when there is no Python with its package. Fails with what it complains of. */
static json_t *judge(const char *what)
{
    const char *arguments[MOST_DOCUMENTS + 4] = {"tests/outside/json_schemas.py", what, FOLDER};
    const bool is_about_documents = strcmp(what, "schemas") != 0;
    for (int i = 0; is_about_documents && i < documents.count; i++)
        arguments[3 + i] = documents.paths[i];
    return python_json(arguments);
}

static int count_of(const json_t *counts, const char *name, const char *how)
{
    char key[ROOM];
    (void)snprintf(key, sizeof key, "%s.schema.json%s", name, how);
    return (int)json_integer_value(json_object_get(counts, key));
}

static void schemas_are_strict_and_give_every_number_a_unit(void **state)
{
    (void)state;
    json_t *counts = judge("schemas");
    if (!counts)
        ef_test_skip("there is no python3 with the package jsonschema");
    assert_int_equal(json_integer_value(json_object_get(counts, "schemas")), EF_COUNT(names));
    json_decref(counts);
}

static void every_document_meets_the_schema_that_it_names(void **state)
{
    (void)state;
    json_t *counts = judge("valid");
    if (!counts)
        ef_test_skip("there is no python3 with the package jsonschema");
    int sum = 0;
    for (size_t n = 0; n < EF_COUNT(names); n++) {
        const int count = count_of(counts, names[n], "");
        if (count == 0)
            fail_msg("no document of %s", names[n]);
        sum += count;
    }
    assert_int_equal(sum, documents.count);
    json_decref(counts);
}

static void no_spoilt_document_meets_its_schema(void **state)
{
    (void)state;
    json_t *counts = judge("spoilt");
    if (!counts)
        ef_test_skip("there is no python3 with the package jsonschema");
    static const char *const ways[] = {" left out", " misnamed", " text"};
    for (size_t n = 0; n < EF_COUNT(names); n++)
        for (size_t w = 0; w < EF_COUNT(ways); w++)
            if (count_of(counts, names[n], ways[w]) <
                (strcmp(names[n], "order") == 0 ? FEW_SPOILT : LEAST_SPOILT))
                fail_msg("%s%s: only %d places", names[n], ways[w], count_of(counts, names[n], ways[w]));
    json_decref(counts);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(schemas_are_strict_and_give_every_number_a_unit),
        cmocka_unit_test(every_document_meets_the_schema_that_it_names),
        cmocka_unit_test(no_spoilt_document_meets_its_schema),
    };
    return cmocka_run_group_tests(tests, write_documents, forget_documents);
}
