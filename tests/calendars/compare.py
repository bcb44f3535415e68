"""Compares the instances of made-up calendars with a general-purpose library.

Reference: recurring-ical-events 3.8.2 on icalendar 7.3.2 and python-dateutil 2.9.0 (PyPI). A seeded
generator makes calendars; `expand_calendar` (examples/) and the reference each read every one of
them, and the starts, the minutes and what is cancelled are compared.

Two differences are told apart and counted on their own, since RFC 5545 is followed and the reference
does not follow it: with DTEND every instance has the same exact duration (3.8.5.3), while the
reference adds local times; and two instances of a day are never taken for each other (`confused`).
A rule that gives no date at all is refused, while the reference gives DTSTART alone (3.8.5.3 leaves
that open).

Use: python compare.py EXPAND_CALENDAR [CALENDARS] [SEED]
"""

import datetime as dt
import random
import subprocess
import sys
import tempfile
from collections import Counter
from pathlib import Path
from zoneinfo import ZoneInfo

import icalendar
import recurring_ical_events

UTC = dt.timezone.utc
ZONES = ["Europe/Copenhagen", "America/New_York", "Australia/Lord_Howe", "Pacific/Apia"]
HOME = "Europe/Copenhagen"
DAYS = ["MO", "TU", "WE", "TH", "FR", "SA", "SU"]
# Days around which clocks change, in these zones, and one on which Apia lost a day.
CHANGES = [
    dt.date(2026, 3, 29), dt.date(2026, 10, 25), dt.date(2026, 3, 8), dt.date(2026, 11, 1),
    dt.date(2026, 4, 5), dt.date(2026, 10, 4), dt.date(2011, 12, 30), dt.date(2020, 9, 27),
]


class Made:
    """One made-up calendar: its text, and what the comparison has to know about it."""

    def __init__(self, number, rng):
        self.rng = rng
        self.uid = f"event-{number}@club.example"
        self.kind = rng.choices(["zoned", "utc", "floating", "date"], [70, 8, 10, 12])[0]
        self.zone = rng.choice(ZONES) if self.kind == "zoned" else HOME
        near = rng.choice(CHANGES) + dt.timedelta(days=rng.choice([-7, -1, 0, rng.randint(-40, 20), rng.randint(-40, 20)]))
        hour = rng.choice([0, 1, 1, 1, 2, 2, 2, 2, 3, 7, 17, 18, 23])
        self.start = dt.datetime.combine(near, dt.time(hour, rng.choice([0, 15, 30, 30, 45])))
        if self.kind == "date":
            self.start = dt.datetime.combine(near, dt.time())
        self.features = Counter()
        self.named = []  # Local times in EXDATE and RECURRENCE-ID.
        self.exact = set()  # Minutes that an event of this calendar has whenever it starts.
        self.rule = self.make_rule()
        self.first = near + dt.timedelta(days=rng.choice([-10, -10, 0, 15, 200]))
        self.last = self.first + dt.timedelta(days=rng.choice([20, 60, 200, 900]))

    # How dates and times are said.

    def said(self, wall, name):
        if self.kind == "date":
            return f"{name};VALUE=DATE:{wall:%Y%m%d}"
        if self.kind == "utc":
            return f"{name}:{wall:%Y%m%dT%H%M%S}Z"
        if self.kind == "floating":
            return f"{name}:{wall:%Y%m%dT%H%M%S}"
        return f"{name};TZID={self.zone}:{wall:%Y%m%dT%H%M%S}"

    def instant(self, wall):
        zone = UTC if self.kind == "utc" else ZoneInfo(self.zone)
        return wall.replace(tzinfo=zone).astimezone(UTC)

    # The rule.

    def make_rule(self):
        rng = self.rng
        freq = rng.choice(["DAILY", "DAILY", "WEEKLY", "WEEKLY", "MONTHLY", "MONTHLY", "YEARLY"])
        parts = [f"FREQ={freq}"]
        self.features[freq] += 1
        if rng.random() < 0.4:
            parts.append(f"INTERVAL={rng.randint(2, 5)}")
        if rng.random() < 0.3:
            parts.append(f"WKST={rng.choice(DAYS)}")
        parts += getattr(self, freq.lower())()
        if self.kind != "date" and rng.random() < 0.1:
            parts.append("BYHOUR=" + ",".join(map(str, sorted(rng.sample(range(24), 2)))))
            self.features["BYHOUR"] += 1
        end = rng.random()
        if end < 0.35:
            parts.append(f"COUNT={rng.randint(1, 40)}")
            self.features["COUNT"] += 1
        elif end < 0.75:
            parts.append("UNTIL=" + self.until())
            self.features["UNTIL"] += 1
        rng.shuffle(parts)
        return ";".join(parts)

    def until(self):
        last = self.start + dt.timedelta(days=self.rng.randint(0, 400))
        if self.kind == "date":
            return f"{last:%Y%m%d}"
        if self.kind == "floating":
            return f"{last:%Y%m%dT%H%M%S}"
        return f"{self.instant(last):%Y%m%dT%H%M%SZ}"

    def days(self, most=3):
        return self.rng.sample(DAYS, self.rng.randint(1, most))

    def daily(self):
        kind = self.rng.random()
        if kind < 0.2:
            return ["BYDAY=" + ",".join(self.days(5))]
        if kind < 0.4:
            return [f"BYMONTH={self.start.month},{self.start.month % 12 + 1}"]
        if kind < 0.5:
            return ["BYMONTHDAY=1,15,-1"]
        return []

    def weekly(self):
        if self.rng.random() < 0.3:
            return []
        days = ["BYDAY=" + ",".join(self.days(4))]
        if self.rng.random() < 0.15:
            self.features["BYSETPOS"] += 1
            return [*days, f"BYSETPOS={self.rng.choice([1, -1])}"]
        return days

    def monthly(self):
        rng = self.rng
        kind = rng.random()
        if kind < 0.35:
            self.features["BYDAY ordinal"] += 1
            return ["BYDAY=" + ",".join(f"{rng.choice([1, 2, 3, 4, 5, -1, -2])}{day}" for day in self.days(2))]
        if kind < 0.5:
            return ["BYMONTHDAY=" + ",".join(map(str, rng.sample([1, 2, 13, 28, 29, 30, 31, -1, -3], 2)))]
        if kind < 0.6:
            return ["BYDAY=FR", "BYMONTHDAY=13,14,15,16,17,18,19"]
        if kind < 0.85:
            self.features["BYSETPOS"] += 1
            chosen = ",".join(map(str, rng.sample([1, 2, 3, -1, -2], rng.randint(1, 2))))
            return ["BYDAY=" + ",".join(self.days(5)), f"BYSETPOS={chosen}"]
        return []

    def yearly(self):
        rng = self.rng
        kind = rng.random()
        month = f"BYMONTH={self.start.month},{(self.start.month + 5) % 12 + 1}"
        if kind < 0.2:
            return [month]
        if kind < 0.4:
            self.features["BYDAY ordinal"] += 1
            return [month, f"BYDAY={rng.choice([1, 2, -1])}{rng.choice(DAYS)}"]
        if kind < 0.5:
            self.features["BYDAY ordinal"] += 1
            return [f"BYDAY={rng.choice([1, 20, 52, 53, -1, -10])}{rng.choice(DAYS)}"]
        if kind < 0.6:
            return ["BYYEARDAY=1,100,200,366,-1"]
        if kind < 0.75:
            return [f"BYWEEKNO={rng.choice([1, 20, 44, 52, 53, -1])}", "BYDAY=" + ",".join(self.days(3))]
        if kind < 0.85:
            self.features["BYSETPOS"] += 1
            return [month, "BYDAY=" + ",".join(self.days(5)), f"BYSETPOS={rng.choice([1, 3, -1])}"]
        if kind < 0.9:
            return ["BYMONTH=2", "BYMONTHDAY=29"]
        return []

    # The text.

    def text(self):
        events = [self.master()]
        dates = self.dates()
        rng = self.rng
        for original in rng.sample(dates, min(len(dates), rng.choice([0, 0, 1, 2, 3]))):
            events.append(self.override(original))
        if rng.random() < 0.2:
            rng.shuffle(events)
        lines = ["BEGIN:VCALENDAR", "VERSION:2.0", "PRODID:-//Club//Compare//EN"]
        for event in events:
            lines += ["BEGIN:VEVENT", f"UID:{self.uid}", "DTSTAMP:20260101T000000Z", *event, "END:VEVENT"]
        return "\r\n".join(map(self.folded, [*lines, "END:VCALENDAR", ""]))

    def folded(self, line):
        if len(line) > 40 and self.rng.random() < 0.3:
            cut = self.rng.randint(1, len(line) - 1)
            return line[:cut] + "\r\n " + line[cut:]
        return line

    def length(self, start):
        """DTEND or DURATION of an event, said as either."""
        lines, exact = self.length_and_exact(start)
        self.exact.add(exact)
        return lines

    def length_and_exact(self, start):
        rng = self.rng
        if self.kind == "date":
            days = rng.randint(1, 3)
            if rng.random() < 0.5:
                return [f"DURATION:P{days}D"], None
            return [self.said(start + dt.timedelta(days=days), "DTEND")], None
        minutes = rng.choice([30, 60, 90, 105, 180, 600, 1500])
        if rng.random() < 0.4:
            hours, rest = divmod(minutes, 60)
            return [f"DURATION:PT{hours}H{rest}M"], minutes
        end = start + dt.timedelta(minutes=minutes)
        exact = int((self.instant(end) - self.instant(start)).total_seconds()) // 60
        if exact <= 0:
            return [f"DURATION:PT{minutes}M"], minutes
        return [self.said(end, "DTEND")], exact

    def master(self):
        lines = self.length(self.start)
        lines = [self.said(self.start, "DTSTART"), *lines, f"RRULE:{self.rule}", "SUMMARY:Practice"]
        dates = self.dates()
        rng = self.rng
        if rng.random() < 0.4 and dates:
            gone = rng.sample(dates, min(len(dates), rng.randint(1, 3)))
            self.named += gone
            values = [self.said(one, "EXDATE").rpartition(":") for one in gone]
            lines.append(values[0][0] + ":" + ",".join(value for *_, value in values))
            self.features["EXDATE"] += 1
        if rng.random() < 0.3:
            more = self.start + dt.timedelta(days=rng.randint(1, 90), hours=0 if self.kind == "date" else 3)
            if self.kind != "date" and rng.random() < 0.3:
                minutes = rng.choice([45, 120])
                self.exact.add(minutes)
                name, _, value = self.said(more, "RDATE;VALUE=PERIOD").rpartition(":")
                lines.append(f"{name}:{value}/PT{minutes}M")
                self.features["RDATE PERIOD"] += 1
            else:
                lines.append(self.said(more, "RDATE"))
            self.features["RDATE"] += 1
        return lines

    def override(self, original):
        rng = self.rng
        self.named.append(original)
        lines = [self.said(original, "RECURRENCE-ID"), "SEQUENCE:1"]
        kind = rng.random()
        start = original
        if kind < 0.3:
            lines.append("STATUS:CANCELLED")
            self.features["override cancelled"] += 1
        elif kind < 0.9:
            start += dt.timedelta(days=rng.randint(-3, 3), hours=0 if self.kind == "date" else rng.randint(-3, 3))
            self.features["override moved"] += 1
        if kind > 0.8:
            lines[0] = lines[0].replace("RECURRENCE-ID", "RECURRENCE-ID;RANGE=THISANDFUTURE", 1)
            self.features["THISANDFUTURE"] += 1
        return [*lines, self.said(start, "DTSTART"), *self.length(start), "SUMMARY:Practice\\, changed"]

    def dates(self):
        """Some local times that the rule gives, by dateutil, in local time."""
        from dateutil.rrule import rrulestr

        parts = [part for part in self.rule.split(";") if not part.startswith("UNTIL=")]
        rule = rrulestr(";".join(parts), dtstart=self.start)
        found = []
        for wall in rule:
            if wall > self.start + dt.timedelta(days=400) or len(found) == 60:
                break
            found.append(wall)
        return found


def reference(made, text):
    """Instances as start, minutes by the reference, and whether cancelled."""
    calendar = icalendar.Calendar.from_ical(text)
    query = recurring_ical_events.of(calendar, skip_bad_series=False)
    margin = dt.timedelta(days=5)
    found = set()
    for event in query.between(made.first - margin, made.last + margin):
        start, end = event["DTSTART"].dt, event["DTEND"].dt
        local, at = placed(start)
        if made.first <= local <= made.last:
            minutes = int((placed(end)[1] - at).total_seconds() / 60 + 0.5)
            found.add((at, minutes, event.get("STATUS") == "CANCELLED"))
    return found


def placed(moment):
    """Date at the place, and instant."""
    home = ZoneInfo(HOME)
    if not isinstance(moment, dt.datetime):
        return moment, dt.datetime.combine(moment, dt.time(), home).astimezone(UTC)
    if moment.tzinfo is None:
        moment = moment.replace(tzinfo=home)
    local = moment.astimezone(home) if moment.tzname() == "UTC" else moment.astimezone(UTC).astimezone(moment.tzinfo)
    return local.date(), moment.astimezone(UTC)


def ours(answer, made):
    """Instances as `reference` gives them, and the original start of each."""
    found, originals = set(), {}
    for line in answer:
        if line.startswith(("problem", "refused")):
            raise ValueError(line)
        at, date, minutes, status, _, original = line.split("\t")
        if made.first <= dt.date.fromisoformat(date) <= made.last:
            at = instant(at)
            found.add((at, int(minutes), status == "cancelled"))
            if "T" in original:
                originals[at] = instant(original)
    return found, originals


def instant(text):
    return dt.datetime.fromisoformat(text.replace("Z", "+00:00"))


def run(binary, calendars, seed):
    print(f"seed {seed}: repeat with compare.py {binary} {calendars} {seed}")
    all_made, features, tally = [], Counter(), Counter()
    with tempfile.TemporaryDirectory(prefix="plimsoll-calendars-") as folder:
        for number in range(calendars):
            made = Made(number, random.Random(f"{seed}/{number}"))
            path = Path(folder) / f"{number}.ics"
            text = made.text()
            path.write_text(text, newline="")
            all_made.append((made, path, text))
            features += made.features
        asked = "".join(f"{path} {made.first} {made.last} {HOME}\n" for made, path, _ in all_made)
        answer = subprocess.run([binary], input=asked, capture_output=True, text=True, check=True).stdout
    answers = [[]]
    for line in answer.splitlines():
        answers.append([]) if line == "." else answers[-1].append(line)
    for (made, _, text), answer in zip(all_made, answers[:-1], strict=True):
        tally["calendars"] += 1
        compare(made, text, answer, tally)
    print(dict(tally))
    print(dict(features))
    if tally["different"] or 10 * tally["equal"] < 8 * calendars:
        raise SystemExit(1)


def compare(made, text, answer, tally):
    expected = reference(made, text)
    try:
        found, originals = ours(answer, made)
    except ValueError as error:
        # A rule without any date: the reference gives DTSTART alone.
        different(made, [], expected, tally, error) if len(expected) > 1 else tally.update(["refused: no date but the first"])
        return
    tally["instances"] += len(found)
    tally["instances in an hour that happens twice"] += sum(repeated(made, at) for at, *_ in found)
    if found == expected:
        tally["equal"] += 1
        return
    starts, theirs = ({(at, gone) for at, _, gone in instances} for instances in (found, expected))
    other = {(at, minutes) for at, minutes, gone in found - expected if (at, gone) in theirs}
    more = {at for at, gone in starts - theirs}
    if theirs <= starts and all(at in originals and confused(made, originals[at]) for at in more) and not unexplained(made, other):
        tally["reference adds local times"] += bool(other)
        tally["reference takes local time for UTC"] += bool(more)
        return
    different(made, found - expected, expected - found, tally)


def different(made, more, fewer, tally, error=""):
    tally["different"] += 1
    print(made.kind, made.zone, made.start, made.rule, made.first, made.last, error)
    for sign, only in (("+", more), ("-", fewer)):
        for at, minutes, gone in sorted(only)[:4]:
            print("   ", sign, at, minutes, "cancelled" if gone else "")


def repeated(made, at):
    """Whether the local time of an instant happens twice."""
    local = at.astimezone(ZoneInfo(made.zone))
    return made.kind != "utc" and local.replace(fold=0).utcoffset() != local.replace(fold=1).utcoffset()


def unexplained(made, differing):
    """Of minutes that differ, those that are not the exact duration of an event of the calendar."""
    return sum(made.kind == "date" or minutes not in made.exact for _, minutes in differing)


def confused(made, at):
    """Whether the reference takes an instance for one that EXDATE or RECURRENCE-ID names.

    It knows instances by their time without a zone, both local and in UTC: where a rule gives two times
    a day that lie as far apart as the zone from UTC, one is taken for the other.
    """
    names = {at.replace(tzinfo=None), at.astimezone(ZoneInfo(made.zone)).replace(tzinfo=None)}
    named = set()
    for wall in made.named:
        named |= {wall, made.instant(wall).replace(tzinfo=None)}
    return bool(names & named) and at not in map(made.instant, made.named)


if __name__ == "__main__":
    run(sys.argv[1], int((sys.argv[2:] or ["600"])[0]), (sys.argv[3:] or [str(random.randrange(1 << 32))])[0])
