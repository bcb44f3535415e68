"""Measures the weekly close of many clubs on one database, against reading the same day totals; see close.sh."""

import os
import subprocess
import sys
import time
from datetime import date, timedelta
from pathlib import Path

import clones
from club import Club
from service import Service

# So many clubs, and the week that is closed for all of them.
STEPS = [(4, 45), (40, 46)]
# Weeks before it that the close reads too.
LOOKS_BACK = 27


def close(service: Service, week: int) -> tuple[float, float]:
    """Seconds of the command, less those of the same command on weeks already closed, and its most memory in MB."""
    command = [service.program, "close-week", "--week", f"2026-W{week}"]
    found = []
    for _ in range(2):
        start = time.perf_counter()
        child = subprocess.Popen(command, env=service.environment, cwd=service.folder, stdout=subprocess.DEVNULL)
        _, status, usage = os.wait4(child.pid, 0)
        child.returncode = os.waitstatus_to_exitcode(status)
        found.append((time.perf_counter() - start, usage.ru_maxrss / 1024))
        if child.returncode != 0:
            raise SystemExit(f"close-week ended with {child.returncode}")
    (seconds, most), (nothing, _) = found
    return seconds - nothing, most


def read_alone(programs: Path, database_url: str, week: int) -> tuple[int, float]:
    """The rows of day totals that the close looks at, read and dropped: their number and the seconds."""
    monday = date.fromisocalendar(2026, week, 1)
    span = ["--from", str(monday - timedelta(weeks=LOOKS_BACK)), "--to", str(monday + timedelta(days=6))]
    command = [programs / "examples" / "plain", "--database-url", database_url, "pass", *span]
    done = subprocess.run(command, text=True, capture_output=True, check=True)
    rows, seconds = done.stdout.split()
    return int(rows), float(seconds)


def main(name: str, programs: Path, folder: Path, database_url: str):
    service = Service(programs, folder, database_url)
    try:
        club = Club(service, 300, 365)
        club.record(club.reports(98_550), 98_550)
    finally:
        service.stop()
    print(f"| **{name}**: clubs | close | memory at most | day totals read alone | ratio |")
    print("| --- | --- | --- | --- | --- |", flush=True)
    there = 1
    for clubs, week in STEPS:
        clones.add(database_url, club.id, clubs - there)
        there = clubs
        read_alone(programs, database_url, week)
        rows, alone = read_alone(programs, database_url, week)
        seconds, most = close(service, week)
        print(f"| {clubs} | {seconds:.2f} s | {most:.0f} MB | {rows:,} rows, {alone:.2f} s | {seconds / alone:.1f} |", flush=True)


if __name__ == "__main__":
    main(sys.argv[1], Path(sys.argv[2]), Path(sys.argv[3]), sys.argv[4])
