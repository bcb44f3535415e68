"""Invented clubs of the size a measurement needs: people through the API, session reports in bulk."""

import json
import random
from datetime import date, datetime, timedelta, timezone

from service import TODAY, Service

SETTINGS = ["club"] * 6 + ["school_team", "pe", "private"]
KINDS = ["practice"] * 4 + ["game", "strength"]
POLICY = {
    "effective_from": "2025-01-01",
    "approved_by": "Head of training",
    "source_note": "Invented limits, for measuring speed only",
    "organised_settings": ["club", "school_team", "pe", "second_club", "prescribed_home"],
    "nothing_said": "assumed_rest",
    "midnight": "start_date",
    "chronic_floor_au": 250,
    "rules": [
        {"code": "week_end_ratio", "enabled": True, "ratio_kind": "coupled", "limit": 1.5, "window": None, "source_note": "invented"},
        {"code": "own_highest_week", "enabled": True, "ratio_kind": None, "limit": 1.1, "window": 8, "source_note": "invented"},
        {"code": "week_monotony", "enabled": True, "ratio_kind": None, "limit": 2.0, "window": None, "source_note": "invented"},
    ],
}


class Club:
    """A club with athletes whose membership began `days` ago."""

    def __init__(self, service: Service, athletes: int, days: int):
        self.service = service
        self.last = date.fromisoformat(TODAY)
        self.first = self.last - timedelta(days=days - 1)
        made = service.call("POST", "/v1/clubs", service.token("operator"), {"name": "HK Nordvang", "time_zone": "Europe/Copenhagen"})
        self.id = made["club_id"]
        self.path = f"/v1/clubs/{self.id}"
        self.coach = service.token("coach", self.id)
        self.writer = service.token("integration", self.id)
        admin = service.token("club_admin", self.id)
        service.call("PUT", f"{self.path}/policy", admin, POLICY)
        people = [{"external_id": f"P-{n:04}", "display_name": f"Player {n:04}", "joined_on": str(self.first)} for n in range(athletes)]
        self.athletes = [service.call("POST", f"{self.path}/athletes", admin, person)["athlete_id"] for person in people]
        self.serial = 0

    def reports(self, number: int, first: date | None = None, seed: int = 1):
        """So many reports on random days from `first` on, none at the same hour of the same day."""
        chance = random.Random(seed)
        first = first or self.first
        days = (self.last - first).days + 1
        if number > len(self.athletes) * days * 3:
            raise SystemExit("more reports than three a day")
        slots = chance.sample(range(len(self.athletes) * days * 3), number)
        for slot in slots:
            athlete, slot = divmod(slot, days * 3)
            day, part = divmod(slot, 3)
            yield self.report(self.athletes[athlete], first + timedelta(days=day), 8 + 4 * part, chance)

    def report(self, athlete: str, on: date, hour: int, chance: random.Random) -> dict:
        self.serial += 1
        start = datetime(on.year, on.month, on.day, hour, chance.choice([0, 15, 30]), tzinfo=timezone(timedelta(hours=1)))
        minutes = chance.randrange(30, 91, 5)
        return {
            "external_id": f"app-{self.serial}",
            "athlete_id": athlete,
            "started_at": start.isoformat(),
            "minutes": minutes,
            "rpe": chance.randrange(2, 19) / 2,
            "setting": chance.choice(SETTINGS),
            "kind": chance.choice(KINDS),
            "given_at": (start + timedelta(minutes=minutes + 20)).isoformat(),
            "given_by": "athlete",
        }

    def ndjson(self, reports, rows: int = 500):
        """Reports as chunks of lines."""
        lines = []
        for report in reports:
            lines.append(json.dumps(report))
            if len(lines) == rows:
                yield ("\n".join(lines) + "\n").encode()
                lines = []
        if lines:
            yield ("\n".join(lines) + "\n").encode()

    def record(self, reports, number: int):
        """Stores them through the stream; all must be accepted."""
        accepted = self.service.stream(f"{self.path}/sessions/bulk", self.writer, self.ndjson(reports))
        if accepted != number:
            raise SystemExit(f"{accepted} of {number} reports were accepted")
