/* SPDX-License-Identifier: GPL-3.0-or-later
 * The tables of a report, one by one. */
#include "report/balance_view.h"
#include "report/bins_view.h"
#include "report/html/html.h"
#include "report/report.h"

static void put_balance(efi_paper *paper, const ef_report_answers *answers)
{
    if (answers->balance)
        efi_balance_put(paper, answers->balance, answers->units);
}

static void put_bins(efi_paper *paper, const ef_report_answers *answers)
{
    if (answers->bins)
        efi_bins_put(paper, answers->bins, answers->units);
}

/* Papers with tables. Those of a shift are not among them: it has its own, with every shift. */
static const struct {
    const char *name;
    void (*put)(efi_paper *paper, const ef_report_answers *answers);
} papers[] = {{"overview", efi_overview_put},
              {"planning", efi_planning_put},
              {"balance", put_balance},
              {"bins", put_bins}};

/* A table, and the heading that it stands under, which may be NULL. */
typedef struct found_table {
    const efi_part *table; /* NULL: none */
    const efi_part *under;
} found_table;

/* The table `*left` of a paper, counting down. */
static found_table find_table(const efi_paper *paper, int *left)
{
    found_table found = {0};
    for (int i = 0; i < paper->part_count && !found.table; i++) {
        const efi_part *part = &paper->parts[i];
        if (part->kind == EFI_PART_HEADING)
            found.under = part->level > 1 ? part : NULL;
        if (part->kind == EFI_PART_TABLE && !part->form.drawn && (*left)-- == 0)
            found.table = part;
    }
    return found;
}

ef_status ef_report_csv(const ef_report_answers *answers, int index, char **name, char **text)
{
    efi_text csv = {0};
    efi_text words = {0};
    bool found = false;
    for (size_t i = 0; i < EF_COUNT(papers) && !found && !csv.failed; i++) {
        efi_paper paper = {0};
        papers[i].put(&paper, answers);
        const found_table one = find_table(&paper, &index);
        csv.failed = paper.failed;
        found = one.table != NULL;
        if (one.table && !csv.failed) {
            efi_text_add(&words, papers[i].name);
            if (one.under)
                efi_text_addf(&words, "-%s", one.under->words);
            efi_text_addf(&words, "-%s", one.table->name);
            efi_paper_csv(one.table, &csv);
        }
        efi_paper_free(&paper);
    }
    if (!found && !csv.failed)
        return EF_NO_ANSWER;
    ef_status status = efi_report_give(&words, name);
    if (status != EF_OK) {
        efi_text_free(&csv);
        return status;
    }
    status = efi_report_give(&csv, text);
    if (status != EF_OK)
        ef_report_free(*name);
    return status;
}
