/* SPDX-License-Identifier: GPL-3.0-or-later
 * The texts on the left are those of libyaml 0.2.5; what a file must hold to cause them was found by trial.
 */
#include "model/yaml_words.h"

#include "base/base.h"

#include <string.h>

#define QUOTES "quotes around the value"

/* problem, byte there (NUL: any), words. The first row that fits is taken. */
static const struct {
    const char *problem;
    char at;
    efi_yaml_words words;
} rows[] = {
    {"did not find expected key", '-', {"a list entry among keys", "take the dash out", "the block", false}},
    {"did not find expected key", ':', {"no key stands before the colon", NULL, NULL, false}},
    {"could not find expected ':'",
     '\0',
     {"this line has no colon", "a colon and a blank after the key", "noticed here", true}},
    {"found unexpected end of stream",
     '\0',
     {"the quote that opens here is not closed", "a closing quote", "noticed here", true}},
    {"found unexpected document indicator",
     '\0',
     {"the quote that opens here is not closed", "a closing quote", "noticed here", true}},
    {"block sequence entries are not allowed in this context",
     '\0',
     {"a dash cannot begin a value here", "take the dash out, or put the value in quotes", NULL, false}},
    {"did not find expected '-' indicator",
     '\0',
     {"this line is no entry of the list above it", "take the dashes of the list out", "the list", false}},
    {"found character that cannot start any token",
     '%',
     {"\"%\" cannot begin a value", "the number first: 5 %", NULL, false}},
    {"found character that cannot start any token", '@', {"\"@\" cannot begin a value", QUOTES, NULL, false}},
    {"found character that cannot start any token", '`', {"\"`\" cannot begin a value", QUOTES, NULL, false}},
    {"did not find expected node content",
     ',',
     {"a comma stands where a value belongs", "take the comma out", NULL, false}},
    {"did not find expected node content", '}', {"a closing } without its {", "take the } out", NULL, false}},
    {"did not find expected node content", ']', {"a closing ] without its [", "take the ] out", NULL, false}},
    {"did not find expected node content", ':', {"no key stands before the colon", NULL, NULL, false}},
    {"did not find expected alphabetic or numeric character",
     '\0',
     {"\"&\" or \"*\" cannot begin a value", QUOTES, NULL, true}},
    {"found unknown escape character",
     '\0',
     {"a backslash in double quotes that means nothing", "single quotes, or a doubled backslash", NULL,
      true}},
    {"did not find expected hexdecimal number",
     '\0',
     {"a backslash in double quotes that means nothing", "single quotes, or a doubled backslash", NULL,
      true}},
    {"did not find expected <document start>",
     '\0',
     {"the scenario has ended before this", "take this out", NULL, false}},
    {"mapping keys are not allowed in this context",
     '\0',
     {"a question mark cannot begin a value here", QUOTES, NULL, false}},
    {"did not find expected comment or line break",
     '\0',
     {"nothing more can stand on this line", "begin the text on the next line", "the text", false}},
    {"found unknown directive name",
     '\0',
     {"a line that begins with % is no part of a scenario", "take the line out", NULL, true}},
    {"found incompatible YAML document",
     '\0',
     {"a line that begins with % is no part of a scenario", "take the line out", NULL, false}},
};

/* A key where the parser expected none. */
static efi_yaml_words explain_key(const efi_yaml_fault *fault)
{
    if (fault->first_on_line)
        return (efi_yaml_words){"this line fits no block: its indentation is between those above it",
                                "line the key up with the others of its block", "the block around it", false};
    return (efi_yaml_words){"this does not belong to the value before it",
                            "quotes around the whole value; a quote within single quotes is doubled", NULL,
                            false};
}

/* A list or block in brackets in which something else stands than a comma or its end. */
static efi_yaml_words explain_brackets(const efi_yaml_fault *fault, bool list)
{
    if (!list && fault->at == ':' && !fault->far_opening)
        return (efi_yaml_words){"a comma is missing between two keys", "a comma before the second key",
                                "the block", false};
    if (list)
        return (efi_yaml_words){"the [ that opens here is not closed", "a closing ]", "noticed here", true};
    return (efi_yaml_words){"the { that opens here is not closed", "a closing }", "noticed here", true};
}

efi_yaml_words efi_yaml_explain(const efi_yaml_fault *fault)
{
    const char *problem = fault->problem ? fault->problem : "";
    if (fault->at == '\t' && (fault->first_on_line || strstr(problem, "tab character")))
        return (efi_yaml_words){"a tab in the indentation", "blanks instead of the tab", NULL, false};
    if (strcmp(problem, "mapping values are not allowed in this context") == 0) {
        if (fault->second_colon)
            return (efi_yaml_words){"a second colon on this line",
                                    "quotes around a text that holds a colon; a new line for a new key", NULL,
                                    false};
        return (efi_yaml_words){"this line cannot follow the one above it",
                                "line the key up with the one above it", "the value above it", false};
    }
    if (strcmp(problem, "did not find expected ',' or ']'") == 0)
        return explain_brackets(fault, true);
    if (strcmp(problem, "did not find expected ',' or '}'") == 0)
        return explain_brackets(fault, false);
    for (size_t i = 0; i < EF_COUNT(rows); i++)
        if (strcmp(problem, rows[i].problem) == 0 && (!rows[i].at || rows[i].at == fault->at))
            return rows[i].words;
    if (strcmp(problem, "did not find expected key") == 0)
        return explain_key(fault);
    return (efi_yaml_words){"this cannot be read as YAML", NULL, "what it belongs to", false};
}
