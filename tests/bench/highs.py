# SPDX-License-Identifier: GPL-3.0-or-later
# Solves a linear or mixed-integer program in free MPS, as the library writes it, with the HiGHS inside SciPy, and prints
# `seconds objective`: processor time of the solve alone, without reading.
#   python3 tests/bench/highs.py FILE
import sys
import time

import numpy
import scipy.optimize
import scipy.sparse


def read(path):
    section = ""
    sense, rows, columns, cost = {}, {}, {}, {}
    entry, right, spread = [], {}, {}
    lower, upper = {}, {}
    objective = None
    whole, marked = set(), False
    for line in open(path):
        if line.startswith("*") or not line.strip():
            continue
        if not line[0].isspace():
            section = line.split()[0]
            continue
        word = line.split()
        if section == "ROWS":
            if word[0] == "N":
                objective = objective or word[1]
            else:
                rows[word[1]] = len(rows)
                sense[word[1]] = word[0]
        elif section == "COLUMNS" and "'MARKER'" in line:
            marked = "'INTORG'" in line
        elif section == "COLUMNS":
            column = columns.setdefault(word[0], len(columns))
            if marked:
                whole.add(column)
            for name, value in zip(word[1::2], word[2::2]):
                if name == objective:
                    cost[column] = float(value)
                elif name in rows:
                    entry.append((rows[name], column, float(value)))
        elif section == "RHS":
            for name, value in zip(word[1::2], word[2::2]):
                right[name] = float(value)
        elif section == "RANGES":
            for name, value in zip(word[1::2], word[2::2]):
                spread[name] = float(value)
        elif section == "BOUNDS":
            column = columns[word[2]]
            value = float(word[3]) if len(word) > 3 else None
            if word[0] in ("UP", "FX"):
                upper[column] = value
            if word[0] in ("LO", "FX"):
                lower[column] = value
            if word[0] in ("MI", "FR"):
                lower[column] = -numpy.inf
    return sense, rows, columns, cost, entry, right, spread, lower, upper, whole


def main():
    sense, rows, columns, cost, entry, right, spread, lower, upper, whole = read(sys.argv[1])
    if spread:
        sys.exit("highs.py: rows with two bounds are not read")
    count = len(columns)
    matrix = scipy.sparse.csr_matrix(
        ([e[2] for e in entry], ([e[0] for e in entry], [e[1] for e in entry])), shape=(len(rows), count))
    names = list(rows)
    equal = [i for i, n in enumerate(names) if sense[n] == "E"]
    most = [i for i, n in enumerate(names) if sense[n] == "L"]
    least = [i for i, n in enumerate(names) if sense[n] == "G"]
    b = numpy.array([right.get(n, 0.0) for n in names])
    c = numpy.array([cost.get(j, 0.0) for j in range(count)])
    bounds = [(lower.get(j, 0.0), upper.get(j)) for j in range(count)]
    bounded = scipy.sparse.vstack([matrix[most], -matrix[least]])
    started = time.process_time()
    result = scipy.optimize.linprog(c, bounded, numpy.concatenate([b[most], -b[least]]), matrix[equal], b[equal],
                                    bounds, method="highs",
                                    integrality=[1 if j in whole else 0 for j in range(count)] if whole else None)
    seconds = time.process_time() - started
    if result.status != 0:
        sys.exit("highs.py: " + result.message)
    print(seconds, repr(float(result.fun)))


main()
