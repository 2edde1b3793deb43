"""Reads the tables and calendars that shedbook writes with other people's readers, and holds every value to the same command's --json.

usage: second_reader.py SHEDBOOK BOOK

Python's csv (RFC 4180) reads export --csv, the icalendar package (RFC 5545) reads calendar. Whatever differs is printed, and the exit is 1.
"""
import csv
import io
import json
import subprocess
import sys

import icalendar

program, book = sys.argv[1:3]
before = "2027-03-01"
wrong = 0


def run(*args):
    return subprocess.run([program, *args, "--book", book], check=True, capture_output=True).stdout.decode("utf-8")


def read(*args):
    return json.loads(run(*args, "--json"))


def text(s):
    """A text as a cell: what a spreadsheet would take for a formula has a ' in front."""
    s = s or ""
    return "'" + s if s[:1] in "=+-@\t\r" and s else s


def row(*cells):
    return [" ".join(c) if isinstance(c, list) else text(c) for c in cells]


def amount(v):
    return (v.get("value", ""), v.get("unit", "")) if isinstance(v, dict) else (text(v), "")


def entries():
    for e in read("history", "--all")["entries"]:
        yield row(e.get("done"), e["at"], e.get("machine"), e["kind"], e["person"], e["sentence"], e["fate"]["state"], e["id"])


def due():
    for i in read("due")["items"]:
        d, o = i.get("due", {}), i.get("over", {})
        head = row(i["farm"], i["yard"], i["machine"], i.get("job"), i["positions"], i["state"], i["severity"], i["cause"], d.get("date"), d.get("counter"))
        tail = row(o.get("unit"), i.get("last", {}).get("done"), i["why"], i["entries"])
        yield head + [d.get("value", ""), d.get("unit", ""), o.get("value", "")] + tail


def prepare():
    p = read("prepare", "--before", before)
    for n in p["parts"]:
        counts = [str(n[k]) for k in ("count", "shelf", "buy")]
        yield row("part", "", n.get("kind"), n["part"], "", n.get("hand")) + counts + row(n.get("order_by"), "", "", "", "", n["entries"])
    for w in p["work"]:
        head = row("work", w["yard"], w["machine"], w.get("job") or w["title"], w["positions"], "", "", "", "", "")
        yield head + [w.get("minutes", "")] + row(w.get("who"), w["state"], w["why"], w["entries"])


def state():
    for m in read("machine", "list")["machines"]:
        if m.get("sold"):
            continue
        v = read("show", m["name"])

        def line(what, name, at, hand, value, since, assumed, ids):
            return row(v["name"], what, name, at, hand) + list(value) + row(since, "assumed" if assumed else "", ids)

        for x in v["counters"]:
            if x["known"]:
                yield line("counter", x["counter"], [], "", amount(x["reading"]), x.get("read_on"), False, x["entries"])
        for x in v["settings"]:
            if x.get("value"):
                yield line("setting", x["setting"], x["positions"], "", amount(x["value"]), x.get("since"), x.get("assumed"), x["entries"])
        for x in v["readings"]:
            value = x.get("left") or x.get("found")
            if value:
                yield line("reading", x["reading"], x["positions"], x.get("hand"), amount(value), x.get("done"), x.get("assumed"), x["entries"])
        for x in v["parts"]:
            for u in x.get("use") or []:
                yield line("use of " + x["part"], u["counter"], x["positions"], x.get("hand"), amount(u), x.get("since"), x.get("assumed"), x["entries"])
        for x in v["jobs"]:
            if x.get("done") and not x.get("skipped"):
                yield line("job", x["job"], x["positions"], "", (text(x.get("result")), ""), x["done"], x.get("assumed"), x["entries"])
        for x in v["faults"]:
            if x["open"]:
                yield line("open fault", x["severity"], x["positions"], "", (text(x.get("text")), ""), x["done"], False, [x["id"]])


def differ(what, got, want):
    global wrong
    if len(got) != len(want):
        print(f"{what}: {len(got)} there, {len(want)} in --json")
        wrong += 1
    for i, (g, w) in enumerate(zip(got, want)):
        if g != w and wrong < 20:
            print(f"{what}, {i + 1}:\n  read  {g}\n  --json {w}")
        wrong += g != w
    print(f"{what}: {len(got)} compared")
    if not got:
        raise SystemExit(f"{what}: nothing to compare")


for name, expected, more in ("entries", entries, ()), ("state", state, ()), ("due", due, ()), ("prepare", prepare, ("--before", before)):
    raw = run("export", "--csv", name, "-", *more)
    rows = list(csv.reader(io.StringIO(raw, newline=""), strict=True))
    if {len(r) for r in rows} != {len(rows[0])} or "\n" in raw.replace("\r\n", "") and name != "entries":
        raise SystemExit(f"{name}: rows of different lengths or bare line ends")
    differ(name, rows[1:], list(expected()))

for todos in (), ("--to-dos",):
    said = read("calendar", *todos)
    calendar = icalendar.Calendar.from_ical(run("calendar", *todos))
    kind, when = ("VTODO", "DUE") if todos else ("VEVENT", "DTSTART")
    found = [(str(e["UID"]), e[when].dt.isoformat(), str(e["SUMMARY"]), str(e["DESCRIPTION"]), str(e["LOCATION"]), [str(c) for c in e["CATEGORIES"].cats]) for e in calendar.walk(kind)]
    rules = str(found[0][3]).split("\n")[-1]
    if "manual rules" not in rules:
        raise SystemExit("calendar: no word that the manual rules")
    differ("calendar " + kind, found, [(d["uid"], d["day"], d["summary"], d["why"] + "\n" + rules, d["yard"], [d["machine"], d["state"]]) for d in said["days"]])

raise SystemExit(1 if wrong else 0)
