"""A club in which every kind of record exists, for random requests: its records' ids are what they are mostly about."""

import json
import re
import sys
import uuid
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


# One practice a week (RFC 5545).
CALENDAR = "\r\n".join([
    "BEGIN:VCALENDAR", "VERSION:2.0", "PRODID:-//Nordvang//EN", "BEGIN:VEVENT", "UID:practice@nordvang.example",
    "DTSTAMP:20260901T080000Z", "DTSTART;TZID=Europe/Copenhagen:20261110T173000", "DURATION:PT90M",
    "RRULE:FREQ=WEEKLY;COUNT=4", "SUMMARY:U16 practice", "END:VEVENT", "END:VCALENDAR", "",
])  # fmt: skip


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


OWN_EXERCISES = ("bench_hop", "mat_hop", "sand_hop")
SIGN_OFFS = tuple(f"0199a1b2-7c3d-7e4f-8a5b-51000000000{number}" for number in range(3))


class World:
    """The club, and the known ids by the name of the parameter that takes them."""

    def __init__(self, service: Service, document: Document):
        self.service, self.document = service, document
        # Bodies that were accepted, by method and path as the document has it.
        self.bodies = {"PUT /v1/clubs/{club_id}/policy": [POLICY]}
        club = Club(service, athletes=8, days=60)
        club.record(club.reports(120), 120)
        self.club = club.id
        self.token = self._token(document, club)
        self._make(club)
        # A roster that goes with `mode=full` too: it names who is there.
        people = [{"external_id": f"P-{number:04}", "display_name": f"Player {number:04}"} for number in range(len(club.athletes))]
        self.bodies["POST /v1/clubs/{club_id}/roster/imports"] = [{"athletes": people}]
        self.bodies["POST /v1/clubs/{club_id}/athletes/{athlete_id}/consents/{consent_id}/withdrawal"] = [{"evidence": "letter 12"}]
        self.bodies["PATCH /v1/clubs/{club_id}/restrictions/{restriction_id}"] = [{"max_minutes": 45}]
        directory = "/scim/v2/clubs/{club_id}"
        user = {"userName": "runa.falk", "displayName": "Runa Falk", "roles": [{"value": "athlete"}]}
        patch = {"Operations": [{"op": "replace", "path": "displayName", "value": "Runa F."}]}
        for path, body in (("Users", user), ("Groups", {"displayName": "U14"})):
            one = f"{directory}/{path}/{'{user_id}' if path == 'Users' else '{squad_id}'}"
            self.bodies |= {f"POST {directory}/{path}": [body], f"PUT {one}": [body], f"PATCH {one}": [patch]}
        # A calendar's text is sent where its settings are read.
        self.bodies["PUT /v1/clubs/{club_id}/calendars/{calendar_id}"] = [CALENDAR]
        service.command("close-week", "--week", "2026-W46")
        # There are no sandboxes, and none has a live club's id.
        self.ids = {"club_id": {club.id}, "sandbox_id": {club.id}, "exercise": set(OWN_EXERCISES), "sign_off_id": set(SIGN_OFFS), "user_id": set(club.athletes)}
        for _ in range(2):
            self._collect(document)
        for name in document.ids() - self.ids.keys():
            raise SystemExit(f"no {name} is in the club: make such a record in tests/contract/world.py")

    def _token(self, document: Document, club: Club) -> str:
        """One token with every role; each request names the role that it acts in. Of one athlete it is the family's, about whom it
        therefore decides nothing as a clinician."""
        roles = [argument for role in document.roles for argument in ("--role", role)]
        roles += ["--athlete", min(club.athletes)]
        return self.service.command("token", *roles, "--club", self.club, "--subject", RANDOM_CALLER, "--ttl", "24h")

    def _make(self, club: Club):
        first = club.athletes[0]
        squad = self._post("squads", "club_admin", {"name": "U16", "external_id": "U16"})["squad_id"]
        self._post("squads", "club_admin", {"name": "U18", "external_id": "U18"})
        # The others, and the second squad, are for random requests to make members of.
        for athlete in club.athletes[:4]:
            self._post(f"squads/{squad}/members", "club_admin", {"athlete_id": athlete, "from": "2026-09-01"})
        # Two of what can be taken back: one of them is left to be read.
        for day in ("2026-11-01", "2026-11-02"):
            self._post("rest-days", "integration", {"athlete_id": first, "date": day})
        for day in (1, 5):
            away = {"from": f"2026-08-0{day}", "to": f"2026-08-0{day + 2}", "category": "holiday"}
            self._post("absences", "integration", {"athlete_id": first, **away})
        for side in ("left", "right"):
            test = {"test": "single_hop_distance", "side": side, "trials": [126, 128], "tested_on": "2026-11-02", "tester": "Runa F."}
            self._post("tests", "athletic_trainer", {"athlete_id": first, **test})
            self._post("injuries", "athletic_trainer", {"athlete_id": first, "side": side, "injured_on": "2026-02-21"})
        self._train(club)
        self._prescribe(club, squad)
        # The random caller's own licence, and the one of the trainer who makes the records here.
        for subject in (RANDOM_CALLER, TRAINER):
            self._post("licences", "club_admin", {"subject": subject, "name": "Vera Holm", "licence_type": "physiotherapist", "valid_until": "2030-12-31"})
        for athlete in club.athletes[:2]:
            limits = {"from": "2026-11-02", "review_date": "2026-11-20", "availability": "limited", "max_minutes": 60}
            self._post("restrictions", "athletic_trainer", {"athlete_id": athlete, **limits})
        decision = {"decision": "not_yet", "scope": "practice", "decided_on": "2026-11-02", "document_reference": "folder 12"}
        self._post("clearance-records", "athletic_trainer", {"athlete_id": first, **decision})
        signed = {"purpose": "look after her", "text_version": "2026-1", "evidence": "folder 3"}
        consent = {**signed, "data_classes": ["pain"], "recipient_role": "athletic_trainer"}
        # Consents are collected of the athlete whose id comes first.
        of_first = f"athletes/{min(club.athletes)}"
        self._post(f"{of_first}/consents", "privacy_lead", consent)
        self._post(f"{of_first}/sharing-codes", "privacy_lead", {"organisation": "Fjordby Gymnastics"})
        guardian = self.service.command(
            "token", "--role", "guardian", "--club", self.club, "--athlete", min(club.athletes), "--subject", "guardian-1"
        )
        report = {"athlete_id": min(club.athletes), "date": "2026-11-02", "hurts": True, "area": "knee", "side": "left"}
        self.service.call("POST", f"/v1/clubs/{self.club}/pain-reports", guardian, report)
        self._post(f"{of_first}/holds", "privacy_lead", {"reason": "insurance", "until": "2030-12-31"})
        self._post("revocations", "club_admin", {"subject": "coach-3", "reason": "telephone lost"})
        start = {"starts_at": "2026-11-03T17:30:00+01:00", "minutes": 90, "setting": "club", "kind": "practice"}
        for name in ("plimsoll", "board"):
            endpoint = self._post("notice-endpoints", "club_admin", {"url": f"https://club.example.org/{name}"})["endpoint_id"]
            self._post(f"notice-endpoints/{endpoint}/test", "club_admin", {})
            self._post("policy/drafts", "club_admin", POLICY)
        # After the endpoints, so that the first notice of all has deliveries.
        self._ask(min(club.athletes), guardian)
        for day in (3, 5):
            planned = {**start, "starts_at": f"2026-11-0{day}T17:30:00+01:00", "squads": [squad]}
            event = self._post("events", "integration", planned)["event_id"]
            self._warm_up(event)
            for athlete in club.athletes[:2]:
                self._post("attendance", "integration", {"event_id": event, "athlete_id": athlete, "status": "present"})
        practice = {"text_contains": "practice", "setting": "club", "kind": "practice", "squads": [squad]}
        for name in ("Sports hall", "School hall"):
            self._post("calendars", "integration", {"name": name, "rules": [practice]})
        self._enter_twice()
        for name in ("register", "office"):
            self._pull_from(name)
        usual = {"weekly_minutes": {"low": 240, "high": 360}, "rpe": {"low": 4, "high": 6}}
        for athlete in club.athletes[:2]:
            self._post(f"athletes/{athlete}/declared-history", "integration", usual)
        # Three times the usual week: a flag.
        for day in range(9, 15):
            report = {"athlete_id": first, "started_at": f"2026-11-{day:02}T19:00:00+01:00", "minutes": 180, "rpe": 9}
            session = self._post("sessions", "integration", {**report, "setting": "club", "kind": "practice"})["session_id"]
            self._count(session)

    def _train(self, club: Club):
        hop = {"name": "Hop", "description": "Each landing quiet.", "category": "landing", "sides": "both", "landing": "both_feet"}
        watched = {"exercise": "squat", "signed_on": "2026-11-02", "seen_in_person": True}
        self.bodies["PUT /v1/clubs/{club_id}/exercises/{exercise}"] = [hop]
        # Of exercises that build on none: one is signed off once.
        to_watch = [{**watched, "exercise": code} for code in ("row_own_weight", "side_plank", "one_leg_stand_with_ball")]
        self.bodies["PUT /v1/clubs/{club_id}/athletes/{athlete_id}/sign-offs/{sign_off_id}"] = to_watch
        token = self.service.token("strength_coach", self.club)
        for code in OWN_EXERCISES:
            self.service.call("PUT", f"/v1/clubs/{self.club}/exercises/{code}", token, hop)
        # Not of the first athlete: the random caller is of her family, and signs nothing of hers off.
        signed_off = f"/v1/clubs/{self.club}/athletes/{sorted(club.athletes)[1]}/sign-offs"
        for sign_off, code in zip(SIGN_OFFS, ("squat", "press_up", "hip_hinge")):
            self.service.call("PUT", f"{signed_off}/{sign_off}", token, {**watched, "exercise": code})

    def _prescribe(self, club: Club, squad: str):
        item = {"exercise": "squat", "sets": 3, "reps": 10}
        session = {"setting": "prescribed_home", "kind": "strength", "minutes": 45, "intended_rpe": 5, "items": [item]}
        weeks = [{"days": [{"day": "tuesday", "sessions": [session]}]}, {"days": []}]
        token = self.service.token("strength_coach", self.club)
        whose = ({"squad_id": squad}, {"athlete_id": min(club.athletes)}, {"athlete_id": sorted(club.athletes)[1]})
        assigned = [{**one, "from": "2026-11-02"} for one in whose]
        self.bodies["PUT /v1/clubs/{club_id}/programmes/{programme_id}/assignments/{assignment_id}"] = assigned
        for name in ("Summer", "Winter", "Spring"):
            programme = self._post("programmes", "strength_coach", {"name": name, "blocks": [{"name": "Learning", "weeks": weeks}]})
            path = f"/v1/clubs/{self.club}/programmes/{programme['programme_id']}/assignments"
            # Assignments are collected of the programme whose id comes first.
            for number, body in enumerate(assigned if name == "Summer" else []):
                self.service.call("PUT", f"{path}/0199a1b2-7c3d-7e4f-8a5b-52000000000{number}", token, body)

    def _ask(self, athlete: str, guardian: str):
        """Two questions, one of which may be answered away; each about a session of hers."""
        path = f"/v1/clubs/{self.club}/athletes/{athlete}/questions"
        listed = f"/v1/clubs/{self.club}/sessions?athlete={athlete}&limit=2"
        sessions = self.service.call("GET", listed, self.service.token("integration", self.club))["items"]
        for session in sessions:
            question = {"text": "Do I do both legs?", "hurts": True, "about": {"session_id": session["session_id"]}}
            self._keep_body(path, question)
            self.service.call("POST", path, guardian, question)
        self.bodies["PATCH /v1/clubs/{club_id}/questions/{question_id}"] = [{"reply": "Both."}, {"is_open": True}]

    def _count(self, session: str):
        counts = {"landings": {"both_feet": 61, "left_foot": 51, "right_foot": 51, "loaded": 15, "hands": 24}, "throws": 80, "basis": "counted"}
        self.bodies["PUT /v1/clubs/{club_id}/sessions/{session_id}/contacts"] = [counts]
        token = self.service.token("integration", self.club)
        self.service.call("PUT", f"/v1/clubs/{self.club}/sessions/{session}/contacts", token, counts)

    def _warm_up(self, event: str):
        held = {"minutes": 15, "categories": ["strength", "jump", "balance"], "feedback": True}
        self.bodies["PUT /v1/clubs/{club_id}/events/{event_id}/warm-up"] = [held]
        token = self.service.token("integration", self.club)
        self.service.call("PUT", f"/v1/clubs/{self.club}/events/{event}/warm-up", token, held)

    def _enter_twice(self):
        """Two people of a roster who are perhaps one."""
        alike = [{"external_id": key, "display_name": name, "birth_date": "2011-05-02"} for key, name in (("P-9001", "Runa Falk"), ("P-9002", "Runa Holm"))]
        token = self.service.token("integration", self.club)
        self.service.call("POST", f"/v1/clubs/{self.club}/roster/imports?mode=delta", token, {"athletes": alike})
        self.bodies["PATCH /v1/clubs/{club_id}/roster/second-copies/{second_copy_id}"] = [{"decision": "same_person"}, {"decision": "two_people"}]

    def _pull_from(self, name: str):
        """A roster app on a host that is never found (RFC 2606), pulled by hand."""
        source = {
            "name": name, "url": f"https://{name}.example.invalid/people", "mode": "full",
            "credentials": {"kind": "header", "name": "X-Api-Key", "value": "4f1c"},
            "paging": {"kind": "next_pointer", "pointer": "/next"}, "people": {"list": "/people", "external_id": "/id"},
        }  # fmt: skip
        self.bodies.setdefault("PUT /v1/clubs/{club_id}/roster/sources/{source_id}", []).append(source)
        token = self.service.token("integration", self.club)
        self.service.call("PUT", f"/v1/clubs/{self.club}/roster/sources/{uuid.uuid5(uuid.NAMESPACE_DNS, name)}", token, source)

    def _post(self, path: str, role: str, body: dict) -> dict:
        token = self.service.token(role, self.club)
        self._keep_body(f"/v1/clubs/{self.club}/{path}", body)
        return self.service.call("POST", f"/v1/clubs/{self.club}/{path}", token, body)

    def _keep_body(self, path: str, body: dict):
        """For the operation that takes it, and for the PUT of such a record."""
        for method, template, _ in self.document.operations.values():
            of_record = re.sub(r"/{\w+}$", "", template) if method == "put" else template
            pattern = re.sub(r"{\w+}", "[^/]+", of_record)
            if method in ("post", "put") and re.fullmatch(pattern, path):
                self.bodies.setdefault(f"{method.upper()} {template}", []).append(body)

    def _collect(self, document: Document):
        """Reads every list whose path is known, and takes down the ids in it."""
        for method, path, roles in document.operations.values():
            names = re.findall(r"{(\w+)}", path)
            # A live club has no clock; a history or a copy is read for a purpose, and names no other records than the lists do; most sessions are not counted.
            if method != "get" or not roles or path.endswith(("}", "/history", "/copy", "/contacts", "/warm-up", "/clock")) or any(name not in self.ids for name in names):
                continue
            known = {name: min(self.ids[name]) for name in names}
            # Athletes and guardians come first and reach their own records alone.
            role = next(role for role in roles if role not in ("athlete", "guardian"))
            self._take_down(self.service.call("GET", path.format(**known), self.service.token(role, self.club)))

    def _take_down(self, answer):
        if isinstance(answer, dict):
            for name, value in answer.items():
                if name.endswith("_id") and isinstance(value, str) and name != "external_id":
                    self.ids.setdefault(name, set()).add(value)
                self._take_down(value)
        elif isinstance(answer, list):
            for item in answer:
                self._take_down(item)
