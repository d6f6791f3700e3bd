/* SPDX-License-Identifier: GPL-3.0-or-later */
#include <evenfeed/status.h>

#include <stddef.h>

static const struct {
    int exit_code;
    const char *words;
} statuses[] = {
#define ROW(name, code, words) [name] = {code, words},
    EF_STATUS_LIST(ROW)
#undef ROW
};

const char *ef_status_text(ef_status status)
{
    if ((size_t)status >= sizeof statuses / sizeof statuses[0])
        return "unknown status";
    return statuses[status].words;
}

int ef_status_exit_code(ef_status status)
{
    if ((size_t)status >= sizeof statuses / sizeof statuses[0])
        return 5;
    return statuses[status].exit_code;
}
