"""What schemathesis is told of the service while it makes requests: lines of JSON, and ids of records that are there.

An id that is well formed is nearly always no record's, and every answer would be a 404. So most of them are exchanged for known
ones, in paths and in bodies; most changes say that they know the version, and some bodies are ones that were accepted before. The
first record of each kind is never deleted, so that it can be read to the end.
"""

import copy
import json
import os
import random
import re
import uuid

import schemathesis

KNOWN = json.loads(os.environ["PLIMSOLL_RANDOM_IDS"])
GOOD = json.loads(os.environ["PLIMSOLL_RANDOM_BODIES"])
# How often one of those takes the place of a body.
SHARE_OF_GOOD = float(os.environ["PLIMSOLL_RANDOM_GOOD"])
# Sign-offs are of the second athlete, since nobody signs off whom she is the guardian of; see world.py.
SIGNED_OFF = KNOWN["athlete_id"][1]
# What an id of version 7 begins with: milliseconds.
MADE_AT = (1_794_000_000_000).to_bytes(6, "big")
CHOICE = random.Random(os.environ["PLIMSOLL_RANDOM_SEED"])


@schemathesis.serializer("application/x-ndjson")
def lines(_context, value) -> bytes:
    """One line of JSON an item."""
    items = value if isinstance(value, list) else [value]
    return "".join(json.dumps(item) + "\n" for item in items).encode()


@schemathesis.serializer("text/calendar")
def text(_context, value) -> bytes:
    """As it is."""
    return (value if isinstance(value, str) else json.dumps(value)).encode()


def is_id(value) -> bool:
    try:
        return isinstance(value, str) and str(uuid.UUID(value)) == value.lower()
    except ValueError:
        return False


def exchange(values, deleted=None) -> None:
    """Known ids for well-formed ones, nine times out of ten: mostly the first, which belong together, and of what is deleted another."""
    if isinstance(values, list):
        for value in values:
            exchange(value)
    if not isinstance(values, dict):
        return
    for name, value in values.items():
        exchange(value)
        # Exercises are named by codes.
        if name in KNOWN and (is_id(value) or name == "exercise") and CHOICE.random() < 0.9:
            known = KNOWN[name]
            if name == deleted and len(known) > 1:
                values[name] = CHOICE.choice(known[1:])
            else:
                values[name] = known[0] if CHOICE.random() < 0.5 else CHOICE.choice(known)


def fits(body, media_type: str) -> bool:
    return media_type.startswith("text/") if isinstance(body, str) else media_type.endswith("json")


def make(case) -> None:
    """Puts the accepted body under an id that is new, in the known club: a known id is a record of another body."""
    *parents, made = re.findall(r"{(\w+)}", case.path)
    case.path_parameters |= {name: KNOWN[name][0] for name in parents}
    if made == "sign_off_id":
        case.path_parameters["athlete_id"] = SIGNED_OFF
    case.path_parameters[made] = str(uuid.UUID(bytes=MADE_AT + b"\x70" + CHOICE.randbytes(1) + b"\x80" + CHOICE.randbytes(7)))


@schemathesis.hook
def before_call(_context, case, _kwargs) -> None:
    good = [body for body in GOOD.get(f"{case.method} {case.path}", ()) if fits(body, case.media_type or "")]
    if good and CHOICE.random() < SHARE_OF_GOOD:
        case.body = copy.deepcopy(CHOICE.choice(good))
        if case.method == "PUT" and case.path.endswith("}") and CHOICE.random() < 0.5:
            make(case)
            return
    named = re.findall(r"{(\w+)}", case.path)
    exchange(case.path_parameters, deleted=named[-1] if named and case.method == "DELETE" else None)
    exchange(case.body)
    if "sign_off_id" in named and CHOICE.random() < 0.7:
        case.path_parameters["athlete_id"] = SIGNED_OFF
    # What one request erases the others would not find.
    if case.operation.path.endswith("/erasure") and str((case.query or {}).get("dry_run", "false")).lower() == "false":
        case.query = {**(case.query or {}), "dry_run": "true"}
    if case.method in ("PUT", "PATCH", "DELETE") and CHOICE.random() < 0.5:
        case.headers["If-Match"] = "*"
