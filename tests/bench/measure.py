"""What is measured, each against the plain side in the same run."""

import json
import random
import subprocess
import time
from datetime import timedelta
from pathlib import Path

import wrk
from club import Club
from service import Service

SECONDS = 8
ROUNDS = 3


def days(service: Service, plain: Service, club: Club, length: int) -> dict:
    """`GET …/load` over the last `length` days, four clients, random athletes of the club."""
    first = club.last - timedelta(days=length - 1)
    return athlete_read(service, plain, club, f"load?from={first}&to={club.last}", club.coach)


def history(service: Service, plain: Service, club: Club) -> dict:
    """`GET …/history` over all days of the club, four clients, random athletes of it."""
    trainer = service.token("athletic_trainer", club.id)
    return athlete_read(service, plain, club, f"history?from={club.first}&to={club.last}&purpose=screening", trainer)


def athlete_read(service: Service, plain: Service, club: Club, asked: str, token: str) -> dict:
    """A read of one athlete, against the plain server that reads all the athlete's days and sends as many bytes."""
    path = f"{club.path}/athletes/%s/{asked}"
    service.call("GET", path % club.athletes[0], token)
    size = service.answer_bytes
    plain_path = f"/days/{club.id}/%s?from={club.first}&to={club.last}&bytes={size}"
    athletes = service.folder / "athletes"
    athletes.write_text("\n".join(club.athletes))
    ours, theirs = [], []
    for _ in range(ROUNDS):
        ours.append(wrk.run(service.url, "days.lua", 4, SECONDS, path, str(athletes), token))
        theirs.append(wrk.run(plain.url, "days.lua", 4, SECONDS, plain_path, str(athletes), "none"))
    return {"bytes": size, "ours": wrk.middle(ours), "plain": wrk.middle(theirs)}


def singles(service: Service, plain: Service, clubs: list[Club]) -> dict:
    """`POST …/sessions`, eight clients, reports of the last 14 days in random clubs of these."""
    chance = random.Random(7)
    slots = [(club, athlete, day, hour) for club in clubs for athlete in club.athletes for day in range(14) for hour in (5, 20, 22)]
    chance.shuffle(slots)
    share = len(slots) // ROUNDS
    upserts = [upsert(*slot) for slot in slots[:10_000]]
    ours, theirs = [], []
    for number in range(ROUNDS):
        ours.append(post(service, "once", (single(*slot, chance) for slot in slots[share * number : share * (number + 1)])))
        theirs.append(post(plain, "again", upserts))
    return {"ours": wrk.middle(ours), "plain": wrk.middle(theirs)}


def single(club: Club, athlete: str, day: int, hour: int, chance: random.Random) -> str:
    on = club.last - timedelta(days=day + 1 if hour > 12 else day)
    return f"{club.path}/sessions {club.writer} {json.dumps(club.report(athlete, on, hour, chance))}"


def upsert(club: Club, athlete: str, day: int, hour: int) -> str:
    row = {"athlete_id": athlete, "date": str(club.last - timedelta(days=day)), "load_half_au": 1080, "minutes": 90}
    return f"/upsert/{club.id} none {json.dumps(row)}"


def post(service: Service, repeat: str, lines) -> wrk.Rate:
    file = service.folder / "requests"
    file.write_text("\n".join(lines))
    return wrk.run(service.url, "post.lua", 8, SECONDS, str(file), "2", repeat)


def bulk(service: Service, programs: Path, database_url: str) -> dict:
    """10,000 rows as JSON and as NDJSON, and the rows they left written once more without the service."""
    times: dict[str, list[float]] = {"json": [], "ndjson": [], "plain": []}
    for number in range(ROUNDS):
        club = Club(service, 300, 42)
        rows = list(club.reports(10_000, seed=number))
        body = json.dumps({"sessions": rows}).encode()
        start = time.perf_counter()
        answer = service.call("POST", f"{club.path}/sessions/bulk", club.writer, body)
        times["json"].append(time.perf_counter() - start)
        if answer["accepted"] != 10_000:
            raise SystemExit(f"{answer['accepted']} of 10,000 rows were accepted")
        other = Club(service, 300, 42)
        chunks = list(other.ndjson(other.reports(10_000, seed=number)))
        start = time.perf_counter()
        service.stream(f"{other.path}/sessions/bulk", other.writer, chunks)
        times["ndjson"].append(time.perf_counter() - start)
        times["plain"].append(copy(programs, database_url, club))
    return {name: sorted(seconds)[ROUNDS // 2] for name, seconds in times.items()}


def copy(programs: Path, database_url: str, club: Club) -> float:
    span = ["--from", str(club.first), "--to", str(club.last)]
    command = [programs / "examples" / "plain", "--database-url", database_url, "copy", "--club", club.id, *span]
    done = subprocess.run(command, text=True, capture_output=True, check=True)
    rows, seconds = done.stdout.split()
    if rows != "10000":
        raise SystemExit(f"{rows} rows were copied")
    return float(seconds)


def memory(service: Service, club: Club, sizes: list[int]) -> list[dict]:
    """The most memory the service held while it took a stream of so many rows; the streams follow one another."""
    reports = club.reports(sum(sizes))
    results = []
    for size in sizes:
        service.forget_peak()
        start = time.perf_counter()
        club.record((next(reports) for _ in range(size)), size)
        seconds = time.perf_counter() - start
        results.append({"rows": size, "mb": service.memory("VmHWM"), "seconds": seconds})
    return results


def close(service: Service, club: Club, week: str) -> float:
    """The weekly close of a club: the command, less the same command on the week already closed."""
    seconds = []
    for _ in range(2):
        start = time.perf_counter()
        service.command("close-week", "--week", week, "--club", club.id)
        seconds.append(time.perf_counter() - start)
    return seconds[0] - seconds[1]
