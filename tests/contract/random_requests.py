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
from pathlib import Path
from urllib.parse import urlsplit, urlunsplit

from world import DOCUMENT, ROOT, Document, Service, World

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
    """schemathesis.toml: known ids for most requests, and the role that each operation is called in."""
    lines = []
    for name, values in sorted(world.ids.items()):
        lines += [f"[dictionaries.{name}]", f"values = {json.dumps(sorted(values))}"]
    lines.append("[parameters]")
    lines += [f'"path.{name}" = {{ dictionary = "{name}", probability = 0.9 }}' for name in sorted(document.ids())]
    for operation, (_, _, roles) in document.operations.items():
        if roles:
            lines += ["[[operations]]", f"include-operation-id = {json.dumps(operation)}"]
            lines.append(f"headers = {{ Authorization = {json.dumps(f'Bearer {world.token}')}, Acting-Role = {json.dumps(roles[-1])} }}")
    return "\n".join(lines) + "\n"


def ask(service: Service, document: Document, folder: Path, examples: int, seed: int) -> tuple[int, int]:
    """So many examples an operation; the exit code, and the number of requests."""
    (folder / "schemathesis.toml").write_text(settings(document, World(service, document)))
    events = folder / "events.ndjson"
    command = [Path(sys.executable).parent / "schemathesis", "--config-file", folder / "schemathesis.toml", "run", DOCUMENT]
    command += ["--url", service.url, "--seed", str(seed), "--max-examples", str(examples), "--continue-on-failure"]
    command += ["--checks", ",".join(CHECKS), "--generation-database", "none", "--warnings", "off", "--no-color"]
    command += ["--report", "ndjson", "--report-ndjson-path", events]
    done = subprocess.run(list(map(str, command)), cwd=folder)
    return done.returncode, events.read_text().count('"request"')


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
            failed, requests = ask(service, document, Path(name), examples, given.seed)
        finally:
            service.stop()
    print(f"{requests} requests to {len(document.operations)} operations")
    if failed or requests < given.requests:
        raise SystemExit(1)


if __name__ == "__main__":
    main()
