#!/usr/bin/env python3
"""Random requests to every operation of the committed document, right ones and wrong ones; each answer is judged by it.

    tests/contract/random_requests.py sqlite|postgres [--requests 2000] [--seed N]

Nothing may fail on the service's side, and every answer must have a status, a media type and a body that the document knows
(schemathesis makes and judges the requests). The seed is printed; the same seed makes the same requests. A server on
PostgreSQL is named by PLIMSOLL_TEST_POSTGRES_URL. The program is the one in $CARGO_TARGET_DIR/debug (else target/debug).
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

from world import DOCUMENT, ROOT, Document, Service, World

HERE = Path(__file__).resolve().parent
PROGRAMS = Path(os.environ.get("CARGO_TARGET_DIR", ROOT / "target")) / "debug"
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
    subprocess.run([*psql, f'CREATE DATABASE "{name}"'], check=True)
    try:
        yield urlunsplit(urlsplit(server)._replace(path=f"/{name}"))
    finally:
        subprocess.run([*psql, f'DROP DATABASE "{name}" WITH (FORCE)'], check=True)


def settings(document: Document, world: World) -> str:
    """schemathesis.toml: the token, and the role that each operation is called in."""
    lines = []
    for operation, (_, _, roles) in document.operations.items():
        if roles:
            role = "integration" if "integration" in roles else roles[-1]
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


def ask(service: Service, document: Document, folder: Path, examples: int, seed: int) -> tuple[int, dict[str, Counter]]:
    """So many random examples an operation beside the systematic ones; the exit code, and the answers."""
    world = World(service, document)
    (folder / "schemathesis.toml").write_text(settings(document, world))
    known = json.dumps({name: sorted(values) for name, values in world.ids.items()})
    environment = {**os.environ, "PLIMSOLL_RANDOM_IDS": known, "PLIMSOLL_RANDOM_SEED": str(seed)}
    environment |= {"SCHEMATHESIS_HOOKS": "hooks", "PYTHONPATH": str(HERE)}
    events = folder / "events.ndjson"
    command = [Path(sys.executable).parent / "schemathesis", "--config-file", folder / "schemathesis.toml", "run", DOCUMENT]
    command += ["--url", service.url, "--seed", str(seed), "--max-examples", str(examples), "--continue-on-failure"]
    command += ["--checks", ",".join(CHECKS), "--generation-database", "none", "--warnings", "off", "--no-color"]
    command += ["--report", "ndjson", "--report-ndjson-path", events]
    done = subprocess.run(list(map(str, command)), cwd=folder, env=environment)
    return done.returncode, answers(events, document)


def main() -> None:
    parser = argparse.ArgumentParser()
    parser.add_argument("database", choices=["sqlite", "postgres"])
    parser.add_argument("--requests", type=int, default=2000)
    parser.add_argument("--seed", type=int, default=random.randrange(1 << 32))
    given = parser.parse_args()
    print(f"seed {given.seed}: repeat with {Path(sys.argv[0]).name} {given.database} --requests {given.requests} --seed {given.seed}")
    document = Document()
    with tempfile.TemporaryDirectory(prefix="plimsoll-random-") as name, database(given.database, Path(name)) as url:
        service = Service(PROGRAMS, Path(name), url)
        try:
            examples = -(-given.requests // len(document.operations))
            failed, found = ask(service, document, Path(name), examples, given.seed)
        finally:
            service.stop()
    statuses = sum(found.values(), Counter())
    print(f"{statuses.total()} requests to {len(found)} operations: {dict(sorted(statuses.items()))}")
    never = [name for name, counts in found.items() if not any(200 <= status < 300 for status in counts)]
    print(f"never accepted: {', '.join(never) or 'none'}")
    if failed or statuses.total() < given.requests:
        raise SystemExit(1)


if __name__ == "__main__":
    main()
