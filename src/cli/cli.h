/* SPDX-License-Identifier: GPL-3.0-or-later
 * What the commands of the program share: option tables, parsed calls, output and its checks. */
#ifndef EF_CLI_H
#define EF_CLI_H

#include "base/text.h"

#include <evenfeed/diag.h>
#include <evenfeed/picture.h>
#include <evenfeed/scenario.h>
#include <evenfeed/season.h>
#include <evenfeed/status.h>
#include <evenfeed/units.h>
#include <stdbool.h>
#include <stdint.h>

/* One option; `argument` NULL means a switch. The table ends with a NULL name. */
typedef struct cli_option {
    const char *name;     /* without the dashes */
    const char *argument; /* "NAME", "FILE" ... */
    const char *meaning;  /* one sentence, no full stop */
} cli_option;

enum {
    CLI_MOST_OPTIONS = 28,
    CLI_MOST_SETTINGS = 1000,
    CLI_MOST_SETTING_FILES = 20
};

/* The option of every command that reads a scenario; the only one that may be given several times. */
#define CLI_SET_OPTION                                                                                       \
    {                                                                                                        \
        "set", "PATH=VALUE",                                                                                 \
            "change one value of the scenario for this run, say \"stations.Deck.capacity=8 t/h\"; may be "   \
            "given several times; @FILE takes them from a file, one a line"                                  \
    }

/* The option of every command that prints for people. */
#define CLI_LANG_OPTION                                                                                      \
    {                                                                                                        \
        "lang", "TAG", "language of what is printed for people: en or de. JSON and CSV are the same in all"  \
    }

typedef struct cli_command cli_command;

/* A parsed call of a command. */
typedef struct cli_call {
    const cli_command *command;
    const char
        *value[CLI_MOST_OPTIONS]; /* by position in the option table; NULL when not given; "" for a switch */
    const char *const *operands;
    int operand_count;
    const char *settings[CLI_MOST_SETTINGS]; /* values of --set, in order */
    int setting_count;
    char *setting_text[CLI_MOST_SETTING_FILES]; /* files of settings, to which some of `settings` point */
    int setting_texts;
} cli_call;

/* One command: its table drives parsing, help and the man page. */
struct cli_command {
    const char *name;
    const char *operands; /* "FILE"; "" for none */
    int least_operands, most_operands;
    const char *summary; /* one line, no full stop */
    const char *about;   /* a paragraph */
    const cli_option *options;
    const char *example; /* arguments of an example call */
    int (*run)(const cli_call *call);
    bool hidden;
};

extern const cli_command cli_check;
extern const cli_command cli_balance;
extern const cli_command cli_trace;
extern const cli_command cli_shift;
extern const cli_command cli_bins;
extern const cli_command cli_order;
extern const cli_command cli_report;
extern const cli_command cli_season;
extern const cli_command cli_when;
extern const cli_command cli_learn;
extern const cli_command cli_language;
extern const cli_command cli_manpage;

/* All commands, closed by NULL. */
extern const cli_command *const cli_commands[];

/* Adds the call as somebody would type it in a shell, "evenfeed report plant.yaml --seed 2". */
void cli_call_words(const cli_call *call, efi_text *out);

/* Value of an option of this call, NULL when it was not given. The name must be in the command's table. */
const char *cli_value(const cli_call *call, const char *option);

/* Help of the program and of one command, and the whole man page, as text; NULL without memory. Free with
 * free(). */
char *cli_help_text(void);
char *cli_command_help_text(const cli_command *command);
char *cli_manpage_text(void);

/* One line about a wrong call, and where to read on; returns the exit code. */
int cli_usage(const cli_command *command, const char *format, ...) __attribute__((format(printf, 2, 3)));

/* Prints `text` on standard output, checking the write, and frees nothing. Returns `exit_code`, or 4 when it
 * could not be written. */
int cli_print(const char *text, int exit_code);

/* One line on standard error about a status, with the file it concerns or NULL; returns the exit code. */
int cli_fail(ef_status status, const char *file);

/* Prints findings on standard error, nothing when there are none. Returns 0 or the exit code. */
int cli_print_findings(const ef_diags *diags);

/* Loads the scenario that is the first operand of a call, with its settings, printing findings on standard
 * error. Returns 0, or the exit code with nothing to free. */
int cli_load(const cli_call *call, ef_scenario **scenario);

/* The same for a second scenario, as its file says. */
int cli_load_other(const char *path, ef_scenario **scenario);

/* From here on reports speak the language that --lang names. Returns 0 or the exit code. */
int cli_lang(const cli_call *call);

/* Loads the scenario of a call, answers about it, frees it. Returns the exit code. */
typedef int cli_answer(const cli_call *call, const ef_scenario *scenario);
int cli_with_scenario(const cli_call *call, cli_answer *answer);

/* One line about a line that could not be simulated, with the reason (NULL: the steady balance), which is
 * freed; returns the exit code. `status` is not EF_OK. */
int cli_cannot_run(ef_status status, char *reason);

/* What a verification found, which is freed; nothing is printed when all agrees. Returns the exit code. */
int cli_verified(ef_status status, char *differences);

/* The crop that --crop names, -1 for all when it is not given. Returns 0 or the exit code. */
int cli_crop(const cli_call *call, const ef_scenario *scenario, int *crop);

/* The units that --units names, else the scenario's. Returns 0 or the exit code. */
int cli_units(const cli_call *call, const ef_scenario *scenario, ef_units *units);

/* The hours that an option such as --rule gives ("20 min"). Returns 0 or the exit code; *given tells whether
 * it is there. */
int cli_duration(const cli_call *call, const char *option, bool *given, double *hours);

/* Reads an option that takes a day or a moment of the plant's clock, seconds from 1970-01-01T00:00; a day is
 * its beginning. Returns 0 or the exit code. */
int cli_moment(const cli_call *call, const char *option, bool *given, bool *is_day, int64_t *moment_s);

/* A share over 0 and under 1 that an option gives ("1%"); *share is left alone when it is not given. Returns
 * 0 or the exit code. */
int cli_share(const cli_call *call, const char *option, double *share);

/* Whole numbers of an option, from `least` to `most`; *value is left alone when it is not given. Returns 0 or
 * the exit code. */
int cli_number(const cli_call *call, const char *option, long long least, long long most, long long *value);

/* A number of an option, from `least` to `most`; *value is left alone when it is not given. Returns 0 or the
 * exit code. */
int cli_amount(const cli_call *call, const char *option, double least, double most, double *value);

/* From now on an interruption or termination is noted instead of ending the program. */
void cli_catch_signals(void);
bool cli_interrupted(void);

/* A search: how long it may last, and what its options say. */
typedef struct cli_search {
    double began_s;
    double seconds;  /* 0: no limit */
    long long steps; /* 0: no limit */
    long long seed;
    long long threads; /* 0: as many as there are processors */
    bool shown;        /* progress: standard error is a terminal */
} cli_search;

/* Begins one: signals are noted, the clock runs. Seed 1, no limits. */
cli_search cli_search_begin(void);

/* Reads --seed and --threads. Returns 0 or the exit code. */
int cli_search_read(const cli_call *call, cli_search *search);

/* Is there time left, are there steps left, and has nobody interrupted it? */
bool cli_search_goes_on(const cli_search *search, uint64_t steps);
double cli_search_lasted_s(const cli_search *search);
double cli_now_s(void);

/* Reads the plan of a season that --plan names, with what is wrong with it on standard error; NULL when it is
 * not given. Returns 0 or the exit code. */
int cli_read_plan(const cli_call *call, const ef_scenario *scenario, ef_season_plan **plan);

/* Takes the line of progress off the terminal. */
void cli_search_clear(const cli_search *search);

/* Adds the settings of a file to a call: one a line as for --set, empty lines and those that begin with #
 * left out. Returns 0 or the exit code. The file's text is freed with the call. */
int cli_settings_from(cli_call *call, const char *path);
void cli_call_free(cli_call *call);

/* Writes a text to a file, all of it or nothing; an existing one is refused unless `force` is set. Returns 0
 * or the exit code. */
int cli_write_file(const char *path, const char *text, bool force);

/* The picture that --picture and --svg ask for, the first of the answer when --svg stands alone, NULL when
 * neither is given. Returns 0 or the exit code. */
int cli_picture(const cli_call *call, ef_picture_answer answer, const ef_picture **picture);

/* Draws a picture (NULL: none) into the file of --svg: the part called `asked`, NULL where there is one
 * alone. Returns 0 or the exit code, with a line on standard error. */
int cli_draw(const cli_call *call, const ef_picture *picture, const ef_picture_source *source, ef_units units,
             const char *asked);

/* One file of a folder of results. */
typedef struct cli_file {
    const char *name;
    const char *text;                                          /* NULL: `write` makes the file */
    ef_status (*write)(const void *context, const char *path); /* EF_OK, EF_FILE with errno, EF_MEMORY */
    const void *context;
} cli_file;

/* Writes all files into a folder, or none: they are written beside their place and renamed. A folder that is
 * not there is made; in one that is, other files stay, and files of these names are refused unless `force` is
 * set, which replaces them. Returns 0 or the exit code. */
int cli_write_folder(const char *path, const cli_file *files, int count, bool force);

/* The option of every command that writes CSV. */
#define CLI_COMMA_OPTION                                                                                     \
    {                                                                                                        \
        "decimal-comma", NULL,                                                                               \
            "write tables with decimal commas and semicolons, as spreadsheets of many languages have them"   \
    }

/* Refuses that option where no table is written. Returns 0 or the exit code. */
int cli_check_comma(const cli_call *call, bool writes_tables);

/* The tables of an answer: the name of a file, from 0 on, NULL behind the last; and what stands in it. */
typedef const char *cli_table_name(int index);
typedef ef_status cli_table_maker(const void *answer, int index, char **text);

/* Writes them all into the folder that --csv names, as cli_write_folder does. Returns 0 or the exit code. */
int cli_write_tables(const cli_call *call, cli_table_name *name, cli_table_maker *make, const void *answer);

/* Puts a table, when it was `made`, into the form that the option asks for. Returns `made` or EF_MEMORY,
 * when `*table` is freed and NULL. */
ef_status cli_table(const cli_call *call, ef_status made, char **table);

#endif
