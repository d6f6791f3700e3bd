#!/usr/bin/env python3
# SPDX-License-Identifier: GPL-3.0-or-later
"""JSON against the published schemas, by a validator of other people: jsonschema (Debian: python3-jsonschema),
draft 2020-12. Ends with 77 when it is not there. What is wrong goes to standard error, one line each.

    json_schemas.py schemas FOLDER          each is a schema, strict, with a description and a unit for every number
    json_schemas.py valid FOLDER FILE...    each document meets the schema that it names
    json_schemas.py spoilt FOLDER FILE...   no document does after one key was left out or misnamed, or one number
                                            became a text: tried at every place of the documents

The last two print how many documents were read for each schema, `spoilt` also how many it spoilt, as JSON.
"""
import collections
import copy
import json
import os
import re
import sys

try:
    import jsonschema
except ImportError:
    sys.exit(77)

# Members that a document may lack, with what holds them: each stands for something that is not there, as
# docs/files.md says. Those that come and go together are not here: one alone is a mistake.
MAY_LACK = {
    "balance": {"stations/capacity_place", "crops/wanted_made_tph"},
    "bins": {"bins/reason", "bins/steel"},
    "shift": {"shifts/date"},
    "shift-comparison": {"shifts/date"},
    "shift-lots": {"from"},
    "learn": {"stops/place", "between/scenario", "lasts/scenario", "scales/capacity_tph"},
    "season": set(),
    "when": set(),
    "order": set(),
}
UNITS = re.compile(r"(^|[\s(/])(t/h|m3/h|m3|m2|m|mm|t/m3|t|h|min|days?|degrees|kW|kWh|money|people|US bushels|share of 1|"
                   r"count|ratio|number without unit|in the unit that the key names|from [01]|of the random numbers)\b")
ARRAY = 3  # of an array so many entries are kept where documents are spoilt


def load(path):
    with open(path, encoding="utf-8") as file:
        return json.load(file)


def schemas_of(folder):
    return {name: load(os.path.join(folder, name)) for name in sorted(os.listdir(folder)) if name.endswith(".json")}


def nodes_of(node):
    """Every schema within a schema."""
    if isinstance(node, dict):
        yield node
        for value in node.values():
            yield from nodes_of(value)
    elif isinstance(node, list):
        for value in node:
            yield from nodes_of(value)


def complaints_about(name, schema):
    if schema.get("$schema") != "https://json-schema.org/draft/2020-12/schema":
        yield "another draft"
    if schema.get("$id") != name:
        yield "another $id"
    for node in nodes_of(schema):
        kind = node.get("type")
        if not isinstance(kind, (str, list)):
            continue
        kinds = [kind] if isinstance(kind, str) else kind
        words = node.get("description", "")
        if "object" in kinds and node.get("additionalProperties", True) is True:
            yield "an object with any keys: " + words
        if "object" in kinds and "properties" in node and not node.get("required") and "anyOf" not in node:
            yield "an object without required keys: " + words
        if ("number" in kinds or "integer" in kinds) and not UNITS.search(words):
            yield "a number without a unit: " + (words or json.dumps(node))


def check_schemas(folder):
    found = schemas_of(folder)
    problems = []
    for name, schema in found.items():
        try:
            jsonschema.Draft202012Validator.check_schema(schema)
        except jsonschema.exceptions.SchemaError as error:
            problems.append(name + ": " + error.message)
        problems += [name + ": " + one for one in complaints_about(name, schema)]
    for outer, key in (("shift-comparison", "shift"), ("when", "season")):
        inner = found[key + ".schema.json"]
        copied = found[outer + ".schema.json"]["$defs"]
        for part in ("required", "properties", "additionalProperties"):
            if copied[key][part] != inner[part]:
                problems.append("%s: %s is not as in %s" % (outer, part, key))
        for part, value in inner["$defs"].items():
            if copied.get(part) != value:
                problems.append("%s: %s is not as in %s" % (outer, part, key))
    return problems, {"schemas": len(found)}


def read_all(folder, paths):
    validators = {name: jsonschema.Draft202012Validator(schema) for name, schema in schemas_of(folder).items()}
    for path in paths:
        document = load(path)
        yield path, document, document["schema"], validators[document["schema"]]


def check_valid(folder, paths):
    problems = []
    counts = collections.Counter()
    for path, document, name, validator in read_all(folder, paths):
        counts[name] += 1
        for error in validator.iter_errors(document):
            where = "/".join(str(one) for one in error.absolute_path)
            problems.append("%s: %s: %s" % (os.path.basename(path), where, error.message[:200]))
    return problems, counts


def shortened(node):
    if isinstance(node, dict):
        return {key: shortened(value) for key, value in node.items()}
    if isinstance(node, list):
        return [shortened(value) for value in node[:ARRAY]]
    return node


def places_of(node, path=()):
    """Path of every member of every object."""
    if isinstance(node, dict):
        for key, value in node.items():
            yield path + (key,)
            yield from places_of(value, path + (key,))
    elif isinstance(node, list):
        for number, value in enumerate(node):
            yield from places_of(value, path + (number,))


def spoilt_at(document, path):
    """How one member can be spoilt, with the document that results."""
    def again():
        whole = copy.deepcopy(document)
        parent = whole
        for step in path[:-1]:
            parent = parent[step]
        return whole, parent
    key = path[-1]
    of_material = len(path) > 1 and path[-2] == "material_tph"
    whole, parent = again()
    value = parent[key]
    if isinstance(value, (int, float)) and not isinstance(value, bool):
        parent[key] = str(value)
        yield "text", whole
    if isinstance(value, list) and value and isinstance(value[0], (int, float)):
        parent[key] = [str(value[0])] + value[1:]
        yield "text", whole
    if of_material:  # the keys are names of the scenario
        return
    whole, parent = again()
    parent[key + "_"] = parent.pop(key)
    yield "misnamed", whole
    whole, parent = again()
    del parent[key]
    yield "left out", whole


def is_optional(name, place):
    holders = [step for step in place if isinstance(step, str)]
    return "/".join(holders[-2:]) in MAY_LACK[name.split(".")[0]]


def check_spoilt(folder, paths):
    problems = []
    counts = collections.Counter()
    seen = set()
    for path, document, name, validator in read_all(folder, sorted(paths, key=os.path.getsize)):
        counts[name] += 1
        document = shortened(document)
        for error in validator.iter_errors(document):
            problems.append("%s: shortened: %s" % (path, error.message[:200]))
        for place in places_of(document):
            sort = (name,) + tuple("*" if isinstance(step, int) else step for step in place)
            if sort in seen:
                continue
            seen.add(sort)
            for how, whole in spoilt_at(document, place):
                if how == "left out" and is_optional(name, place):
                    continue
                counts[name + " " + how] += 1
                if validator.is_valid(whole):
                    problems.append("%s: %s is %s, and nobody minds" % (name, "/".join(str(s) for s in place), how))
    return problems, counts


def main():
    what, folder, *paths = sys.argv[1:]
    if what == "schemas":
        problems, counts = check_schemas(folder)
    elif what == "valid":
        problems, counts = check_valid(folder, paths)
    else:
        problems, counts = check_spoilt(folder, paths)
    for problem in problems[:40]:
        print(problem, file=sys.stderr)
    json.dump(counts, sys.stdout)
    sys.exit(1 if problems else 0)


main()
