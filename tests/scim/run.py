#!/usr/bin/env python3
"""Judges the service's SCIM 2.0 by scim2-tester, a general-purpose checker of RFC 7643 and RFC 7644, on a new club.

    tests/scim/run.py [POSTGRES_URL]      on SQLite, or on a database of that server

It reads what the service says of itself and tries every attribute that its schemas have: POST, GET, PUT, PATCH and DELETE, lists,
searches and projections. The program is the one in $CARGO_TARGET_DIR/debug (else target/debug).
"""

import os
import sys
import tempfile
from pathlib import Path

from httpx2 import Client
from scim2_client.engines.httpx2 import SyncSCIMClient
from scim2_tester import Status, check_server

ROOT = Path(__file__).resolve().parent.parent.parent
PROGRAMS = Path(os.environ.get("CARGO_TARGET_DIR", ROOT / "target")) / "debug"

sys.path.insert(0, str(ROOT / "tests" / "bench"))
from service import Service  # noqa: E402

# The checker makes up any text where a schema says that it is one. These have a form, or decide what else is kept of a user; and it
# expects a value that it adds to be the only one, though it has added another with the whole extension before.
EXAMPLES = {
    "birth_date": ["2011-03-14", "2012-02-29"],
    "joined_on": ["2026-08-03", "2026-01-01"],
    "time_zone": ["Europe/Copenhagen", "Atlantic/Faroe"],
}
PARTS = {"roles": ["athlete"], "guardians": ["G-31"]}

ROSTER = "urn:plimsoll:scim:schemas:extension:roster:1.0:User"
# What is there again once it was removed, by default (RFC 7643, section 2.5: a service may assign one), where the checker expects nothing.
WITH_DEFAULT = {"active", ROSTER, f"{ROSTER}:joinedOn"}


def described(client: SyncSCIMClient) -> None:
    """Has the client read what the service publishes, and tells it which values attributes take."""
    client.discover()
    for model in client.provider.models:
        for name, field in model.model_fields.items():
            if name in EXAMPLES:
                field.examples = EXAMPLES[name]
            if name in PARTS:
                model.get_field_root_type(name).model_fields["value"].examples = PARTS[name]


def is_default(result) -> bool:
    """Whether a check failed only because a default was assigned."""
    named = result.title == "check_remove_attribute" and isinstance(result.data, dict)
    return named and result.data.get("urn") in WITH_DEFAULT and "initial_value" in result.data and "error" not in result.data


def check(service: Service) -> int:
    made = service.call("POST", "/v1/clubs", service.token("operator"), {"name": "HK Nordvang", "time_zone": "Europe/Copenhagen"})
    club = made["club_id"]
    headers = {"Authorization": f"Bearer {service.token('integration', club)}"}
    with Client(base_url=f"{service.url}/scim/v2/clubs/{club}", headers=headers) as http:
        client = SyncSCIMClient(http)
        described(client)
        results = check_server(client)
    failed = [result for result in results if result.status not in (Status.SUCCESS, Status.SKIPPED)]
    defaults = [result for result in failed if is_default(result)]
    failed = [result for result in failed if not is_default(result)]
    skipped = [result for result in results if result.status == Status.SKIPPED]
    for result in [*skipped, *failed]:
        print(f"{result.status.name} {result.resource_type or ''} {result.title}: {result.reason}")
    print(f"{len(results)} checks, {len(skipped)} skipped, {len(defaults)} of defaults set aside, {len(failed)} failed")
    # As many as there are where everything is tried: fewer, and something was not looked at.
    return 1 if failed or skipped or len(results) < 60 else 0


def main() -> int:
    with tempfile.TemporaryDirectory(prefix="plimsoll-scim-") as name:
        folder = Path(name)
        url = sys.argv[1] if len(sys.argv) > 1 else f"sqlite://{folder}/plimsoll.sqlite"
        service = Service(PROGRAMS, folder, url)
        try:
            return check(service)
        finally:
            service.stop()


if __name__ == "__main__":
    raise SystemExit(main())
