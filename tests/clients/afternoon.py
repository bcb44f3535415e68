"""Club IT's afternoon in Python over the generated client: a roster tried and taken, a calendar, sessions in bulk, the load, what changed.

Every value has a type (`mypy --strict`); tests/clients/run.py generates the client, starts the service and runs this.
"""

import os
from datetime import date
from uuid import UUID

from plimsoll_client import AuthenticatedClient
from plimsoll_client.api.changes import list_changes
from plimsoll_client.api.figures import read_load
from plimsoll_client.api.people import import_roster
from plimsoll_client.api.schedule import create_calendar, list_events
from plimsoll_client.api.sessions import record_sessions
from plimsoll_client.models import (
    AthleteRow,
    BulkAnswer,
    BulkInput,
    CalendarAnswer,
    CalendarInput,
    CalendarRule,
    ChangedRecords,
    EventPage,
    GuardianRow,
    LoadAnswer,
    MembershipRow,
    RosterAnswer,
    RosterInput,
    SessionInput,
    SquadRow,
)
from plimsoll_client.types import UNSET, Unset

CLUB = UUID(os.environ["PLIMSOLL_CLUB"])
CODES = ("P-11", "P-12", "P-13")
# A Tuesday, and the Tuesday before.
PRACTICES = ("2026-11-17T17:30:00+01:00", "2026-11-10T17:30:00+01:00")
CALENDAR = "\r\n".join((
    "BEGIN:VCALENDAR", "VERSION:2.0", "PRODID:-//Nordvang//Hall//EN", "BEGIN:VEVENT", "UID:practice-u18@nordvang.example",
    "DTSTAMP:20261001T080000Z", "DTSTART;TZID=Europe/Copenhagen:20261110T173000", "DURATION:PT90M", "RRULE:FREQ=WEEKLY;COUNT=4",
    "SUMMARY:U18 practice", "END:VEVENT", "END:VCALENDAR", ""))


def connect(token: str) -> AuthenticatedClient:
    return AuthenticatedClient(base_url=os.environ["PLIMSOLL_URL"], token=os.environ[token])


def roster() -> RosterInput:
    membership = MembershipRow(squad_external_id="u18", from_=date(2026, 8, 3), primary=True)
    people = [
        AthleteRow(external_id=code, display_name=code, birth_date=date(2009, 3, 14), memberships=[membership],
            guardians=[GuardianRow(external_id=f"G-{code}")])
        for code in CODES
    ]
    return RosterInput(squads=[SquadRow(external_id="u18", name="U18 girls")], athletes=people)


def bring_people(app: AuthenticatedClient) -> tuple[UUID, dict[str, UUID]]:
    """Tried first; the trial says what the import then does. The same again changes nothing."""
    tried, taken, again = (imported(app, dry_run) for dry_run in (True, False, False))
    for answer, expected in ((tried, (3, 0, 0)), (taken, (3, 0, 0)), (again, (0, 3, 0))):
        assert (answer.created, answer.unchanged, answer.rejected) == expected, answer
    [squad] = taken.squads
    assert isinstance(squad.squad_id, UUID), squad
    ids = {athlete.external_id: athlete.athlete_id for athlete in taken.athletes}
    return squad.squad_id, {code: id for code, id in ids.items() if isinstance(code, str) and isinstance(id, UUID)}


def imported(app: AuthenticatedClient, dry_run: bool) -> RosterAnswer:
    answer = import_roster.sync(CLUB, client=app, body=roster(), mode="delta", dry_run=dry_run)
    assert isinstance(answer, RosterAnswer) and answer.dry_run == dry_run, answer
    return answer


def bring_schedule(app: AuthenticatedClient, squad: UUID) -> None:
    practice = CalendarRule(text_contains="practice", setting="club", kind="practice", squads=[squad], intended_rpe=6)
    made = create_calendar.sync(CLUB, client=app, body=CalendarInput(name="Hall", rules=[practice]))
    assert isinstance(made, CalendarAnswer), made
    # The generator knows no bodies of text/calendar, so this call is written out.
    headers = {"Content-Type": "text/calendar", "If-Match": f'"{made.version}"'}
    path = f"/v1/clubs/{CLUB}/calendars/{made.calendar_id}"
    sent = app.get_httpx_client().put(path, content=CALENDAR, headers=headers)
    assert sent.status_code == 200, sent.text
    reading = CalendarAnswer.from_dict(sent.json()).reading
    assert reading is not None and (reading.created, reading.unmapped, reading.rejected) == (4, 0, 0), reading
    events = list_events.sync(CLUB, client=app, from_=date(2026, 11, 9), to=date(2026, 11, 30))
    assert isinstance(events, EventPage), events
    assert [event.minutes for event in events.items] == [90, 90, 90], events


def report_sessions(app: AuthenticatedClient) -> None:
    reports = [
        SessionInput(external_id=f"{code}-{start[:10]}", athlete_external_id=code, started_at=start, minutes=90, rpe=6, setting="club",
            kind="practice", given_at=start[:11] + "19:10:00+01:00")
        for code in CODES
        for start in PRACTICES
    ]
    for accepted, unchanged in ((6, 0), (0, 6)):
        answer = record_sessions.sync(CLUB, client=app, body=BulkInput(sessions=reports))
        assert isinstance(answer, BulkAnswer), answer
        assert (answer.rows, answer.accepted, answer.unchanged, answer.rejected) == (6, accepted, unchanged, 0), answer


def read_load_of(coach: AuthenticatedClient, athlete: UUID) -> None:
    load = read_load.sync(CLUB, athlete, client=coach, from_=date(2026, 11, 10), to=date(2026, 11, 17))
    assert isinstance(load, LoadAnswer), load
    assert [day.load_au for day in load.days if day.sessions] == [540.0, 540.0], load


def follow(app: AuthenticatedClient, after: str | Unset) -> tuple[list[str], str]:
    """What changed since, by kind, to the end; and the cursor to go on from."""
    kinds: list[str] = []
    while True:
        page = list_changes.sync(CLUB, client=app, limit=5, after=after)
        assert isinstance(page, ChangedRecords) and page.next_ is not None, page
        kinds += [change.kind for change in page.items]
        after = page.next_
        if not page.more:
            return kinds, after


def main() -> None:
    app, coach = connect("PLIMSOLL_APP"), connect("PLIMSOLL_COACH")
    squad, people = bring_people(app)
    bring_schedule(app, squad)
    kinds, cursor = follow(app, UNSET)
    assert {"athlete", "squad", "membership", "event"} <= set(kinds), kinds
    report_sessions(app)
    read_load_of(coach, people["P-11"])
    kinds, _ = follow(app, cursor)
    assert kinds == ["session"] * 6, kinds
    print("Python: a roster tried and imported, a calendar sent, sessions in bulk, the load read, the changes followed")


if __name__ == "__main__":
    main()
