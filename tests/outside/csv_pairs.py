#!/usr/bin/env python3
# SPDX-License-Identifier: GPL-3.0-or-later
"""Compares tables that were written twice, as Python's csv reads them in strict mode.

    csv_pairs.py POINTS COMMAS   two folders: the same files, with decimal points and with decimal commas

Prints how many files, and how many numbers with decimals, as JSON; what differs goes to standard error.
"""
import csv
import json
import os
import re
import sys

NUMBER = re.compile(r"-?[0-9]+\.[0-9]+(e-?[0-9]+)?$")


def rows_of(path, separator):
    with open(path, encoding="utf-8", newline="") as file:
        return list(csv.reader(file, delimiter=separator, strict=True))


def main():
    points, commas = sys.argv[1:]
    names = sorted(name for name in os.listdir(points) if name.endswith(".csv"))
    problems = []
    numbers = 0
    if names != sorted(name for name in os.listdir(commas) if name.endswith(".csv")):
        problems.append("other files")
    for name in names:
        before = rows_of(os.path.join(points, name), ",")
        after = rows_of(os.path.join(commas, name), ";")
        if [len(row) for row in before] != [len(row) for row in after]:
            problems.append(name + ": other rows")
        if len({len(row) for row in before}) != 1:
            problems.append(name + ": rows of several lengths")
        for row, other in zip(before, after):
            for cell, found in zip(row, other):
                is_number = bool(NUMBER.match(cell))
                numbers += is_number
                if found != (cell.replace(".", ",") if is_number else cell):
                    problems.append("%s: %r became %r" % (name, cell, found))
    for problem in problems[:20]:
        print(problem, file=sys.stderr)
    json.dump({"files": len(names), "numbers": numbers}, sys.stdout)
    sys.exit(1 if problems else 0)


main()
