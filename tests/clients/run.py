#!/usr/bin/env python3
"""Generates a client from the committed document, checks that two small programs over it are typed, and runs them: a roster app, and
club IT's afternoon.

    tests/clients/run.py python       openapi-python-client and mypy
    tests/clients/run.py typescript   openapi-typescript, openapi-fetch and tsc

Nothing that is generated stays. The program is the one in $CARGO_TARGET_DIR/debug (else target/debug).
"""

import os
import shutil
import subprocess
import sys
import tempfile
from pathlib import Path

HERE = Path(__file__).resolve().parent
ROOT = HERE.parent.parent
DOCUMENT = ROOT / "openapi" / "openapi.json"
PROGRAMS = Path(os.environ.get("CARGO_TARGET_DIR", ROOT / "target")) / "debug"

sys.path.insert(0, str(ROOT / "tests" / "bench"))
from service import Service  # noqa: E402


def run(*command: str | Path, folder: Path, settings: dict[str, str] | None = None) -> None:
    environment = {**os.environ, **(settings or {})}
    done = subprocess.run(command, cwd=folder, env=environment, text=True, stdout=subprocess.PIPE, stderr=subprocess.STDOUT)
    if done.returncode != 0:
        raise SystemExit(f"{' '.join(map(str, command))} ended with {done.returncode}:\n{done.stdout}")
    if settings:
        print(done.stdout, end="")


def python(folder: Path, settings: dict[str, str]) -> None:
    tools = Path(sys.executable).parent
    generate = ["generate", "--path", DOCUMENT, "--output-path", folder / "plimsoll_client", "--meta", "none"]
    run(tools / "openapi-python-client", *generate, folder=folder)
    programs = ("client.py", "afternoon.py")
    for name in programs:
        shutil.copy(HERE / name, folder)
    # The types of the generated code are used; its own style is its generator's business.
    run(tools / "mypy", "--strict", "--follow-imports=silent", *programs, folder=folder)
    for name in programs:
        run(sys.executable, name, folder=folder, settings=settings)


def typescript(folder: Path, settings: dict[str, str]) -> None:
    for name in ("client.ts", "afternoon.ts", "package.json", "package-lock.json", "tsconfig.json"):
        shutil.copy(HERE / name, folder)
    run("npm", "ci", "--no-audit", "--no-fund", "--ignore-scripts", folder=folder)
    run("npx", "openapi-typescript", DOCUMENT, "--output", "plimsoll.d.ts", folder=folder)
    run("npx", "tsc", "--project", ".", folder=folder)
    for name in ("client.js", "afternoon.js"):
        run("node", name, folder=folder, settings=settings)


def club(service: Service) -> dict[str, str]:
    """A new club, and a token for each caller that the small programs have."""
    body = {"name": "HK Nordvang", "time_zone": "Europe/Copenhagen"}
    made = service.call("POST", "/v1/clubs", service.token("operator"), body)["club_id"]
    return {
        "PLIMSOLL_URL": service.url,
        "PLIMSOLL_CLUB": made,
        "PLIMSOLL_ADMIN": service.token("club_admin", made),
        "PLIMSOLL_APP": service.token("integration", made),
        "PLIMSOLL_COACH": service.token("coach", made),
    }


def main() -> None:
    clients = {"python": python, "typescript": typescript}
    if len(sys.argv) != 2 or sys.argv[1] not in clients:
        raise SystemExit(f"usage: tests/clients/run.py {'|'.join(clients)}")
    with tempfile.TemporaryDirectory(prefix="plimsoll-client-") as name:
        folder = Path(name)
        service = Service(PROGRAMS, folder, f"sqlite://{folder}/plimsoll.sqlite")
        try:
            clients[sys.argv[1]](folder, club(service))
        finally:
            service.stop()


if __name__ == "__main__":
    main()
