"""A club in which every kind of record exists, for random requests: its records' ids are what they are mostly about."""

import json
import re
import sys
from pathlib import Path

ROOT = Path(__file__).resolve().parent.parent.parent
sys.path.insert(0, str(ROOT / "tests" / "bench"))
from club import Club  # noqa: E402
from service import Service  # noqa: E402

# Who sends the random requests, and who made the records they are about.
RANDOM_CALLER, TRAINER = "random-requests", "benchmark"

DOCUMENT = ROOT / "openapi" / "openapi.json"

# A policy that no random request is likely to make by itself.
POLICY = {
    "effective_from": "2027-01-04",
    "approved_by": "M. Lindholt",
    "source_note": "club board",
    "organised_settings": ["club"],
    "nothing_said": "assumed_rest",
    "midnight": "start_date",
    "chronic_floor_au": 250,
    "rules": [{"code": "week_monotony", "enabled": True, "limit": 2, "source_note": "club choice"}],
}


class Document:
    """The committed document, as far as is asked of it here."""

    def __init__(self):
        content = json.loads(DOCUMENT.read_text())
        self.roles = content["x-reach"].keys()
        self.operations = {
            operation["operationId"]: (method, path, operation.get("x-roles", []))
            for path, item in content["paths"].items()
            for method, operation in item.items()
        }

    def ids(self) -> set[str]:
        """The names of ids that stand in paths."""
        names = set()
        for _, path, _ in self.operations.values():
            names.update(re.findall(r"{(\w+_id)}", path))
        return names


class World:
    """The club, and the known ids by the name of the parameter that takes them."""

    def __init__(self, service: Service, document: Document):
        self.service = service
        club = Club(service, athletes=4, days=60)
        club.record(club.reports(120), 120)
        self.club = club.id
        self.token = self._token(document)
        self._make(club)
        service.command("close-week", "--week", "2026-W46")
        self.ids = {"club_id": {club.id}}
        for _ in range(2):
            self._collect(document)
        for name in document.ids() - self.ids.keys():
            raise SystemExit(f"no {name} is in the club: make such a record in tests/contract/world.py")

    def _token(self, document: Document) -> str:
        """One token with every role; each request names the role that it acts in."""
        roles = [argument for role in document.roles for argument in ("--role", role)]
        return self.service.command("token", *roles, "--club", self.club, "--subject", RANDOM_CALLER, "--ttl", "24h")

    def _make(self, club: Club):
        first = club.athletes[0]
        squad = self._post("squads", "club_admin", {"name": "U16", "external_id": "U16"})["squad_id"]
        for athlete in club.athletes:
            self._post(f"squads/{squad}/members", "club_admin", {"athlete_id": athlete, "from": "2026-09-01"})
        self._post("rest-days", "integration", {"athlete_id": first, "date": "2026-11-01"})
        self._post("absences", "integration", {"athlete_id": first, "from": "2026-08-01", "to": "2026-08-03", "category": "holiday"})
        test = {"test": "single_hop_distance", "side": "left", "trials": [126, 128], "tested_on": "2026-11-02", "tester": "Runa F."}
        self._post("tests", "athletic_trainer", {"athlete_id": first, **test})
        self._post("injuries", "athletic_trainer", {"athlete_id": first, "side": "left", "injured_on": "2026-02-21"})
        # The random caller's own licence, and the one of the trainer who makes the records here.
        for subject in (RANDOM_CALLER, TRAINER):
            self._post("licences", "club_admin", {"subject": subject, "name": "Vera Holm", "licence_type": "physiotherapist", "valid_until": "2030-12-31"})
        limits = {"from": "2026-11-02", "review_date": "2026-11-20", "availability": "limited", "max_minutes": 60}
        self._post("restrictions", "athletic_trainer", {"athlete_id": first, **limits})
        decision = {"decision": "not_yet", "scope": "practice", "decided_on": "2026-11-02", "document_reference": "folder 12"}
        self._post("clearance-records", "athletic_trainer", {"athlete_id": first, **decision})
        self._post("revocations", "club_admin", {"subject": "coach-3", "reason": "telephone lost"})
        start = {"starts_at": "2026-11-03T17:30:00+01:00", "minutes": 90, "setting": "club", "kind": "practice"}
        endpoint = self._post("notice-endpoints", "club_admin", {"url": "https://club.example.org/plimsoll"})["endpoint_id"]
        self._post(f"notice-endpoints/{endpoint}/test", "club_admin", {})
        self._post("policy/drafts", "club_admin", POLICY)
        event = self._post("events", "integration", {**start, "squads": [squad]})["event_id"]
        self._post("attendance", "integration", {"event_id": event, "athlete_id": first, "status": "present"})
        usual = {"weekly_minutes": {"low": 240, "high": 360}, "rpe": {"low": 4, "high": 6}}
        self._post(f"athletes/{first}/declared-history", "integration", usual)
        # Three times the usual week: a flag.
        for day in range(9, 15):
            report = {"athlete_id": first, "started_at": f"2026-11-{day:02}T19:00:00+01:00", "minutes": 180, "rpe": 9}
            self._post("sessions", "integration", {**report, "setting": "club", "kind": "practice"})

    def _post(self, path: str, role: str, body: dict) -> dict:
        token = self.service.token(role, self.club)
        return self.service.call("POST", f"/v1/clubs/{self.club}/{path}", token, body)

    def _collect(self, document: Document):
        """Reads every list whose path is known, and takes down the ids in it."""
        for method, path, roles in document.operations.values():
            names = re.findall(r"{(\w+)}", path)
            # A history is read for a purpose, and names no other records than the lists do.
            if method != "get" or not roles or path.endswith(("}", "/history")) or any(name not in self.ids for name in names):
                continue
            known = {name: min(self.ids[name]) for name in names}
            self._take_down(self.service.call("GET", path.format(**known), self.service.token(roles[0], self.club)))

    def _take_down(self, answer):
        if isinstance(answer, dict):
            for name, value in answer.items():
                if name.endswith("_id") and isinstance(value, str) and name != "external_id":
                    self.ids.setdefault(name, set()).add(value)
                self._take_down(value)
        elif isinstance(answer, list):
            for item in answer:
                self._take_down(item)
