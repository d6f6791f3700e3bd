/* SPDX-License-Identifier: GPL-3.0-or-later
 * An order of lots for people, as JSON and as a table. */
#include "base/pieces.h"
#include "base/tongue.h"
#include "report/csv_text.h"
#include "report/json.h"
#include "report/paper.h"
#include "report/report.h"

#include <evenfeed/order.h>

/* Hours as days, hours and minutes: "1 d 04:30". */
static efi_piece time_piece(double hours)
{
    efi_piece piece = {""};
    efi_text text = efi_text_fixed(piece.words, sizeof piece.words);
    const long minutes = (long)(hours * 60.0 + 0.5);
    if (minutes >= 24 * 60)
        efi_text_addf(&text, "%ld d %02ld:%02ld", minutes / (24 * 60), minutes / 60 % 24, minutes % 60);
    else
        efi_text_addf(&text, "%02ld:%02ld", minutes / 60, minutes % 60);
    return piece;
}

static void add_time(efi_paper *paper, double hours)
{
    efi_paper_cell(paper, time_piece(hours).words);
    efi_paper_value(paper, hours, 2, "h");
}

/* What comes out, and how far it can be from the best. */
static void add_verdict(efi_paper *paper, const ef_order *order)
{
    int late = 0;
    for (int i = 0; i < order->count; i++)
        late += order->rows[i].late_h > 0.0;
    const efi_piece end = efi_piece_duration(order->end_h);
    const efi_piece changeovers = efi_piece_duration(order->changeover_h);
    if (late == 0)
        efi_paper_wordsf(paper, EFI_VERDICT,
                         efi_tr_n("%d lot ends after %s, of which %s are changeovers; none is late.",
                                  "%d lots end after %s, of which %s are changeovers; none is late.",
                                  order->count),
                         order->count, end.words, changeovers.words);
    else
        efi_paper_wordsf(paper, EFI_VERDICT,
                         efi_tr_n("%d lot ends after %s, of which %s are changeovers; late: %d.",
                                  "%d lots end after %s, of which %s are changeovers; late: %d.",
                                  order->count),
                         order->count, end.words, changeovers.words, late);
    if (order->proven)
        efi_paper_words(paper, EFI_VERDICT, efi_tr("Proven: no order has a smaller value."));
    else
        efi_paper_wordsf(
            paper, EFI_VERDICT,
            order->late_h > 0.0
                ? efi_tr("No order has a value below %s (gap %s); where lots are late this bound is "
                         "weak and says little.")
                : efi_tr("No order has a value below %s (gap %s)."),
            efi_piece_fixed(order->bound, 2).words, efi_piece_percent(order->gap_share, 2).words);
    efi_paper_gap(paper);
}

static void add_rows(efi_paper *paper, const ef_order *order)
{
    static const efi_table_form form = {
        .name = "order", .caption = EFI_TR("The order, times from the beginning of the plan"), .quiet = true};
    static const efi_column columns[] = {{EFI_TR("Lot"), 'l', 0, false},
                                         {EFI_TR("Changeover"), 'r', 0, false},
                                         {EFI_TR("Start"), 'r', 0, false},
                                         {EFI_TR("End"), 'r', 0, false},
                                         {EFI_TR("Late"), 'r', 0, false}};
    efi_paper_table(paper, &form, columns, EF_COUNT(columns));
    for (int i = 0; i < order->count; i++) {
        const ef_order_row *row = &order->rows[i];
        efi_paper_cell(paper, row->lot);
        add_time(paper, row->changeover_h);
        add_time(paper, row->start_h);
        add_time(paper, row->end_h);
        if (row->late_h > 0.0) {
            add_time(paper, row->late_h);
            efi_paper_strong(paper);
        } else {
            efi_paper_cell(paper, NULL);
        }
    }
    efi_paper_gap(paper);
}

static void add_figures(efi_paper *paper, const ef_order *order)
{
    efi_paper_wordsf(
        paper, EFI_DETAIL,
        efi_tr("Value %s: changeovers of %s h, lots late for %s h times their priority, the end after "
               "%s h, each times its price."),
        efi_piece_fixed(order->value, 2).words, efi_piece_fixed(order->changeover_h, 2).words,
        efi_piece_fixed(order->late_h, 2).words, efi_piece_fixed(order->end_h, 2).words);
    efi_paper_wordsf(paper, EFI_NOTE, efi_tr("Rounds of search: %d (%llu steps)."), order->rounds,
                     order->steps);
}

ef_status ef_report_order_text(const ef_order *order, char **text)
{
    efi_paper paper = {0};
    add_verdict(&paper, order);
    add_rows(&paper, order);
    add_figures(&paper, order);
    return efi_paper_give_text(&paper, text);
}

ef_status ef_report_order_json(const ef_order *order, char **text)
{
    efi_json json = {0};
    json_t *root = efi_json_document(&json, "order.schema.json");
    efi_json_set_real(&json, root, "value", order->value);
    efi_json_set_real(&json, root, "bound", order->bound);
    efi_json_set_real(&json, root, "gap_share", order->gap_share);
    efi_json_set_flag(&json, root, "proven", order->proven);
    efi_json_set_flag(&json, root, "stopped", order->stopped);
    efi_json_set_real(&json, root, "changeover_h", order->changeover_h);
    efi_json_set_real(&json, root, "late_h", order->late_h);
    efi_json_set_real(&json, root, "end_h", order->end_h);
    efi_json_set_count(&json, root, "rounds", order->rounds);
    efi_json_set_real(&json, root, "steps", (double)order->steps);
    json_t *rows = efi_json_array(&json);
    for (int i = 0; i < order->count; i++) {
        const ef_order_row *row = &order->rows[i];
        json_t *object = efi_json_object(&json);
        efi_json_set_text(&json, object, "lot", row->lot);
        efi_json_set_real(&json, object, "changeover_h", row->changeover_h);
        efi_json_set_real(&json, object, "start_h", row->start_h);
        efi_json_set_real(&json, object, "end_h", row->end_h);
        efi_json_set_real(&json, object, "late_h", row->late_h);
        efi_json_append(&json, rows, object);
    }
    efi_json_set(&json, root, "order", rows);
    return efi_json_give(&json, root, text);
}

ef_status ef_report_order_csv(const ef_order *order, char **text)
{
    efi_text out = {0};
    efi_text_add(&out, "lot,changeover_h,start_h,end_h,late_h\n");
    for (int i = 0; i < order->count; i++) {
        const ef_order_row *row = &order->rows[i];
        const double hours[] = {row->changeover_h, row->start_h, row->end_h, row->late_h};
        efi_csv_add_text(&out, row->lot);
        for (size_t k = 0; k < EF_COUNT(hours); k++) {
            efi_csv_next(&out);
            efi_csv_add_number(&out, hours[k]);
        }
        efi_csv_end(&out);
    }
    return efi_report_give(&out, text);
}
