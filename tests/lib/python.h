/* SPDX-License-Identifier: GPL-3.0-or-later
 * Scripts of tests/outside run by Python, for checks against packages that are not ours. */
#ifndef TESTS_PYTHON_H
#define TESTS_PYTHON_H

#include <jansson.h>

/*
 * The JSON that a script prints, run with these arguments (the first is the script, NULL closes them), from
 * the top of the repository. NULL when there is no Python, or none with its package (exit code 77 of the
 * script); fails the running test with what the script complains of. The caller frees with json_decref.
 */
json_t *python_json(const char *const *arguments);

#endif
