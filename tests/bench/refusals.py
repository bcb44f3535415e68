#!/usr/bin/env python3
"""Whether the time of a refusal tells that a record exists: a coach asks for athletes of another squad, for athletes of another club and
for ids that nobody has, in turn. All are 404.

    tests/bench/refusals.py [--requests N] [--programs FOLDER]

For each it prints median and quartiles, and the share of pairs (asked one after the other) in which the first took longer; 50 % says
nothing. Common practice, no source: a difference below the spread of one kind cannot be told from outside. The program is the one in
the folder, else the release build. On SQLite, and on PostgreSQL where PLIMSOLL_TEST_POSTGRES_URL names a server.
"""

import argparse
import http.client
import os
import statistics
import sys
import tempfile
import time
import uuid
from pathlib import Path

ROOT = Path(__file__).resolve().parent.parent.parent
sys.path[:0] = [str(ROOT / "tests" / "contract")]
from random_requests import database  # noqa: E402
from service import Service  # noqa: E402

RELEASE = Path(os.environ.get("CARGO_TARGET_DIR", ROOT / "target")) / "release"
ATHLETES = 20


class World:
    """Two clubs: in the first a squad that the caller trains and one that she does not."""

    def __init__(self, service: Service):
        self.service = service
        self.club, self.other = self.made("HK Nordvang"), self.made("HK Fjordby")
        own, foreign = self.squad(self.club), self.squad(self.club)
        self.kinds = {
            "another squad's": self.athletes(self.club, foreign),
            "another club's": self.athletes(self.other, self.squad(self.other)),
            "nobody's": [str(uuid.uuid4()) for _ in range(ATHLETES)],
        }
        limited = ["--squad", own, "--club", self.club]
        self.coach = service.command("token", "--role", "coach", "--subject", "coach", "--ttl", "24h", *limited)

    def made(self, name: str) -> str:
        body = {"name": name, "time_zone": "Europe/Copenhagen"}
        return self.service.call("POST", "/v1/clubs", self.service.token("operator"), body)["club_id"]

    def squad(self, club: str) -> str:
        admin = self.service.token("club_admin", club)
        return self.service.call("POST", f"/v1/clubs/{club}/squads", admin, {"name": "U16"})["squad_id"]

    def athletes(self, club: str, squad: str) -> list[str]:
        admin = self.service.token("club_admin", club)
        made = []
        for number in range(ATHLETES):
            body = {"display_name": f"P-{number}", "joined_on": "2026-09-01", "squads": [squad]}
            made.append(self.service.call("POST", f"/v1/clubs/{club}/athletes", admin, body)["athlete_id"])
        return made


def seconds(connection: http.client.HTTPConnection, path: str, token: str) -> float:
    start = time.perf_counter()
    connection.request("GET", path, headers={"Authorization": f"Bearer {token}"})
    answer = connection.getresponse()
    answer.read()
    took = time.perf_counter() - start
    assert answer.status == 404, (path, answer.status)
    return took


def measure(kind: str, programs: Path, requests: int) -> None:
    with tempfile.TemporaryDirectory(prefix="plimsoll-refusals-") as name, database(kind, Path(name)) as url:
        service = Service(programs, Path(name), url)
        world = World(service)
        connection = http.client.HTTPConnection("127.0.0.1", service.port, timeout=60)
        for ending in ("load?from=2026-11-01&to=2026-11-20", "weeks?from=2026-W40&to=2026-W46", ""):
            took = {of: [] for of in world.kinds}
            for number in range(requests):
                for of, ids in world.kinds.items():
                    path = f"/v1/clubs/{world.club}/athletes/{ids[number % ATHLETES]}/{ending}".rstrip("/")
                    took[of].append(seconds(connection, path, world.coach))
            nobodys = took["nobody's"]
            for of, times in took.items():
                low, middle, high = (1e6 * one for one in statistics.quantiles(times, n=4))
                longer = 100 * sum(one > other for one, other in zip(times, nobodys)) / requests
                print(f"{kind} …/{ending.split('?')[0]:6} {of:16} {middle:7.0f} us ({low:.0f} to {high:.0f}); longer than nobody's in {longer:.1f} %")
        service.stop()


if __name__ == "__main__":
    given = argparse.ArgumentParser(description=__doc__)
    given.add_argument("--requests", type=int, default=2000)
    given.add_argument("--programs", type=Path, default=RELEASE)
    asked = given.parse_args()
    measure("sqlite", asked.programs, asked.requests)
    if "PLIMSOLL_TEST_POSTGRES_URL" in os.environ:
        measure("postgres", asked.programs, asked.requests)
