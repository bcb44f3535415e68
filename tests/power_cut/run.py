#!/usr/bin/env python3
"""Cuts the power from the program at random moments, on paper: records every write and sync of the real program on SQLite while
clients write down what they were answered, makes the disks that a power cut could have left, and opens each.

    tests/power_cut/run.py [--images N] [--writes N] [--program FILE]

Two recordings: with a sound disk, and with syncs that fail (EIO). What was answered with success must be on every disk.
Needs strace, and is left out where it may trace nothing; where nothing may be left out (PLIMSOLL_TEST_NO_SKIPS is set, as tests/run
sets it) that is a failure. Exits with 1 when something was lost, doubled or damaged.
"""

import argparse
import os
import shutil
import subprocess
import tempfile
import time

import disk
import images
import load

ROOT = os.path.dirname(os.path.dirname(os.path.dirname(os.path.abspath(__file__))))

# What strace makes of the syncs. Counted for each thread: every fifth from the third on fails.
CASES = {
    "a sound disk": [],
    "a disk whose syncs fail at times": ["-e", "inject=fdatasync,fsync:error=EIO:when=3+5"],
}


def main():
    options = argparse.ArgumentParser(description=__doc__.split("\n")[0])
    options.add_argument("--images", type=int, default=200)
    options.add_argument("--writes", type=int, default=20, help="writes of each of the eight clients")
    target = os.environ.get("CARGO_TARGET_DIR", os.path.join(ROOT, "target"))
    options.add_argument("--program", default=os.path.join(target, "debug", "plimsoll"))
    asked = options.parse_args()
    if why := untraceable():
        print(f"SKIPPED: strace may trace nothing here: {why}")
        return 1 if os.environ.get("PLIMSOLL_TEST_NO_SKIPS") else 0
    results = [run(name, case, asked, seed) for seed, (name, case) in enumerate(CASES.items(), 1)]
    return 0 if all(results) else 1


def untraceable():
    """Why no program can be traced here; empty where one can."""
    if not shutil.which("strace"):
        return "there is no strace"
    tried = subprocess.run(["strace", "-o", os.devnull, "true"], capture_output=True, text=True)
    return tried.stderr.strip() if tried.returncode else ""


def run(name, case, asked, seed):
    began = time.monotonic()
    with tempfile.TemporaryDirectory(prefix="plimsoll-power-cut-") as folder:
        service = load.Service(os.path.abspath(asked.program), folder)
        club, athletes = load.prepare(service)
        before = disk.contents(service.data)
        calls, clients = load.record(service, club, athletes, asked.writes, case, seed)
        recorded = disk.Disk(service.data, before, calls)
        faults, modes = images.look_at(recorded, clients, asked.images, seed)
        # The same disks if no sync had counted: they must show losses, or the images show nothing.
        unsynced = disk.Disk(service.data, before, [call for call in calls if call.name not in disk.SYNCS])
        assert images.look_at(unsynced, clients, 8, seed)[0], "without syncs nothing was lost either"
        # And a row less of any table that is looked at must be noticed.
        assert not (unseen := list(images.unseen_losses(recorded, clients))), f"a row less is not noticed: {unseen}"
        assert "panicked" not in service.log(), service.log()
    answered = sum(len(client.answered) for client in clients)
    refused = sum(client.refusals for client in clients)
    assert bool(case) == (recorded.failed_syncs > 0), "the syncs did not fail as they should"
    for fault in faults[:20]:
        print(fault)
    kinds = {kind: sum(f": {kind}" in fault for fault in faults) for kind in ("lost", "doubled", "damaged", "outbox", "keys")}
    print(
        f"{name}: {answered} calls answered with success, {refused} refused, {len(recorded.changes)} writes to files, "
        f"{recorded.syncs} syncs, {recorded.failed_syncs} of them failed; {asked.images} images {modes}: "
        f"{kinds}, {len(faults)} faults in all; {time.monotonic() - began:.0f} s"
    )
    return not faults


if __name__ == "__main__":
    raise SystemExit(main())
