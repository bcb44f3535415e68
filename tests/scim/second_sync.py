#!/usr/bin/env python3
"""Takes the time of a first and a second sync of many users by SCIM, and looks for what the second one stored: nothing.

    tests/scim/second_sync.py [USERS]     5,000 unless said; SQLite, one client

As identity providers do it: each user is looked up by userName and then made, or put as she is; then each group. The program is the one
in $CARGO_TARGET_DIR/debug (else target/debug).
"""

import hashlib
import http.client
import json
import os
import sqlite3
import sys
import tempfile
import time
from pathlib import Path
from urllib.parse import quote

ROOT = Path(__file__).resolve().parent.parent.parent
PROGRAMS = Path(os.environ.get("CARGO_TARGET_DIR", ROOT / "target")) / "debug"

sys.path.insert(0, str(ROOT / "tests" / "bench"))
from service import Service  # noqa: E402

USER = "urn:ietf:params:scim:schemas:core:2.0:User"
GROUP = "urn:ietf:params:scim:schemas:core:2.0:Group"
ROSTER = "urn:plimsoll:scim:schemas:extension:roster:1.0:User"
SQUAD = 25


class Directory:
    """One client of a club's directory, on one connection."""

    def __init__(self, service: Service, club: str):
        self.connection = http.client.HTTPConnection("127.0.0.1", service.port, timeout=60)
        self.base = f"/scim/v2/clubs/{club}"
        self.headers = {"Authorization": f"Bearer {service.token('integration', club)}", "Content-Type": "application/scim+json"}

    def call(self, method: str, path: str, body: dict | None = None) -> dict:
        self.connection.request(method, f"{self.base}/{path}", body and json.dumps(body), self.headers)
        response = self.connection.getresponse()
        answer = response.read()
        if response.status >= 300:
            raise SystemExit(f"{method} {path}: {response.status} {answer[:500]!r}")
        return json.loads(answer)

    def found(self, kind: str, attribute: str, value: str) -> str | None:
        answer = self.call("GET", f"{kind}?filter={quote(f'{attribute} eq {json.dumps(value)}')}")
        return answer["Resources"][0]["id"] if answer["totalResults"] else None

    def keep(self, kind: str, attribute: str, body: dict) -> str:
        known = self.found(kind, attribute, body[attribute])
        return self.call("PUT", f"{kind}/{known}", body)["id"] if known else self.call("POST", kind, body)["id"]


def sync(directory: Directory, users: int) -> float:
    began, ids = time.monotonic(), []
    for number in range(users):
        name = f"player.{number:05}"
        roster = {"birthDate": "2011-03-14", "joinedOn": "2026-08-03", "guardians": [{"value": f"G-{number}"}]}
        # One in a hundred gets the guardian's check through everybody; the others come without guardians.
        if number % 100:
            del roster["guardians"]
        body = {"schemas": [USER, ROSTER], "userName": name, "externalId": f"P-{number:05}", "displayName": f"Player {number}", ROSTER: roster}
        ids.append(directory.keep("Users", "userName", body))
    for number in range(0, users, SQUAD):
        members = [{"value": one} for one in ids[number : number + SQUAD]]
        directory.keep("Groups", "externalId", {"schemas": [GROUP], "externalId": f"s-{number}", "displayName": f"Squad {number}", "members": members})
    return time.monotonic() - began


def stored(file: Path) -> dict[str, str]:
    """A hash of each table but of the list of who read what, and of the club's own row, which has the instant of the last write."""
    with sqlite3.connect(f"file:{file}?mode=ro", uri=True) as database:
        tables = [name for (name,) in database.execute("SELECT name FROM sqlite_master WHERE type = 'table'") if not name.startswith(("audit_", "clubs"))]
        return {name: hashlib.sha256(repr(sorted(map(repr, database.execute(f"SELECT * FROM {name}")))).encode()).hexdigest() for name in tables}


def main() -> int:
    users = int(sys.argv[1]) if len(sys.argv) > 1 else 5_000
    with tempfile.TemporaryDirectory(prefix="plimsoll-scim-") as name:
        folder = Path(name)
        service = Service(PROGRAMS, folder, f"sqlite://{folder}/plimsoll.sqlite")
        try:
            made = service.call("POST", "/v1/clubs", service.token("operator"), {"name": "HK Nordvang", "time_zone": "Europe/Copenhagen"})
            directory = Directory(service, made["club_id"])
            first = sync(directory, users)
            before = stored(folder / "plimsoll.sqlite")
            second = sync(directory, users)
            after = stored(folder / "plimsoll.sqlite")
        finally:
            service.stop()
    changed = [name for name in before if before[name] != after[name]]
    print(f"{users} users: first sync {first:.1f} s, second {second:.1f} s; tables changed by the second: {', '.join(changed) or 'none'}")
    return 1 if changed else 0


if __name__ == "__main__":
    raise SystemExit(main())
