"""Runs wrk and reads what its script prints at the end."""

import subprocess
from dataclasses import dataclass
from pathlib import Path

SCRIPTS = Path(__file__).parent


@dataclass
class Rate:
    """Requests a second, and the time in ms within which 99 of 100 were answered."""

    per_second: float
    p99: float


def run(url: str, script: str, clients: int, seconds: int, *arguments: str) -> Rate:
    command = ["wrk", "-t2", f"-c{clients}", f"-d{seconds}s", "-s", SCRIPTS / script, url, "--", *arguments]
    done = subprocess.run(command, text=True, capture_output=True)
    results = [line.split() for line in done.stdout.splitlines() if line.startswith("RESULT")]
    if done.returncode != 0 or not results:
        raise SystemExit(f"wrk failed: {done.stdout}{done.stderr}")
    requests, microseconds, p99, failed = map(int, results[0][1:])
    if failed:
        raise SystemExit(f"{failed} of {requests} requests failed: {url} {script}")
    return Rate(requests / microseconds * 1e6, p99 / 1000)


def middle(rates: list[Rate]) -> Rate:
    """The round of the middle rate."""
    return sorted(rates, key=lambda rate: rate.per_second)[len(rates) // 2]
