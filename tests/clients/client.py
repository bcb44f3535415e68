"""A roster app in Python over the generated client: people, one session, the load read back, a list in pages, a refusal.

Every value has a type (`mypy --strict`); tests/clients/run.py generates the client, starts the service and runs this.
"""

import os
from datetime import date
from uuid import UUID

from plimsoll_client import AuthenticatedClient
from plimsoll_client.api.figures import read_load
from plimsoll_client.api.people import create_athlete, create_squad, list_athletes
from plimsoll_client.api.sessions import record_session
from plimsoll_client.models import (
    AthleteAnswer,
    AthletePage,
    LoadAnswer,
    NewAthlete,
    ProblemBody,
    SessionAnswer,
    SessionInput,
    SquadAnswer,
    SquadInput,
)
from plimsoll_client.types import UNSET, Unset

CLUB = UUID(os.environ["PLIMSOLL_CLUB"])


def connect(token: str) -> AuthenticatedClient:
    return AuthenticatedClient(base_url=os.environ["PLIMSOLL_URL"], token=os.environ[token])


def add_people(admin: AuthenticatedClient) -> list[AthleteAnswer]:
    squad = create_squad.sync(CLUB, client=admin, body=SquadInput(name="U16", external_id="U16"))
    assert isinstance(squad, SquadAnswer), squad
    people = []
    for code in ("P-01", "P-02", "P-03"):
        person = NewAthlete(external_id=code, display_name=code, joined_on=date(2026, 1, 1), squads=[str(squad.squad_id)])
        athlete = create_athlete.sync(CLUB, client=admin, body=person)
        assert isinstance(athlete, AthleteAnswer), athlete
        people.append(athlete)
    return people


def report(athlete: AthleteAnswer, rpe: float) -> SessionInput:
    return SessionInput(
        athlete_id=athlete.athlete_id,
        started_at="2026-11-17T17:30:00+01:00",
        minutes=90,
        rpe=rpe,
        setting="club",
        kind="practice",
    )


def log_a_session(app: AuthenticatedClient, athlete: AthleteAnswer) -> None:
    stored = record_session.sync_detailed(CLUB, client=app, body=report(athlete, 6), idempotency_key="python-1")
    assert stored.status_code == 201, stored.content
    assert isinstance(stored.parsed, SessionAnswer)
    assert stored.parsed.counted.load_au == 540.0, stored.parsed


def read_it_back(coach: AuthenticatedClient, athlete: AthleteAnswer) -> None:
    on = date(2026, 11, 17)
    load = read_load.sync(CLUB, athlete.athlete_id, client=coach, from_=on, to=on)
    assert isinstance(load, LoadAnswer), load
    [day] = load.days
    assert (day.date, day.load_au, day.sessions) == (on, 540.0, 1), day
    assert day.acute_7d_au.point == 540.0, day
    # A figure that cannot be computed is null with a reason.
    assert day.monotony.sample.point is not None or day.monotony.reason is not None, day


def page_through(coach: AuthenticatedClient) -> list[str | None]:
    codes: list[str | None] = []
    after: str | Unset = UNSET
    while True:
        page = list_athletes.sync(CLUB, client=coach, limit=2, after=after)
        assert isinstance(page, AthletePage), page
        assert len(page.items) <= 2
        codes += [athlete.external_id for athlete in page.items]
        if page.next_ is None:
            return codes
        after = page.next_


def be_refused(app: AuthenticatedClient, athlete: AthleteAnswer) -> None:
    refused = record_session.sync(CLUB, client=app, body=report(athlete, 11))
    assert isinstance(refused, ProblemBody), refused
    assert (refused.status, refused.code) == (422, "invalid"), refused
    assert not isinstance(refused.errors, Unset)
    [error] = refused.errors
    assert (error.pointer, error.code, error.given) == ("/rpe", "rpe_out_of_range", 11), error


def main() -> None:
    admin, app, coach = connect("PLIMSOLL_ADMIN"), connect("PLIMSOLL_APP"), connect("PLIMSOLL_COACH")
    people = add_people(admin)
    log_a_session(app, people[0])
    read_it_back(coach, people[0])
    assert page_through(coach) == ["P-01", "P-02", "P-03"]
    be_refused(app, people[0])
    print("Python: people added, a session logged and read back, a list paged, a refusal understood")


if __name__ == "__main__":
    main()
