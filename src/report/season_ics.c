/* SPDX-License-Identifier: GPL-3.0-or-later
 * A season as a calendar file (RFC 5545, "Internet Calendaring and Scheduling Core Object Specification",
 * 2009): an event for each run and each clean-down.
 *
 * Times are floating local times (3.3.5, form 1): the clock on the plant's wall, which knows no zone. A UID
 * is made of plant, lot and kind, so a calendar that takes up a newer plan moves its events. DTSTAMP is the
 * moment from which was planned, so that the same plan gives the same file; that the standard wants it in UTC
 * is met in form alone, nothing depends on it. */
#include "base/tongue.h"
#include "report/report.h"
#include "report/season_view.h"

#include <inttypes.h>
#include <string.h>

enum {
    MOST_OCTETS = 75 /* of a line without its end: RFC 5545, 3.1 */
};

/* ---- lines ----------------------------------------------------------------------------------------------
 */

/* How many of `left` octets from `at` go on a line that has room for `room`, without parting a character. */
static size_t part_of(const char *at, size_t left, size_t room)
{
    size_t length = left < room ? left : room;
    while (length > 0 && length < left && ((unsigned char)at[length] & 0xC0u) == 0x80u)
        length--;
    return length;
}

/* Adds a content line, folded, and frees it. */
static void add_line(efi_text *out, efi_text *line)
{
    const char *at = efi_text_get(line);
    size_t left = strlen(at);
    size_t room = MOST_OCTETS;
    out->failed = out->failed || line->failed;
    while (left > 0 && !out->failed) {
        const size_t length = part_of(at, left, room);
        efi_text_add_bytes(out, at, length);
        at += length;
        left -= length;
        room = MOST_OCTETS - 1; /* the blank that marks what goes on counts */
        efi_text_add(out, left > 0 ? "\r\n " : "\r\n");
    }
    efi_text_free(line);
}

static void add_plain(efi_text *out, const char *words)
{
    efi_text line = {0};
    efi_text_add(&line, words);
    add_line(out, &line);
}

/* The value of a property of type TEXT (3.3.11); control characters, which it must not hold, become blanks.
 */
static void add_escaped(efi_text *line, const char *words)
{
    for (; *words; words++) {
        const unsigned char c = (unsigned char)*words;
        if (c == '\\' || c == ';' || c == ',')
            efi_text_addf(line, "\\%c", c);
        else if (c == '\n')
            efi_text_add(line, "\\n");
        else if (c < ' ' || c == 0x7F)
            efi_text_add(line, " ");
        else
            efi_text_add_bytes(line, words, 1);
    }
}

/* A property of type TEXT; frees its value. */
static void add_property(efi_text *out, const char *name, efi_text *value)
{
    efi_text line = {0};
    efi_text_addf(&line, "%s:", name);
    add_escaped(&line, efi_text_get(value));
    line.failed = line.failed || value->failed;
    efi_text_free(value);
    add_line(out, &line);
}

/* "20260901T060000" */
static void add_time(efi_text *out, int64_t moment)
{
    const efi_civil civil = efi_civil_of(efi_moment_day(moment));
    const int clock = efi_moment_clock(moment);
    efi_text_addf(out, "%04" PRId64 "%02d%02dT%02d%02d%02d", civil.year, civil.month, civil.day, clock / 3600,
                  clock / 60 % 60, clock % 60);
}

static void add_time_line(efi_text *out, const char *name, int64_t moment, const char *end)
{
    efi_text line = {0};
    efi_text_addf(&line, "%s:", name);
    add_time(&line, moment);
    efi_text_add(&line, end);
    add_line(out, &line);
}

/* ---- events ---------------------------------------------------------------------------------------------
 */

/* FNV-1a, 64 bit, of a text and the NUL that closes it. */
static uint64_t hash(uint64_t so_far, const char *words)
{
    const uint64_t prime = UINT64_C(1099511628211);
    for (; *words; words++)
        so_far = (so_far ^ (unsigned char)*words) * prime;
    return so_far * prime;
}

static void begin_event(efi_text *out, const ef_season *season, const char *kind, const char *name,
                        int64_t from, int64_t to)
{
    const uint64_t start = UINT64_C(14695981039346656037);
    efi_text uid = {0};
    add_plain(out, "BEGIN:VEVENT");
    efi_text_addf(&uid, "UID:%016" PRIx64 "-%s@evenfeed", hash(hash(start, season->plant), name), kind);
    add_line(out, &uid);
    add_time_line(out, "DTSTAMP", season->at != EF_SEASON_NONE ? season->at : season->from, "Z");
    add_time_line(out, "DTSTART", from, "");
    if (to > from) /* an event without an end ends where it starts; an end must be later: 3.6.1 */
        add_time_line(out, "DTEND", to, "");
}

static void end_event(efi_text *out, const ef_season *season, int line)
{
    if (season->line_count > 1) {
        efi_text where = {0};
        efi_text_add(&where, season->lines[line].name);
        add_property(out, "LOCATION", &where);
    }
    add_plain(out, "END:VEVENT");
}

static void add_prefix(efi_text *words, const ef_season *season, int line)
{
    if (season->line_count > 1)
        efi_text_addf(words, "%s: ", season->lines[line].name);
}

static void add_note_line(efi_text *words, const char *title, const char *value)
{
    if (*value)
        efi_text_addf(words, "%s%s: %s", words->length ? "\n" : "", title, value);
}

/* A line of the description with a text made for it; frees it. */
static void take_line(efi_text *words, const char *title, efi_text *value)
{
    add_note_line(words, title, efi_text_get(value));
    words->failed = words->failed || value->failed;
    efi_text_free(value);
}

static void add_room_line(efi_text *words, const efi_season_view *v, const ef_season_lot *lot,
                          const char *title, const int *stores, double missing_t)
{
    efi_text value = {0};
    efi_season_add_stores(&value, v->season, stores, ", ");
    if (missing_t > 0.0) {
        efi_text_add(&value, value.length ? "; " : "");
        efi_text_addf(&value, efi_tr("no room for %s"), efi_season_amount(v, lot, missing_t).words);
    }
    take_line(words, title, &value);
}

static void describe_run(efi_text *words, const efi_season_view *v, const ef_season_run *run)
{
    const ef_season_lot *lot = &v->season->lots[run->lot];
    efi_text value = {0};
    efi_season_add_kind(&value, lot);
    take_line(words, efi_tr("Lot"), &value);
    add_note_line(words, efi_tr("Treatment"), lot->treatment);
    add_note_line(words, efi_tr("Product"), lot->product);
    add_note_line(words, efi_tr_in("lot", "Amount"), efi_season_amount(v, lot, lot->left_t).words);
    add_room_line(words, v, lot, efi_tr_in("store", "From"), run->raw, run->raw_missing_t);
    add_room_line(words, v, lot, efi_tr_in("store", "To"), run->finished, run->finished_missing_t);
    add_note_line(words, efi_tr("Due"), efi_season_due(lot->due).words);
    if (run->late_days > 0.0)
        add_note_line(words, efi_tr("Late"), efi_season_days(run->late_days).words);
    if (run->wet_days > 0.0)
        add_note_line(words, efi_tr("After its latest start"), efi_season_days(run->wet_days).words);
    add_note_line(words, efi_tr("State"),
                  lot->state == EF_SEASON_WAITING ? "" : efi_season_state_said(lot->state));
    add_note_line(words, efi_tr("Trouble"), run->fits ? "" : efi_tr("does not fit into the calendar"));
    add_note_line(words, efi_tr("Trouble"), run->misses_start ? efi_tr("misses its frozen start") : "");
    add_note_line(words, efi_tr("Trouble"), run->waits_in_vain ? efi_tr("its first pass is not done") : "");
    add_note_line(words, efi_tr("Note"), lot->note);
}

static void add_run(efi_text *out, const efi_season_view *v, const ef_season_run *run)
{
    const ef_season_lot *lot = &v->season->lots[run->lot];
    efi_text words = {0};
    begin_event(out, v->season, "run", lot->name, run->start, run->end);
    add_prefix(&words, v->season, run->line);
    efi_text_addf(&words, "%s, ", lot->name);
    efi_season_add_kind(&words, lot);
    efi_text_addf(&words, ", %s", efi_season_amount(v, lot, lot->left_t).words);
    add_property(out, "SUMMARY", &words);
    describe_run(&words, v, run);
    add_property(out, "DESCRIPTION", &words);
    add_plain(out, run->late_days > 0.0 || run->wet_days > 0.0 ? "CATEGORIES:RUN,LATE" : "CATEGORIES:RUN");
    end_event(out, v->season, run->line);
}

static void add_cleaning(efi_text *out, const efi_season_view *v, const ef_season_run *run)
{
    const ef_season *season = v->season;
    const ef_season_lot *lot = &season->lots[run->lot];
    efi_text words = {0};
    begin_event(out, season, "clean-down", lot->name, run->clean_from, run->clean_to);
    add_prefix(&words, season, run->line);
    efi_text_addf(&words, efi_tr("clean-down before %s"), lot->name);
    add_property(out, "SUMMARY", &words);
    add_note_line(&words, efi_tr("Rule"), run->rule);
    add_note_line(&words, efi_tr_in("lot", "After"), run->before >= 0 ? season->lots[run->before].name : "");
    add_note_line(&words, efi_tr_in("time of work", "Work"), efi_piece_duration(run->clean_h).words);
    if (run->flush_t > 0.0)
        add_note_line(&words, efi_tr("Flush"), efi_season_mass(v, run->flush_t).words);
    if (run->clean_people > 0.0)
        add_note_line(&words, efi_tr("People"), efi_piece_significant(run->clean_people, 3).words);
    add_note_line(&words, efi_tr("Trouble"),
                  run->forbidden ? efi_tr("the rule forbids this changeover") : "");
    add_note_line(&words, efi_tr("Caution"), efi_season_cleaning_caution());
    add_property(out, "DESCRIPTION", &words);
    add_plain(out, "CATEGORIES:CLEAN-DOWN");
    end_event(out, season, run->line);
}

static void add_last_cleaning(efi_text *out, const efi_season_view *v, int line)
{
    const ef_season_line *l = &v->season->lines[line];
    efi_text words = {0};
    begin_event(out, v->season, "last-clean-down", l->name, l->last_clean_from, l->last_clean_to);
    add_prefix(&words, v->season, line);
    efi_text_add(&words, efi_tr("clean-down after the last lot"));
    add_property(out, "SUMMARY", &words);
    add_note_line(&words, efi_tr("Rule"), l->last_rule);
    add_note_line(&words, efi_tr("Caution"), efi_season_cleaning_caution());
    add_property(out, "DESCRIPTION", &words);
    add_plain(out, "CATEGORIES:CLEAN-DOWN");
    end_event(out, v->season, line);
}

ef_status ef_report_season_ics(const ef_season *season, ef_units units, char **text)
{
    efi_text out = {0};
    const efi_season_view v = efi_season_view_of(season, units);
    add_plain(&out, "BEGIN:VCALENDAR");
    add_plain(&out, "VERSION:2.0");
    add_plain(&out, "PRODID:-//evenfeed//season//EN");
    add_plain(&out, "CALSCALE:GREGORIAN");
    for (int r = 0; r < season->run_count; r++) {
        if (efi_season_is_cleaned(&season->runs[r]))
            add_cleaning(&out, &v, &season->runs[r]);
        add_run(&out, &v, &season->runs[r]);
    }
    for (int l = 0; l < season->line_count; l++)
        if (efi_season_is_last_cleaned(&season->lines[l]))
            add_last_cleaning(&out, &v, l);
    add_plain(&out, "END:VCALENDAR");
    return efi_report_give(&out, text);
}
