"""What schemathesis is told of the service while it makes requests: lines of JSON, and ids of records that are there.

An id that is well formed is nearly always no record's, and every answer would be a 404. So most of them are exchanged for known
ones, in paths and in bodies; and most changes say that they know the version.
"""

import json
import os
import random
import uuid

import schemathesis

KNOWN = json.loads(os.environ["PLIMSOLL_RANDOM_IDS"])
CHOICE = random.Random(os.environ["PLIMSOLL_RANDOM_SEED"])


@schemathesis.serializer("application/x-ndjson")
def lines(_context, value) -> bytes:
    """One line of JSON an item."""
    items = value if isinstance(value, list) else [value]
    return "".join(json.dumps(item) + "\n" for item in items).encode()


def is_id(value) -> bool:
    try:
        return isinstance(value, str) and str(uuid.UUID(value)) == value.lower()
    except ValueError:
        return False


def exchange(values) -> None:
    """Known ids for well-formed ones, nine times out of ten."""
    if isinstance(values, list):
        for value in values:
            exchange(value)
    if not isinstance(values, dict):
        return
    for name, value in values.items():
        exchange(value)
        if name in KNOWN and is_id(value) and CHOICE.random() < 0.9:
            values[name] = CHOICE.choice(KNOWN[name])


@schemathesis.hook
def before_call(_context, case, _kwargs) -> None:
    exchange(case.path_parameters)
    exchange(case.body)
    if case.method in ("PUT", "PATCH", "DELETE") and CHOICE.random() < 0.5:
        case.headers["If-Match"] = "*"
