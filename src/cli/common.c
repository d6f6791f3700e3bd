/* SPDX-License-Identifier: GPL-3.0-or-later
 * What several commands do alike: messages, output, loading, shared options. */
#include "base/date.h"
#include "base/quantity.h"
#include "base/text.h"
#include "cli/cli.h"
#include "model/scenario.h"

#include <errno.h>
#include <evenfeed/report.h>
#include <evenfeed/tongue.h>
#include <stdarg.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

const char *cli_value(const cli_call *call, const char *option)
{
    for (int i = 0; call->command->options[i].name; i++)
        if (strcmp(call->command->options[i].name, option) == 0)
            return call->value[i];
    return NULL;
}

/* A word of a shell: in quotes where it needs them. */
static void add_word(efi_text *out, const char *word)
{
    static const char plain[] = "abcdefghijklmnopqrstuvwxyzABCDEFGHIJKLMNOPQRSTUVWXYZ0123456789_-./,:=@%+";
    efi_text_add(out, " ");
    if (*word && word[strspn(word, plain)] == '\0') {
        efi_text_add(out, word);
        return;
    }
    efi_text_add(out, "'");
    for (; *word; word++)
        efi_text_add_bytes(out, *word == '\'' ? "'\\''" : word, *word == '\'' ? 4 : 1);
    efi_text_add(out, "'");
}

void cli_call_words(const cli_call *call, efi_text *out)
{
    efi_text_addf(out, "evenfeed %s", call->command->name);
    for (int i = 0; i < call->operand_count; i++)
        add_word(out, call->operands[i]);
    for (int i = 0; call->command->options[i].name; i++) {
        const cli_option *option = &call->command->options[i];
        if (!call->value[i] || strcmp(option->name, "set") == 0)
            continue;
        efi_text_addf(out, " --%s", option->name);
        if (option->argument)
            add_word(out, call->value[i]);
    }
    for (int i = 0; i < call->setting_count; i++) {
        efi_text_add(out, " --set");
        add_word(out, call->settings[i]);
    }
}

int cli_usage(const cli_command *command, const char *format, ...)
{
    va_list arguments;
    va_start(arguments, format);
    fprintf(stderr, "evenfeed%s%s: ", command ? " " : "", command ? command->name : "");
    vfprintf(stderr, format, arguments);
    fprintf(stderr, "; see evenfeed %s%s--help\n", command ? command->name : "", command ? " " : "");
    va_end(arguments);
    return ef_status_exit_code(EF_USAGE);
}

int cli_fail(ef_status status, const char *file)
{
    const int reason = errno;
    if (status == EF_FILE && file && reason == EEXIST)
        fprintf(stderr, "evenfeed: %s: there is a file of that name; --force replaces it\n", file);
    else if (status == EF_FILE && file)
        fprintf(stderr, "evenfeed: %s: %s\n", file,
                reason ? strerror(reason) : "could not be read or written");
    else
        fprintf(stderr, "evenfeed: %s%s%s\n", file ? file : "", file ? ": " : "", ef_status_text(status));
    return ef_status_exit_code(status);
}

int cli_print(const char *text, int exit_code)
{
    errno = 0;
    const size_t length = strlen(text);
    if (fwrite(text, 1, length, stdout) != length || fflush(stdout) != 0)
        return cli_fail(EF_FILE, "standard output");
    return exit_code;
}

int cli_print_findings(const ef_diags *diags)
{
    char *text;
    if (ef_diags_count(diags) == 0)
        return 0;
    const ef_status status = ef_report_findings(diags, &text);
    if (status != EF_OK)
        return cli_fail(status, NULL);
    fputs(text, stderr);
    ef_report_free(text);
    return 0;
}

static int load(const char *path, const char *const *settings, int setting_count, ef_scenario **scenario)
{
    ef_diags *diags = ef_diags_new();
    if (!diags)
        return cli_fail(EF_MEMORY, NULL);
    errno = 0;
    const ef_status status = ef_scenario_load(path, settings, setting_count, diags, scenario);
    int code = ef_status_exit_code(status);
    if (status == EF_OK || status == EF_SCENARIO) {
        const int printed = cli_print_findings(diags);
        if (printed != 0) {
            if (status == EF_OK)
                ef_scenario_free(*scenario);
            code = printed;
        }
    } else {
        code = cli_fail(status, path);
    }
    ef_diags_free(diags);
    return code;
}

int cli_load(const cli_call *call, ef_scenario **scenario)
{
    return load(call->operands[0], call->settings, call->setting_count, scenario);
}

int cli_load_other(const char *path, ef_scenario **scenario)
{
    return load(path, NULL, 0, scenario);
}

int cli_lang(const cli_call *call)
{
    const char *tag = cli_value(call, "lang");
    if (!tag || ef_tongue_use(tag) == EF_OK)
        return 0;
    efi_text known = {0};
    for (int i = 0; ef_tongue_tag(i); i++)
        efi_text_addf(&known, "%s%s (%s)", i == 0 ? "" : ", ", ef_tongue_tag(i), ef_tongue_name(i));
    const int code = cli_usage(call->command, "--lang: \"%s\" is none of the languages here: %s", tag,
                               efi_text_get(&known));
    efi_text_free(&known);
    return code;
}

int cli_with_scenario(const cli_call *call, cli_answer *answer)
{
    ef_scenario *scenario = NULL;
    int code = cli_load(call, &scenario);
    if (code != 0)
        return code;
    code = cli_lang(call);
    if (code == 0)
        code = answer(call, scenario);
    ef_scenario_free(scenario);
    return code;
}

int cli_cannot_run(ef_status status, char *reason)
{
    if (status == EF_NO_ANSWER)
        fprintf(stderr, "evenfeed: the line cannot run as described: %s\n",
                reason ? reason : "its demands contradict each other, see evenfeed balance");
    ef_report_free(reason);
    return status == EF_NO_ANSWER ? ef_status_exit_code(status) : cli_fail(status, NULL);
}

int cli_verified(ef_status status, char *differences)
{
    if (status != EF_OK && status != EF_INTERNAL)
        return cli_fail(status, NULL);
    if (status != EF_OK)
        fprintf(stderr, "evenfeed: the verification found differences:\n%s", differences);
    ef_report_free(differences);
    return ef_status_exit_code(status);
}

int cli_crop(const cli_call *call, const ef_scenario *scenario, int *crop)
{
    const char *name = cli_value(call, "crop");
    *crop = -1;
    if (!name)
        return 0;
    *crop = ef_scenario_find_crop(scenario, name);
    if (*crop >= 0)
        return 0;
    efi_text crops = {0};
    for (int i = 0; i < ef_scenario_crops(scenario); i++)
        efi_text_addf(&crops, "%s%s", i ? ", " : "", ef_scenario_crop(scenario, i));
    const int code = cli_usage(call->command, "no crop is called \"%s\"; the scenario has %s", name,
                               efi_text_get(&crops));
    efi_text_free(&crops);
    return code;
}

int cli_units(const cli_call *call, const ef_scenario *scenario, ef_units *units)
{
    static const char *const words[] = {
#define WORD(name, word, meaning) [name] = word,
        EF_UNITS_LIST(WORD)
#undef WORD
    };
    const char *word = cli_value(call, "units");
    *units = (ef_units)scenario->plant->units;
    if (!word)
        return 0;
    for (size_t i = 0; i < EF_COUNT(words); i++) {
        if (strcmp(word, words[i]) == 0) {
            *units = (ef_units)i;
            return 0;
        }
    }
    return cli_usage(call->command, "--units is metric or us, not \"%s\"", word);
}

int cli_duration(const cli_call *call, const char *option, bool *given, double *hours)
{
    const char *text = cli_value(call, option);
    *given = text != NULL;
    if (!text)
        return 0;
    efi_quantity quantity;
    efi_quantity_error error;
    if (!efi_quantity_parse(text, strlen(text), EFI_KIND_SET(EFI_KIND_DURATION), &quantity, &error))
        return cli_usage(call->command, "--%s: \"%s\" %s; write a duration like 15 min", option, text,
                         efi_quantity_fault_words(error.fault));
    if (!(quantity.value > 0.0))
        return cli_usage(call->command, "--%s: \"%s\" is not more than 0; write a duration like 15 min",
                         option, text);
    *hours = quantity.value;
    return 0;
}

int cli_moment(const cli_call *call, const char *option, bool *given, bool *is_day, int64_t *moment_s)
{
    const char *text = cli_value(call, option);
    *given = text != NULL;
    if (!text)
        return 0;
    efi_date_error error;
    int64_t value;
    *is_day = !strpbrk(text, "T:");
    const bool good = *is_day ? efi_date_parse(text, strlen(text), &value, &error)
                              : efi_moment_parse(text, strlen(text), &value, &error);
    if (!good)
        return cli_usage(
            call->command, "--%s: \"%.*s\" %s; write a day like 2026-11-25 or a moment like 2026-11-25T06:30",
            option, (int)(error.end - error.start), text + error.start, efi_date_fault_words(error.fault));
    *moment_s = *is_day ? value * EFI_DAY_S : value;
    return 0;
}

int cli_share(const cli_call *call, const char *option, double *share)
{
    const char *text = cli_value(call, option);
    if (!text)
        return 0;
    efi_quantity quantity;
    efi_quantity_error error;
    if (!efi_quantity_parse(text, strlen(text), EFI_KIND_SET(EFI_KIND_SHARE), &quantity, &error))
        return cli_usage(call->command, "--%s: \"%s\" %s; write a share like 1%%", option, text,
                         efi_quantity_fault_words(error.fault));
    if (!(quantity.value > 0.0 && quantity.value < 1.0))
        return cli_usage(call->command, "--%s is more than 0 and under 100%%, not \"%s\"", option, text);
    *share = quantity.value;
    return 0;
}

int cli_number(const cli_call *call, const char *option, long long least, long long most, long long *value)
{
    const char *text = cli_value(call, option);
    if (!text)
        return 0;
    char *end;
    errno = 0;
    const long long number = strtoll(text, &end, 10);
    if (end == text || *end != '\0' || errno != 0 || number < least || number > most)
        return cli_usage(call->command, "--%s takes a whole number from %lld to %lld, not \"%s\"", option,
                         least, most, text);
    *value = number;
    return 0;
}
