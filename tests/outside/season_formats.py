#!/usr/bin/env python3
# SPDX-License-Identifier: GPL-3.0-or-later
"""Reads what is written of a season by parsers of other people and prints it as JSON.

    season_formats.py ics FILE    by icalendar (Debian: python3-icalendar, the package of the collective project):
                                  a list of events; ends with 77 when it is not there
    season_formats.py csv FILE    by Python's csv in strict mode: a list of rows
    season_formats.py semicolon FILE   the same, semicolons between the cells
    season_formats.py json FILE   by Python's json: the document
"""
import csv
import json
import sys


def events_of(path):
    try:
        import icalendar
    except ImportError:
        sys.exit(77)
    with open(path, "rb") as file:
        calendar = icalendar.Calendar.from_ical(file.read())
    problems = list(calendar.errors)
    events = []
    for event in calendar.walk("VEVENT"):
        problems += event.errors
        start = event.decoded("DTSTART")
        end = event.decoded("DTEND") if "DTEND" in event else None
        categories = event.get("CATEGORIES")
        events.append({
            "uid": str(event["UID"]),
            "stamp": event.decoded("DTSTAMP").isoformat(),
            "start": start.isoformat(),
            "end": end.isoformat() if end else None,
            "summary": str(event["SUMMARY"]),
            "description": str(event["DESCRIPTION"]),
            "location": str(event.get("LOCATION", "")),
            "categories": [str(one) for one in categories.cats] if categories else [],
        })
    others = [part.name for part in calendar.walk() if part.name not in ("VCALENDAR", "VEVENT")]
    return {"version": str(calendar["VERSION"]), "product": str(calendar["PRODID"]), "problems": problems,
            "others": others, "events": events}


def refuse(word):
    raise ValueError("not JSON: " + word)


def main():
    kind, path = sys.argv[1:]
    if kind == "ics":
        found = events_of(path)
    elif kind in ("csv", "semicolon"):
        with open(path, encoding="utf-8", newline="") as file:
            found = list(csv.reader(file, delimiter="," if kind == "csv" else ";", strict=True))
    else:
        with open(path, encoding="utf-8") as file:
            found = json.load(file, parse_constant=refuse)
    json.dump(found, sys.stdout)


main()
