/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "sequence_files.h"

#include <dirent.h>
#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

static const struct {
    const char *name, *folder, *ending, *table;
    int column;
} sets[] = {
#define ROW(id, name, folder, ending, table, column) [id] = {name, folder, ending, table, column},
    SEQUENCE_SET_LIST(ROW)
#undef ROW
};

const char *sequence_set_name(sequence_set set)
{
    return sets[set].name;
}

/* A whole file as text, NULL when it cannot be read. */
static char *read_all(const char *root, const char *folder, const char *name, const char *ending)
{
    char path[1024];
    if (snprintf(path, sizeof path, "%s/%s/%s%s", root, folder, name, ending) >= (int)sizeof path)
        return NULL;
    FILE *in = fopen(path, "rb");
    if (!in)
        return NULL;
    size_t length = 0, room = 1 << 16;
    char *text = malloc(room);
    while (text) {
        length += fread(text + length, 1, room - length - 1, in);
        if (length < room - 1)
            break;
        char *grown = realloc(text, room *= 2);
        if (!grown)
            free(text);
        text = grown;
    }
    fclose(in);
    if (text)
        text[length] = '\0';
    return text;
}

static int64_t *array(sequence_file *file, size_t count)
{
    int64_t *made = calloc(count > 0 ? count : 1, sizeof *made);
    if (made)
        file->arrays[file->array_count++] = made;
    return made;
}

/* The next number of a text; false at its end or at something else. */
static bool next_number(const char **at, double *value)
{
    *at += strspn(*at, " \t\r\n,");
    char *end;
    *value = strtod(*at, &end);
    const bool is_number = end != *at;
    *at = end;
    return is_number;
}

static bool next_whole(const char **at, int64_t *value)
{
    double number = 0.0;
    const bool is_number = next_number(at, &number);
    *value = (int64_t)llround(number);
    return is_number;
}

static bool fill(const char **at, int64_t *values, size_t count)
{
    for (size_t i = 0; i < count; i++)
        if (!next_whole(at, &values[i]))
            return false;
    return true;
}

/* TSPLIB: closed tours begin at node 0, which becomes "nothing"; open ones may begin and end anywhere. */
static bool read_tsplib(sequence_set set, const char *text, sequence_file *file)
{
    const char *dimension = strstr(text, "DIMENSION");
    const char *at = strstr(text, "EDGE_WEIGHT_SECTION");
    if (!dimension || !at)
        return false;
    const char *colon = strchr(dimension, ':');
    if (!colon)
        return false;
    const int nodes = (int)strtol(colon + 1, NULL, 10);
    at += strlen("EDGE_WEIGHT_SECTION");
    int64_t repeated;
    if (set == SEQUENCE_SOP && !next_whole(&at, &repeated))
        return false;
    int64_t *arc = calloc((size_t)nodes * (size_t)nodes, sizeof *arc);
    const int first = set == SEQUENCE_OPEN ? 0 : 1; /* the node that is lot 0 */
    const int n = nodes - first - (set == SEQUENCE_SOP);
    int64_t *setup = array(file, (size_t)(n + 1) * (size_t)(n + 1));
    file->before = calloc((size_t)n * (size_t)n, sizeof *file->before);
    bool fine = arc && setup && file->before && fill(&at, arc, (size_t)nodes * (size_t)nodes);
    for (int i = 0; i <= n && fine; i++)
        for (int j = 0; j <= n; j++) {
            if (i == j || (set == SEQUENCE_OPEN && (i == n || j == n)))
                continue;
            const int from = i == n ? 0 : i + first;
            const int to = j == n ? (set == SEQUENCE_SOP ? nodes - 1 : 0) : j + first;
            const int64_t value = arc[from * nodes + to];
            setup[i * (n + 1) + j] = value < 0 ? EFI_SEQUENCE_FORBIDDEN : value;
            if (value < 0 && i < n && j < n) {
                file->before[file->problem.pairs][0] = j;
                file->before[file->problem.pairs++][1] = i;
            }
        }
    free(arc);
    file->problem.lots = n;
    file->problem.setup_price = 1;
    file->problem.setup_time = setup;
    file->problem.before = (const int(*)[2])file->before;
    return fine;
}

static bool read_after(const char *text, const char *heading, int64_t *values, size_t count)
{
    const char *at = strstr(text, heading);
    if (!at)
        return false;
    at += strlen(heading);
    return fill(&at, values, count);
}

static bool read_twt(const char *text, sequence_file *file)
{
    int64_t n = 0;
    if (!read_after(text, "Problem Size:", &n, 1) || n < 1 || n > EFI_SEQUENCE_MOST_LOTS)
        return false;
    int64_t *work = array(file, (size_t)n), *weight = array(file, (size_t)n), *due = array(file, (size_t)n);
    int64_t *setup = array(file, (size_t)(n + 1) * (size_t)(n + 1));
    if (!work || !weight || !due || !setup || !read_after(text, "Process Times:", work, (size_t)n) ||
        !read_after(text, "Weights:", weight, (size_t)n) || !read_after(text, "Duedates:", due, (size_t)n))
        return false;
    const char *at = strstr(text, "Setup Times:");
    if (!at)
        return false;
    at += strlen("Setup Times:");
    int64_t cell[3];
    while (fill(&at, cell, 3))
        setup[(cell[0] < 0 ? n : cell[0]) * (n + 1) + cell[1]] = cell[2];
    file->problem.lots = (int)n;
    file->problem.work = work;
    file->problem.weight = weight;
    file->problem.due = due;
    file->problem.setup_time = setup;
    return true;
}

/* Prices have five decimals in the files: one unit is 100,000 here. Times are whole. */
static bool read_oas(sequence_set set, const char *text, sequence_file *file)
{
    const char *line = text;
    while (*line == '#' || *line == '\n' || *line == '\r')
        line += strcspn(line, "\n") + (line[strcspn(line, "\n")] == '\n');
    int nodes = 1;
    for (const char *c = line; *c && *c != '\n'; c++)
        nodes += *c == ',' && c[1] != '\r' && c[1] != '\n' && c[1] != '\0';
    const size_t n = (size_t)nodes - 2;
    double *table = calloc((size_t)(nodes + 6) * (size_t)nodes, sizeof *table);
    bool fine = table != NULL;
    const char *at = line;
    for (size_t i = 0; fine && i < (size_t)(nodes + 6) * (size_t)nodes; i++)
        fine = next_number(&at, &table[i]);
    int64_t *row[6];
    for (int r = 0; r < 6; r++) {
        row[r] = array(file, n);
        for (size_t j = 0; fine && row[r] && j < n; j++)
            row[r][j] = llround(table[(size_t)r * (size_t)nodes + j + 1] * (r >= 4 ? 100000.0 : 1.0));
        fine = fine && row[r];
    }
    int64_t *setup = array(file, (n + 1) * (n + 1));
    for (size_t i = 0; fine && setup && i <= n; i++)
        for (size_t j = 0; j < n; j++)
            setup[i * (n + 1) + j] = llround(table[(6 + (i == n ? 0 : i + 1)) * (size_t)nodes + j + 1]);
    free(table);
    if (!fine || !setup)
        return false;
    file->scale = 100000.0;
    efi_sequence_problem *p = &file->problem;
    *p = (efi_sequence_problem){.lots = (int)n,
                                .release = row[0],
                                .work = row[1],
                                .due = row[2],
                                .weight = row[5],
                                .setup_time = setup,
                                .cleaned_before_release = set == SEQUENCE_OAS_BEFORE};
    if (set == SEQUENCE_OAS_PROFIT) {
        p->end_latest = row[3];
        p->refusal = row[4];
        file->maximises = true;
        for (size_t j = 0; j < n; j++)
            file->offset += row[4][j];
    }
    return true;
}

static bool read_tw(const char *text, sequence_file *file)
{
    const char *at = text;
    int64_t nodes;
    if (!next_whole(&at, &nodes) || nodes < 2 || nodes > EFI_SEQUENCE_MOST_LOTS)
        return false;
    const size_t size = (size_t)nodes, n = size - 1;
    int64_t *arc = array(file, size * size), *window = array(file, 2 * size);
    int64_t *setup = array(file, size * size), *release = array(file, n), *latest = array(file, n);
    if (!arc || !window || !setup || !release || !latest || !fill(&at, arc, size * size) ||
        !fill(&at, window, 2 * size))
        return false;
    for (size_t i = 0; i < size; i++)
        for (size_t j = 0; j < size; j++)
            setup[i * size + j] = i == j ? 0 : arc[(i == n ? 0 : i + 1) * size + (j == n ? 0 : j + 1)];
    for (size_t j = 0; j < n; j++) {
        release[j] = window[2 * (j + 1)];
        latest[j] = window[2 * (j + 1) + 1];
    }
    file->problem = (efi_sequence_problem){.lots = (int)n,
                                           .makespan_price = 1,
                                           .release = release,
                                           .start_latest = latest,
                                           .setup_time = setup,
                                           .cleaned_before_release = true};
    return true;
}

bool sequence_file_read(sequence_set set, const char *root, const char *name, sequence_file *file)
{
    memset(file, 0, sizeof *file);
    file->scale = 1.0;
    snprintf(file->name, sizeof file->name, "%s", name);
    char *text = read_all(root, sets[set].folder, name, sets[set].ending);
    bool fine = text != NULL;
    if (fine && (set == SEQUENCE_ATSP || set == SEQUENCE_OPEN || set == SEQUENCE_SOP))
        fine = read_tsplib(set, text, file);
    else if (fine && set == SEQUENCE_TWT)
        fine = read_twt(text, file);
    else if (fine && set == SEQUENCE_TW)
        fine = read_tw(text, file);
    else if (fine)
        fine = read_oas(set, text, file);
    free(text);
    if (!fine)
        sequence_file_free(file);
    return fine;
}

void sequence_file_free(sequence_file *file)
{
    for (int i = 0; i < file->array_count; i++)
        free(file->arrays[i]);
    free(file->before);
    memset(file, 0, sizeof *file);
}

double sequence_file_value(const sequence_file *file, int64_t price)
{
    return (double)(file->maximises ? file->offset - price : price) / file->scale;
}

static int by_name(const void *left, const void *right)
{
    return strcmp(((const sequence_case *)left)->name, ((const sequence_case *)right)->name);
}

/* Copies the cell of a comma-separated line; quoted cells may hold commas. */
static void cell_of(const char *line, int column, char *cell, size_t room)
{
    bool quoted = false;
    size_t used = 0;
    for (; *line && *line != '\n' && *line != '\r'; line++) {
        if (*line == '"')
            quoted = !quoted;
        else if (*line == ',' && !quoted)
            column--;
        else if (column == 0 && used + 1 < room)
            cell[used++] = *line;
    }
    cell[used] = '\0';
}

static void add_values(sequence_set set, const char *root, sequence_case *cases, int count)
{
    char *text = read_all(root, sets[set].folder, sets[set].table, "");
    for (const char *line = text; line && *line;
         line += strcspn(line, "\n") + (line[strcspn(line, "\n")] == '\n')) {
        sequence_case key = {0};
        char cell[SEQUENCE_NAME_ROOM];
        cell_of(line, 0, key.name, sizeof key.name);
        sequence_case *found = bsearch(&key, cases, (size_t)count, sizeof *cases, by_name);
        cell_of(line, sets[set].column, cell, sizeof cell);
        char *end;
        const double value = strtod(cell, &end);
        if (!found || end == cell)
            continue;
        cell_of(line, set == SEQUENCE_SOP ? 5 : 0, cell, sizeof cell);
        *found = (sequence_case){
            .has_value = true, .value = value, .proven = set != SEQUENCE_SOP || cell[0] == 'y'};
        snprintf(found->name, sizeof found->name, "%s", key.name);
    }
    free(text);
}

sequence_case *sequence_set_list(sequence_set set, const char *root, int *count)
{
    char path[1024];
    snprintf(path, sizeof path, "%s/%s", root, sets[set].folder);
    DIR *folder = opendir(path);
    sequence_case *cases = calloc(500, sizeof *cases);
    *count = 0;
    for (const struct dirent *entry = folder ? readdir(folder) : NULL; entry && cases;
         entry = readdir(folder)) {
        const char *ending = strstr(entry->d_name, sets[set].ending);
        if (!ending || strcmp(ending, sets[set].ending) != 0 || *count >= 500)
            continue;
        sequence_case *one = &cases[(*count)++];
        snprintf(one->name, sizeof one->name, "%.*s", (int)(ending - entry->d_name), entry->d_name);
    }
    if (folder)
        closedir(folder);
    if (folder && cases) {
        qsort(cases, (size_t)*count, sizeof *cases, by_name);
        add_values(set, root, cases, *count);
        return cases;
    }
    free(cases);
    return NULL;
}
