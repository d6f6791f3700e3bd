/* SPDX-License-Identifier: GPL-3.0-or-later
 * Writing a file: all of it or nothing. */
#ifndef EFI_FILE_H
#define EFI_FILE_H

#include <evenfeed/status.h>
#include <stdbool.h>
#include <stddef.h>

/*
 * Writes `length` bytes to the file `path`, by a new file beside it that takes its name when it is whole, so
 * that nothing is lost or half written. An existing file is replaced only with `force`. EF_OK; EF_FILE with
 * errno set (EEXIST: it is there already); EF_MEMORY. Any thread.
 */
ef_status efi_file_put(const char *path, const char *bytes, size_t length, bool force);

#endif
