#!/usr/bin/env python3
"""Reads an iCalendar file with a general-purpose reader (icalendar from PyPI) and says as JSON what it finds.

    python3 -m venv venv && venv/bin/pip install icalendar
    trug calendar > calendar.ics
    venv/bin/python tests/outside/read_calendar.py calendar.ics

Checked with icalendar 7.3.2 and Python 3.11. Ends with 3 where icalendar is not installed, with 1 where the file breaks a
rule of RFC 5545: lines of at most 75 octets that end in CRLF, UID and DTSTAMP in every event, no UID twice, an end
that is not before its start.
"""

import datetime
import json
import sys

try:
    import icalendar
except ImportError:
    print("icalendar is not installed", file=sys.stderr)
    sys.exit(3)


def moment(value):
    if isinstance(value, datetime.datetime):
        return value.astimezone(datetime.timezone.utc).strftime("%Y-%m-%dT%H:%M:%SZ")
    return value.isoformat()


def alarm(component):
    trigger = component["TRIGGER"]
    return {"seconds": int(trigger.dt.total_seconds()), "related": trigger.params.get("RELATED", "START")}


def event(component):
    return {
        "uid": str(component["UID"]),
        "stamp": moment(component.decoded("DTSTAMP")),
        "start": moment(component.decoded("DTSTART")),
        "end": moment(component.decoded("DTEND")),
        "summary": str(component["SUMMARY"]),
        "location": str(component.get("LOCATION", "")),
        "description": str(component.get("DESCRIPTION", "")),
        "status": str(component["STATUS"]),
        "sequence": int(component["SEQUENCE"]),
        "categories": [str(name) for name in component["CATEGORIES"].cats],
        "alarms": [alarm(part) for part in component.walk("VALARM")],
    }


def broken_rules(raw, calendar, events):
    lines = raw.split(b"\r\n")
    if lines[-1] != b"" or b"\n" in b"".join(lines) or b"\r" in b"".join(lines):
        yield "a line does not end in CRLF"
    if any(len(line) > 75 for line in lines):
        yield "a line is longer than 75 octets"
    if len({found["uid"] for found in events}) != len(events):
        yield "a UID stands twice"
    for component in calendar.walk():
        yield from (f"{component.name}: {error}" for error in getattr(component, "errors", []))
    for found in events:
        if found["end"] < found["start"]:
            yield f"{found['uid']} ends before it starts"


def main():
    with open(sys.argv[1], "rb") as file:
        raw = file.read()
    calendar = icalendar.Calendar.from_ical(raw)
    events = [event(component) for component in calendar.walk("VEVENT")]
    broken = list(broken_rules(raw, calendar, events))
    json.dump({"reader": icalendar.__version__, "name": str(calendar.get("NAME", "")), "events": events},
              sys.stdout, ensure_ascii=True, indent=1)
    print()
    for rule in broken:
        print(rule, file=sys.stderr)
    sys.exit(1 if broken else 0)


if __name__ == "__main__":
    main()
