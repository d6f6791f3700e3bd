/* SPDX-License-Identifier: GPL-3.0-or-later
 * The reference of the scenario language, from the table that reads it. */
#include "model/language.h"
#include "report/report.h"

#include <evenfeed/diag.h>

static const char *const class_words[] = {
    [EFI_CLASS_INTAKE] = "intakes", [EFI_CLASS_MACHINE] = "machines", [EFI_CLASS_CONVEYOR] = "conveyors",
    [EFI_CLASS_BIN] = "bins",       [EFI_CLASS_SPLIT] = "splits",     [EFI_CLASS_OUTLET] = "outlets"};

enum {
    SHORT_LIST = 15 /* the kinds of station have a table of their own */
};

static void add_choices(efi_text *out, const char *const *choices)
{
    int count = 0;
    while (choices[count])
        count++;
    if (count > SHORT_LIST) {
        efi_text_add(out, "one of the kinds below");
        return;
    }
    for (int i = 0; i < count; i++)
        efi_text_addf(out, "%s`%s`", i == 0 ? "" : i + 1 == count ? " or " : ", ", choices[i]);
}

/* What may stand after a key of a type whose words do not depend on the field. */
static const char *const accepted[] = {
    [EFI_FIELD_TEXT] = "text",
    [EFI_FIELD_NAME] = "text",
    [EFI_FIELD_FLAG] = "`yes` or `no`",
    [EFI_FIELD_COUNT] = "a whole number",
    [EFI_FIELD_STATION] = "the name of a station",
    [EFI_FIELD_LINE] = "the name of a line",
    [EFI_FIELD_CROP] = "the name of a crop",
    [EFI_FIELD_LOT] = "the name of a lot",
    [EFI_FIELD_TEXTS] = "a text, or several in brackets",
    [EFI_FIELD_LINES] = "the name of a line, or several in brackets: `[North, South]`",
    [EFI_FIELD_CREW] = "the name of a crew",
    [EFI_FIELD_DATE] = "a date, year first: `2026-11-25`",
    [EFI_FIELD_CLOCK] = "a time of the day, `00:00` to `24:00`",
    [EFI_FIELD_MOMENT] = "a date and a time of the day: `2026-11-25T06:30`",
    [EFI_FIELD_WEEKDAYS] = "days of the week: `mon-fri`, `sat, sun` or `daily`",
    [EFI_FIELD_INSTANT] = ("a date and a time of the day, `2026-11-25T06:30`, or the time from the beginning "
                           "of the day on which the calendar starts, `26.5 h`"),
    [EFI_FIELD_CLOCKS] = "a time of the day, or several in brackets: `[06:00, 18:00]`",
    [EFI_FIELD_STATIONS] = "the name of a station, or several in brackets: `[Deck, Cleaner]`",
    [EFI_FIELD_CROPS] = "the name of a crop, or several in brackets: `[wheat, barley]`",
    [EFI_FIELD_MATERIALS] = "the name of a material, or several in brackets: `[peas, splits]`",
    [EFI_FIELD_RECEIPT] = "a share for each material",
    [EFI_FIELD_TAKES] = "`rest`, or a share for each material",
    [EFI_FIELD_TURNS] = "for each material the shares that become others; a share may differ by crop",
    [EFI_FIELD_BLOCK] = "a block of keys, see below",
    [EFI_FIELD_NAMED] = "names, each with a block of keys, see below",
};

/* What may stand after the key, in words. */
static void add_accepts(efi_text *out, const efi_field *field)
{
    switch (field->type) {
    case EFI_FIELD_CHOICE:
        add_choices(out, field->choices);
        break;
    case EFI_FIELD_QUANTITY:
        efi_kinds_add_words(out, field->quantities);
        efi_text_addf(out, ", %s: ", efi_range_words(field->range));
        efi_kinds_add_units(out, field->quantities);
        break;
    case EFI_FIELD_BY_DATE:
        efi_text_addf(out,
                      "a date, `2026-11-25`, which means the %s of that day, or a date and a time, "
                      "`2026-11-25T06:30`",
                      field->to_end ? "end" : "beginning");
        break;
    case EFI_FIELD_TEXT:
    case EFI_FIELD_NAME:
    case EFI_FIELD_FLAG:
    case EFI_FIELD_COUNT:
    case EFI_FIELD_STATION:
    case EFI_FIELD_LINE:
    case EFI_FIELD_CROP:
    case EFI_FIELD_LOT:
    case EFI_FIELD_TEXTS:
    case EFI_FIELD_LINES:
    case EFI_FIELD_CREW:
    case EFI_FIELD_DATE:
    case EFI_FIELD_CLOCK:
    case EFI_FIELD_MOMENT:
    case EFI_FIELD_WEEKDAYS:
    case EFI_FIELD_INSTANT:
    case EFI_FIELD_CLOCKS:
    case EFI_FIELD_STATIONS:
    case EFI_FIELD_CROPS:
    case EFI_FIELD_MATERIALS:
    case EFI_FIELD_RECEIPT:
    case EFI_FIELD_TAKES:
    case EFI_FIELD_TURNS:
    case EFI_FIELD_BLOCK:
    case EFI_FIELD_NAMED:
        efi_text_add(out, accepted[field->type]);
        break;
    }
    if (field->by_crop)
        efi_text_add(out, "; may differ by crop");
}

/* The kinds a key goes with: whole classes by their word, else kind by kind. */
static void add_kind_set(efi_text *out, unsigned set)
{
    bool first = true;
    for (unsigned class = 0; class < EF_COUNT(class_words); class ++) {
        unsigned members = 0;
        for (int kind = 0; kind < EFI_STATION_LIMIT; kind++)
            if (efi_station_class((efi_station_kind)kind) == (efi_class) class)
                members |= 1u << kind;
        if ((set & members) == members) {
            efi_text_addf(out, "%s%s", first ? "" : ", ", class_words[class]);
            first = false;
            continue;
        }
        for (int kind = 0; kind < EFI_STATION_LIMIT; kind++) {
            if (!(set & members & 1u << kind))
                continue;
            efi_text_addf(out, "%sthe kind `%s`", first ? "" : ", ",
                          efi_station_word((efi_station_kind)kind));
            first = false;
        }
    }
}

static void add_field(efi_text *out, const efi_field *field)
{
    efi_text_addf(out, "### `%s`", field->key);
    if (field->required)
        efi_text_add(out, " (must be given)");
    efi_text_addf(out, "\n\n%s\n\n- accepts: ", field->meaning);
    add_accepts(out, field);
    efi_text_add(out, "\n");
    if (field->kinds) {
        efi_text_add(out, "- goes with: ");
        add_kind_set(out, field->kinds);
        efi_text_add(out, "\n");
    }
    if (field->fallback)
        efi_text_addf(out, "- when absent: %s\n", field->fallback);
    if (field->example)
        efi_text_addf(out, "- example: `%s: %s`\n", field->key, field->example);
    efi_text_add(out, "\n");
}

static void add_block(efi_text *out, const efi_block *block)
{
    efi_text_addf(out, "## %s\n\n%s\n\n", block->title, block->intro);
    for (int i = 0; i < block->count; i++)
        add_field(out, &block->fields[i]);
    for (int i = 0; i < block->count; i++)
        if (block->fields[i].block)
            add_block(out, block->fields[i].block);
}

static void add_kinds(efi_text *out)
{
    efi_text_add(out, "## Kinds of station\n\n| kind | goes as | what it is |\n| --- | --- | --- |\n");
    static const char *const class_word[] = {
        [EFI_CLASS_INTAKE] = "intake", [EFI_CLASS_MACHINE] = "machine", [EFI_CLASS_CONVEYOR] = "conveyor",
        [EFI_CLASS_BIN] = "bin",       [EFI_CLASS_SPLIT] = "split",     [EFI_CLASS_OUTLET] = "outlet"};
    for (int kind = 0; kind < EFI_STATION_LIMIT; kind++)
        efi_text_addf(out, "| `%s` | %s | %s |\n", efi_station_word((efi_station_kind)kind),
                      class_word[efi_station_class((efi_station_kind)kind)],
                      efi_station_meaning((efi_station_kind)kind));
    efi_text_add(out, "\n");
}

static void add_messages(efi_text *out)
{
    efi_text_add(
        out,
        "## Messages\n\nEvery message ends with a name in brackets; this is what each means. All that is "
        "wrong with a file is reported in one run; a warning does not stop it.\n\n"
        "| name | severity | meaning |\n| --- | --- | --- |\n");
    ef_severity severity;
    const char *meaning;
    const char *name;
    for (int i = 0; (name = ef_diag_name(i, &severity, &meaning)) != NULL; i++)
        efi_text_addf(out, "| `%s` | %s | %s |\n", name, severity == EF_ERROR ? "error" : "warning", meaning);
}

static const char introduction[] =
    "<!-- Made by `make docs` from the table that reads scenarios; edit src/model/language.c instead. -->\n"
    "# The scenario language\n\n"
    "A scenario describes one plant: what comes in, the stations it passes, and how they are joined. It is a "
    "YAML file; "
    "of YAML it uses keys and values, indentation, `{key: value}` in one line, quotes and `#` comments, a "
    "list in brackets where several stations or times are named, and "
    "nothing else "
    "(no anchors, aliases, tags, or further documents).\n\n"
    "**Numbers have units.** `12 t/h`, `40 m3/h`, `600 bu/h`, `15 min`, `1 h 30 min`, `60 lb/bu`. A bare "
    "number where a "
    "unit belongs is an error that lists the units that fit. Shares are `12 %`, `1/8` or `0.125`. Write "
    "decimals with a "
    "point and digits without gaps. A bushel of a mass goes by the crop's trade weight, a bushel of a volume "
    "is "
    "2150.42 cubic inches. `ton` alone is refused because it means three things: write `t`, `short_ton` or "
    "`long_ton`.\n\n"
    "**Values that differ by crop.** Where a key says \"may differ by crop\", give one value for all crops, "
    "or a block "
    "with a line for each; `other crops` stands for those not listed:\n\n"
    "```yaml\ncapacity: {wheat: 12 t/h, other crops: 9 t/h}\n```\n\n"
    "**Names** are yours: any text, also with blanks. They are used as written, in the answers too. `rest`, "
    "`other crops` and `other materials` are words of the language. Where a name begins with a sign such as "
    "`&`, `*`, "
    "`-` or `#`, or holds a colon, put quotes around it.\n\n";

ef_status ef_report_language(char **text)
{
    efi_text out = {0};
    efi_text_add(&out, introduction);
    add_block(&out, &efi_language);
    add_kinds(&out);
    add_messages(&out);
    return efi_report_give(&out, text);
}
