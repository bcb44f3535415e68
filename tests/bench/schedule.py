"""Measures roster, calendar and changes on one database, against the plain parse or read; see schedule.sh."""

import http.client
import json
import statistics
import subprocess
import sys
import time
from datetime import date, timedelta
from pathlib import Path

from club import Club
from service import Service

ATHLETES = 300
SQUADS = 40
WEEKS = 26
CHANGES = 100_000
ROUNDS = 5
FIRST_PRACTICE = date(2026, 11, 23)


class Measured:
    """The service and the plain side on one database."""

    def __init__(self, programs: Path, folder: Path, database_url: str):
        self.programs, self.folder, self.database_url = programs, folder, database_url
        self.service = Service(programs, folder, database_url)

    def plain(self, *arguments: str) -> tuple[int, float]:
        """Rows or bytes, and the seconds."""
        command = [self.programs / "examples" / "plain", "--database-url", self.database_url, *arguments]
        done = subprocess.run(command, text=True, capture_output=True, check=True)
        number, seconds = done.stdout.split()
        return int(number), float(seconds)

    def parsed(self, name: str, text: str) -> float:
        file = self.folder / name
        file.write_text(text)
        return self.plain("parse", str(file))[1]

    def club(self) -> str:
        body = {"name": "HK Nordvang", "time_zone": "Europe/Copenhagen"}
        return self.service.call("POST", "/v1/clubs", self.service.token("operator"), body)["club_id"]

    def send(self, method: str, path: str, token: str, kind: str, body: bytes, headers: dict | None = None) -> tuple[float, dict, str]:
        """Seconds, answer and ETag of one request that must succeed."""
        connection = http.client.HTTPConnection("127.0.0.1", self.service.port, timeout=600)
        since = time.perf_counter()
        connection.request(method, path, body, {"Authorization": f"Bearer {token}", "Content-Type": kind, **(headers or {})})
        response = connection.getresponse()
        answer = response.read()
        seconds = time.perf_counter() - since
        if response.status >= 300:
            raise SystemExit(f"{method} {path}: {response.status} {answer[:500]!r}")
        return seconds, json.loads(answer), response.getheader("ETag")


def show(*cells):
    print("| " + " | ".join(str(cell) for cell in cells) + " |", flush=True)


def show_times(name: str, ours: list[float], plain: float, of: str):
    middle = statistics.median(ours)
    show(name, f"{middle * 1000:.1f} ms", f"{plain * 1000:.2f} ms ({of})", f"{middle / plain:,.0f}")


def roster(at: Measured):
    """A full roster into a club that has nobody, and the same again."""
    squads = [{"external_id": f"s-{number}", "name": f"Squad {number}"} for number in range(SQUADS)]
    athletes = [
        {
            "external_id": f"P-{number:04}",
            "display_name": f"Player {number:04}",
            "birth_date": str(date(2009, 1, 1) + timedelta(days=number)),
            "memberships": [{"squad_external_id": f"s-{number % SQUADS}", "from": "2026-08-03", "primary": True}],
            "guardians": [{"external_id": f"G-{number:04}"}],
        }
        for number in range(ATHLETES)
    ]
    text = json.dumps({"squads": squads, "athletes": athletes})
    plain = at.parsed("roster.json", text)
    found = {"new": [], "the same again": []}
    for _ in range(ROUNDS):
        club = at.club()
        token = at.service.token("integration", club)
        for name, times in found.items():
            seconds, answer, _ = at.send("POST", f"/v1/clubs/{club}/roster/imports?mode=full", token, "application/json", text.encode())
            if answer["rejected"] != 0:
                raise SystemExit(f"rows were rejected: {answer}")
            times.append(seconds)
    for name, times in found.items():
        show_times(f"roster of {ATHLETES} athletes and {SQUADS} squads, {name}", times, plain, "JSON parsed")


def calendar_text() -> str:
    """A practice a week for each squad, over all weeks."""
    lines = ["BEGIN:VCALENDAR", "VERSION:2.0", "PRODID:-//Nordvang//Hall//EN"]
    for squad in range(SQUADS):
        day = FIRST_PRACTICE + timedelta(days=squad % 5)
        lines += [
            "BEGIN:VEVENT",
            f"UID:practice-{squad}@nordvang.example",
            "DTSTAMP:20261101T080000Z",
            f"DTSTART;TZID=Europe/Copenhagen:{day:%Y%m%d}T{15 + squad // 5 % 6}0000",
            "DURATION:PT90M",
            f"RRULE:FREQ=WEEKLY;COUNT={WEEKS}",
            f"SUMMARY:practice of squad {squad:02}",
            "END:VEVENT",
        ]
    return "\r\n".join([*lines, "END:VCALENDAR", ""])


def schedule(at: Measured):
    """A calendar's text, tried and taken; then each practice an hour later."""
    text = calendar_text()
    plain = at.parsed("hall.ics", text)
    found = {"tried": [], "taken": [], "all moved": []}
    for _ in range(ROUNDS):
        club = at.club()
        admin, token = at.service.token("club_admin", club), at.service.token("integration", club)
        rules = []
        for number in range(SQUADS):
            squad = at.service.call("POST", f"/v1/clubs/{club}/squads", admin, {"name": f"Squad {number}"})["squad_id"]
            rules.append({"text_contains": f"squad {number:02}", "setting": "club", "kind": "practice", "squads": [squad]})
        body = json.dumps({"name": "Hall", "rules": rules}).encode()
        _, made, tag = at.send("POST", f"/v1/clubs/{club}/calendars", token, "application/json", body)
        path = f"/v1/clubs/{club}/calendars/{made['calendar_id']}"
        for name, query, sent in [("tried", "?dry_run=true", text), ("taken", "", text), ("all moved", "", text.replace("0000\r\n", "3000\r\n"))]:
            seconds, _, new_tag = at.send("PUT", path + query, token, "text/calendar", sent.encode(), {"If-Match": tag})
            tag = tag if query else new_tag
            found[name].append(seconds)
    for name, times in found.items():
        show_times(f"calendar of {WEEKS} weeks for {SQUADS} squads, {SQUADS * WEEKS:,} practices, {name}", times, plain, "text parsed")


def changes(at: Measured):
    """All changes of a club as one stream."""
    club = Club(at.service, ATHLETES, 365)
    club.record(club.reports(CHANGES), CHANGES)
    times, rows = [], 0
    for _ in range(ROUNDS):
        connection = http.client.HTTPConnection("127.0.0.1", at.service.port, timeout=600)
        since = time.perf_counter()
        headers = {"Authorization": f"Bearer {club.writer}", "Accept": "application/x-ndjson"}
        connection.request("GET", f"{club.path}/changes", headers=headers)
        rows = connection.getresponse().read().count(b"\n")
        times.append(time.perf_counter() - since)
    there, plain = at.plain("changes", "--club", club.id)
    if rows != there:
        raise SystemExit(f"{rows} changes were sent and {there} are there")
    show_times(f"{rows:,} changes as NDJSON", times, plain, "rows read")


def main(name: str, programs: Path, folder: Path, database_url: str):
    at = Measured(programs, folder, database_url)
    show(f"**{name}**", "service, median of 5", "plain side", "ratio")
    show("---", "---", "---", "---")
    try:
        roster(at)
        schedule(at)
        changes(at)
    finally:
        at.service.stop()


if __name__ == "__main__":
    main(sys.argv[1], Path(sys.argv[2]), Path(sys.argv[3]), sys.argv[4])
