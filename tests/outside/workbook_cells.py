#!/usr/bin/env python3
# SPDX-License-Identifier: GPL-3.0-or-later
"""Reads a workbook by openpyxl (Debian: python3-openpyxl) and prints it as JSON; ends with 77 without that package.

    workbook_cells.py FILE    {sheet: {"rows": [[cell, ...], ...], "formats": [[format, ...], ...], "charts": number}}; dates as ISO 8601
"""
import json
import sys

try:
    import openpyxl
except ImportError:
    sys.exit(77)

book = openpyxl.load_workbook(sys.argv[1])
json.dump({
    sheet.title: {
        "rows": [list(row) for row in sheet.iter_rows(values_only=True)],
        "formats": [[cell.number_format for cell in row] for row in sheet.iter_rows()],
        "charts": len(sheet._charts),
    } for sheet in book
}, sys.stdout, default=lambda moment: moment.isoformat())
