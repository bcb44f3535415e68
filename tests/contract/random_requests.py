#!/usr/bin/env python3
"""Random requests to every operation of the committed document, right ones and wrong ones; each answer is judged by it.

    tests/contract/random_requests.py sqlite|postgres [--requests 2000] [--seed N] [--systematic-one-in 1]

Nothing may fail on the service's side, and every answer must have a status, a media type and a body that the document knows
(schemathesis makes and judges the requests). The seed is printed; the same seed makes the same requests. The systematic ones, which try
every field at its borders and are eight in ten of all, are made to one operation in so many, which ones is up to the seed; 0 leaves
them out. A server on PostgreSQL is named by PLIMSOLL_TEST_POSTGRES_URL. The program is the one in $CARGO_TARGET_DIR/debug (else target/debug).
"""

import argparse
import contextlib
import json
import os
import random
import subprocess
import sys
import tempfile
import uuid
from collections import Counter
from pathlib import Path
from urllib.parse import urlsplit, urlunsplit

from never_accepted import AT_MOST, MAY_BE_NEVER_ACCEPTED
from world import DOCUMENT, ROOT, Document, Service, World

HERE = Path(__file__).resolve().parent
PROGRAMS = Path(os.environ.get("CARGO_TARGET_DIR", ROOT / "target")) / "debug"
RANDOM, SYSTEMATIC = ["examples", "fuzzing", "stateful"], ["coverage"]
CHECKS = [
    "not_a_server_error",
    "status_code_conformance",
    "content_type_conformance",
    "response_headers_conformance",
    "response_schema_conformance",
]


@contextlib.contextmanager
def database(kind: str, folder: Path):
    """The URL of a fresh database, removed afterwards."""
    if kind == "sqlite":
        yield f"sqlite://{folder}/plimsoll.sqlite"
        return
    server = os.environ["PLIMSOLL_TEST_POSTGRES_URL"]
    name = f"plimsoll_random_{uuid.uuid4().hex}"
    psql = ["psql", "--no-psqlrc", "--quiet", "--dbname", server, "--command"]
    subprocess.run([*psql, (ROOT / "tests" / "postgres_role.sql").read_text()], check=True)
    subprocess.run([*psql, f'CREATE DATABASE "{name}" OWNER plimsoll_app'], check=True)
    try:
        _, _, address = urlsplit(server).netloc.rpartition("@")
        yield urlunsplit(urlsplit(server)._replace(netloc=f"plimsoll_app:plimsoll_app@{address}", path=f"/{name}"))
    finally:
        subprocess.run([*psql, f'DROP DATABASE "{name}" WITH (FORCE)'], check=True)


def settings(document: Document, world: World) -> str:
    """schemathesis.toml: the token, and the role that each operation is called in."""
    lines = []
    for operation, (_, _, roles) in document.operations.items():
        if roles:
            # Athletes and guardians come first and reach their own records alone: some things they alone do.
            others = [role for role in roles if role not in ("athlete", "guardian")]
            role = "integration" if "integration" in roles else (others or roles)[-1]
            lines += ["[[operations]]", f"include-operation-id = {json.dumps(operation)}"]
            lines.append(f"headers = {{ Authorization = {json.dumps(f'Bearer {world.token}')}, Acting-Role = {json.dumps(role)} }}")
    return "\n".join(lines) + "\n"


def answers(events: Path, document: Document) -> dict[str, Counter]:
    """How often each operation was answered with each status."""
    names = {(method.upper(), path): name for name, (method, path, _) in document.operations.items()}
    found = {name: Counter() for name in names.values()}
    for line in events.read_text().splitlines():
        recorder = json.loads(line).get("ScenarioFinished", {}).get("recorder") or {}
        for case, interaction in recorder.get("interactions", {}).items():
            asked = recorder["cases"][case]["value"]
            name = names.get((asked["method"], asked["path"]))
            if name and interaction["response"]:
                found[name][interaction["response"]["status_code"]] += 1
    return found


def ask(
    service: Service, document: Document, folder: Path, phases: list[str], examples: int, seed: int, only: list[str] | None = None, good=0.3
) -> tuple[int, dict[str, Counter]]:
    """So many random examples an operation beside those of the other phases, of all or of some, and how many of the bodies are ones that
    are known to be good; the exit code, and the answers."""
    world = World(service, document)
    (folder / "schemathesis.toml").write_text(settings(document, world))
    known = json.dumps({name: sorted(values) for name, values in world.ids.items()})
    environment = {**os.environ, "PLIMSOLL_RANDOM_IDS": known, "PLIMSOLL_RANDOM_SEED": str(seed)}
    environment |= {"PLIMSOLL_RANDOM_BODIES": json.dumps(world.bodies), "PLIMSOLL_RANDOM_GOOD": str(good)}
    environment |= {"SCHEMATHESIS_HOOKS": "hooks", "PYTHONPATH": str(HERE)}
    events = folder / "events.ndjson"
    command = [Path(sys.executable).parent / "schemathesis", "--config-file", folder / "schemathesis.toml", "run", DOCUMENT]
    command += ["--url", service.url, "--seed", str(seed), "--max-examples", str(examples), "--continue-on-failure"]
    command += ["--phases", ",".join(phases)]
    command += ["--checks", ",".join(CHECKS), "--generation-database", "none", "--warnings", "off", "--no-color"]
    for name in only or ():
        command += ["--include-operation-id", name]
    command += ["--report", "ndjson", "--report-ndjson-path", events]
    done = subprocess.run(list(map(str, command)), cwd=folder, env=environment)
    return done.returncode, answers(events, document)


def main() -> None:
    parser = argparse.ArgumentParser()
    parser.add_argument("database", choices=["sqlite", "postgres"])
    parser.add_argument("--requests", type=int, default=2000)
    parser.add_argument("--seed", type=int, default=random.randrange(1 << 32))
    parser.add_argument("--systematic-one-in", type=int, default=1)
    given = parser.parse_args()
    print(f"seed {given.seed}: repeat with {Path(sys.argv[0]).name} {given.database} --requests {given.requests} --seed {given.seed}")
    document = Document()
    with tempfile.TemporaryDirectory(prefix="plimsoll-random-") as name, database(given.database, Path(name)) as url:
        service = Service(PROGRAMS, Path(name), url)
        try:
            examples = -(-given.requests // len(document.operations))
            failed, found = ask(service, document, Path(name), RANDOM, examples, given.seed)
            if chosen := chosen_for_systematic(document, given.systematic_one_in, given.seed):
                failed_there, more = ask(service, document, Path(name), SYSTEMATIC, examples, given.seed, chosen)
                failed, found = failed or failed_there, added(found, more)
            # What chance has not hit is tried again, more often, and mostly with what is known to be good.
            for time in range(1, TRIES):
                missed = [name for name in never_accepted(found) if name not in MAY_BE_NEVER_ACCEPTED]
                if not missed:
                    break
                print(f"asked again, since nothing of it was accepted: {', '.join(missed)}", flush=True)
                failed_again, again = ask(service, document, Path(name), RANDOM, AGAIN * examples, given.seed + time, missed, good=0.8)
                failed, found = failed or failed_again, added(found, again)
        finally:
            service.stop()
    statuses = sum(found.values(), Counter())
    print(f"{statuses.total()} requests to {len(found)} operations: {dict(sorted(statuses.items()))}")
    faults = faults_of_acceptance(never_accepted(found), document)
    for fault in faults:
        print(fault)
    if failed or faults or statuses.total() < given.requests:
        raise SystemExit(1)


def added(found: dict[str, Counter], more: dict[str, Counter]) -> dict[str, Counter]:
    return {operation: counts + more[operation] for operation, counts in found.items()}


def chosen_for_systematic(document: Document, one_in: int, seed: int) -> list[str]:
    """The operations whose turn it is: over as many runs all have theirs."""
    return sorted(document.operations)[seed % one_in :: one_in] if one_in else []


# How many times as many requests each further try makes, and how many tries there are.
AGAIN, TRIES = 5, 10


def never_accepted(found: dict[str, Counter]) -> list[str]:
    return [name for name, counts in found.items() if not any(200 <= status < 300 for status in counts)]


def faults_of_acceptance(never: list[str], document: Document) -> list[str]:
    """Requests that are all refused test refusals alone: each operation is accepted at least once, but for a list that only shrinks."""
    print(f"never accepted: {', '.join(never) or 'none'}")
    accepted = [name for name in MAY_BE_NEVER_ACCEPTED if name not in never]
    if accepted:
        print(f"accepted this time although it may be never accepted: {', '.join(accepted)}")
    faults = [f"never accepted, and not listed as such: {name}" for name in never if name not in MAY_BE_NEVER_ACCEPTED]
    gone = [f"listed as never accepted, and no operation: {name}" for name in MAY_BE_NEVER_ACCEPTED if name not in document.operations]
    longer = [] if len(MAY_BE_NEVER_ACCEPTED) <= AT_MOST else ["the list of what may be never accepted has grown"]
    return faults + gone + longer


if __name__ == "__main__":
    main()
