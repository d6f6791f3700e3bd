/* SPDX-License-Identifier: GPL-3.0-or-later
 * Help texts and the man page, from the tables of the commands. */
#include "base/text.h"
#include "cli/cli.h"

#include <stdlib.h>
#include <string.h>

enum {
    OPTION_COLUMN = 26,
    WIDTH = 88
};

static const char job[] =
    "evenfeed plans the throughput of a seed- or grain-conditioning line: what rate it holds for each "
    "crop, what limits it and what more of that is worth, and whether the bins above a steady-feed machine "
    "meet the usual rule.";

static const struct {
    int code;
    const char *meaning;
} exit_codes[] = {
    {0, "answered"},
    {1, "no feasible answer; the reasons are printed"},
    {2, "the command line is wrong"},
    {3, "the scenario has errors; all of them are printed"},
    {4, "a file could not be read or written, or memory ran out"},
    {5, "internal error, or --verify found a difference"},
    {130, "interrupted; the best answer so far is printed"},
};

/* Hands the text over as memory for free(); base memory is the same. */
static char *give(efi_text *text)
{
    char *result = text->failed ? NULL : text->bytes;
    if (text->failed)
        efi_text_free(text);
    return result;
}

/* Words wrapped before WIDTH; the first line begins at `column`, the others are indented by `indent`. */
static void wrap(efi_text *out, const char *words, int column, int indent)
{
    while (*words) {
        const size_t length = strcspn(words, " ");
        const int wide = efi_utf8_count(words, length);
        if (column > indent && column + 1 + wide > WIDTH) {
            efi_text_add(out, "\n");
            efi_text_fill(out, ' ', indent);
            column = indent;
        } else if (column > indent) {
            efi_text_add(out, " ");
            column++;
        }
        efi_text_add_bytes(out, words, length);
        column += wide;
        words += length;
        words += strspn(words, " ");
    }
    efi_text_add(out, "\n");
}

static void add_pair(efi_text *out, const char *left, const char *right)
{
    efi_text_addf(out, "  %s", left);
    const int used = 2 + efi_text_width(left);
    if (used >= OPTION_COLUMN) {
        efi_text_add(out, "\n");
        efi_text_fill(out, ' ', OPTION_COLUMN);
    } else {
        efi_text_fill(out, ' ', OPTION_COLUMN - used);
    }
    wrap(out, right, OPTION_COLUMN, OPTION_COLUMN);
}

static void add_synopsis(efi_text *out, const cli_command *command)
{
    efi_text_addf(out, "evenfeed %s%s%s", command->name, command->operands[0] ? " " : "", command->operands);
    if (command->options[0].name)
        efi_text_add(out, " [options]");
}

char *cli_help_text(void)
{
    efi_text out = {0};
    wrap(&out, job, 0, 0);
    efi_text_add(&out, "\nUsage: evenfeed COMMAND ...\n\n");
    for (int i = 0; cli_commands[i]; i++)
        if (!cli_commands[i]->hidden)
            add_pair(&out, cli_commands[i]->name, cli_commands[i]->summary);
    add_pair(&out, "COMMAND --help", "what a command does, and its options");
    add_pair(&out, "--version", "the version of the program");
    efi_text_add(&out, "\nBegin with:  evenfeed balance scenarios/cereal-seed.yaml\n");
    return give(&out);
}

static void add_options(efi_text *out, const cli_command *command)
{
    for (int i = 0; command->options[i].name; i++) {
        const cli_option *option = &command->options[i];
        efi_text left = {0};
        efi_text_addf(&left, "--%s%s%s", option->name, option->argument ? " " : "",
                      option->argument ? option->argument : "");
        add_pair(out, efi_text_get(&left), option->meaning);
        efi_text_free(&left);
    }
    add_pair(out, "--help", "this text");
}

char *cli_command_help_text(const cli_command *command)
{
    efi_text out = {0};
    efi_text_add(&out, "Usage: ");
    add_synopsis(&out, command);
    efi_text_add(&out, "\n\n");
    wrap(&out, command->about, 0, 0);
    efi_text_add(&out, "\n");
    add_options(&out, command);
    efi_text_addf(&out, "\nExample:  evenfeed %s\n", command->example);
    return give(&out);
}

/* Text for roff: a backslash, and a dot or quote at the start of a line, mean something there. */
static void add_roff(efi_text *out, const char *words)
{
    if (*words == '.' || *words == '\'')
        efi_text_add(out, "\\&");
    for (; *words; words++) {
        if (*words == '\\')
            efi_text_add(out, "\\e");
        else if (*words == '-')
            efi_text_add(out, "\\-");
        else
            efi_text_add_bytes(out, words, 1);
    }
    efi_text_add(out, "\n");
}

static void add_roff_command(efi_text *out, const cli_command *command)
{
    efi_text synopsis = {0};
    add_synopsis(&synopsis, command);
    efi_text_add(out, ".SS ");
    add_roff(out, efi_text_get(&synopsis));
    efi_text_free(&synopsis);
    add_roff(out, command->about);
    for (int i = 0; command->options[i].name; i++) {
        const cli_option *option = &command->options[i];
        efi_text_addf(out, ".TP\n\\fB\\-\\-%s\\fR%s\n", option->name, option->argument ? " " : "");
        if (option->argument) {
            out->length--; /* the argument belongs on the same line */
            efi_text_addf(out, "\\fI%s\\fR\n", option->argument);
        }
        add_roff(out, option->meaning);
    }
}

char *cli_manpage_text(void)
{
    efi_text out = {0};
    efi_text_add(&out,
                 ".TH EVENFEED 1 \"\" \"evenfeed " EF_VERSION "\" \"User commands\"\n.SH NAME\n"
                 "evenfeed \\- plan the throughput of a seed\\- or grain\\-conditioning line\n.SH SYNOPSIS\n"
                 "\\fBevenfeed\\fR \\fICOMMAND\\fR ...\n.SH DESCRIPTION\n");
    add_roff(&out, job);
    efi_text_add(&out, ".SH COMMANDS\n");
    for (int i = 0; cli_commands[i]; i++)
        if (!cli_commands[i]->hidden)
            add_roff_command(&out, cli_commands[i]);
    efi_text_add(&out, ".SH EXIT STATUS\n");
    for (size_t i = 0; i < EF_COUNT(exit_codes); i++) {
        efi_text_addf(&out, ".TP\n%d\n", exit_codes[i].code);
        add_roff(&out, exit_codes[i].meaning);
    }
    efi_text_add(
        &out,
        ".SH CAUTION\nResults are planning estimates. They do not replace structural design, "
        "explosion\\-risk assessment, certification inspection or a competent engineer; local codes and "
        "licensed practice come first.\n");
    return give(&out);
}
