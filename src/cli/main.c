/* SPDX-License-Identifier: GPL-3.0-or-later
 * The program: finds the command, reads its options by its table, runs it. */
#include "base/base.h"
#include "base/text.h"
#include "cli/cli.h"

#include <getopt.h>
#include <locale.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

const cli_command *const cli_commands[] = {&cli_check,    &cli_balance, &cli_bins,   &cli_trace, &cli_shift,
                                           &cli_learn,    &cli_order,   &cli_season, &cli_when,  &cli_report,
                                           &cli_language, &cli_manpage, NULL};

static const cli_command *find_command(const char *name)
{
    for (int i = 0; cli_commands[i]; i++)
        if (strcmp(cli_commands[i]->name, name) == 0)
            return cli_commands[i];
    return NULL;
}

static int unknown_command(const char *name)
{
    const char *names[16];
    int count = 0;
    for (int i = 0; cli_commands[i]; i++)
        if (!cli_commands[i]->hidden)
            names[count++] = cli_commands[i]->name;
    const char *nearest = efi_text_nearest(name, names, count);
    if (nearest)
        return cli_usage(NULL, "there is no command \"%s\"; did you mean \"%s\"?", name, nearest);
    return cli_usage(NULL, "there is no command \"%s\"", name);
}

static int print_and_free(char *text)
{
    if (!text)
        return cli_fail(EF_MEMORY, NULL);
    const int code = cli_print(text, 0);
    free(text);
    return code;
}

enum {
    HELP = 1000
};

/* The getopt table of a command: its own options, then --help. Returns how many of its own. */
static int option_table(const cli_command *command, struct option *table)
{
    int count = 0;
    for (; command->options[count].name; count++)
        table[count] = (struct option){command->options[count].name,
                                       command->options[count].argument ? required_argument : no_argument,
                                       NULL, count + 1};
    table[count] = (struct option){"help", no_argument, NULL, HELP};
    table[count + 1] = (struct option){0};
    return count;
}

static int wrong_option(const cli_command *command, const char *word, int code)
{
    if (code == ':')
        return cli_usage(command, "%s needs a value", word);
    const char *names[CLI_MOST_OPTIONS];
    int count = 0;
    for (; command->options[count].name; count++)
        names[count] = command->options[count].name;
    const char *bare = word;
    while (*bare == '-')
        bare++;
    const char *nearest = efi_text_nearest(bare, names, count);
    if (nearest)
        return cli_usage(command, "there is no option \"%s\"; did you mean \"--%s\"?", word, nearest);
    return cli_usage(command, "there is no option \"%s\"", word);
}

/* A value of --set, or with @ a file of them. */
static int add_setting(cli_call *call, const char *setting)
{
    if (setting[0] == '@')
        return cli_settings_from(call, setting + 1);
    if (call->setting_count == CLI_MOST_SETTINGS)
        return cli_usage(call->command, "--set more than %d times", CLI_MOST_SETTINGS);
    call->settings[call->setting_count++] = setting;
    return 0;
}

static int run_command(const cli_command *command, int argc, char **argv)
{
    struct option table[CLI_MOST_OPTIONS + 2];
    const int count = option_table(command, table);
    cli_call call = {.command = command};
    opterr = 0;
    optind = 1;
    for (;;) {
        const int before = optind;
        const int code = getopt_long(argc, argv, ":", table, NULL);
        if (code == -1)
            break;
        if (code == HELP)
            return print_and_free(cli_command_help_text(command));
        if (code < 1 || code > count)
            return wrong_option(command, argv[before < optind ? optind - 1 : before], code);
        call.value[code - 1] = optarg ? optarg : "";
        if (strcmp(command->options[code - 1].name, "set") != 0)
            continue;
        const int set = add_setting(&call, call.value[code - 1]);
        if (set != 0) {
            cli_call_free(&call);
            return set;
        }
    }
    call.operands = (const char *const *)(argv + optind);
    call.operand_count = argc - optind;
    int code;
    if (call.operand_count < command->least_operands)
        code = cli_usage(command, "%s is missing", command->operands);
    else if (call.operand_count > command->most_operands)
        code = cli_usage(command, "\"%s\" is one argument too many", call.operands[command->most_operands]);
    else
        code = command->run(&call);
    cli_call_free(&call);
    return code;
}

int main(int argc, char **argv)
{
    (void)setlocale(LC_CTYPE, "");
    if (argc < 2)
        return cli_usage(NULL, "a command is missing");
    const char *word = argv[1];
    if (strcmp(word, "--help") == 0 || strcmp(word, "-h") == 0)
        return print_and_free(cli_help_text());
    if (strcmp(word, "--version") == 0)
        return cli_print("evenfeed " EF_VERSION "\n", 0);
    if (word[0] == '-')
        return cli_usage(NULL, "\"%s\" stands where a command belongs", word);
    const cli_command *command = find_command(word);
    if (!command)
        return unknown_command(word);
    return run_command(command, argc - 1, argv + 1);
}
