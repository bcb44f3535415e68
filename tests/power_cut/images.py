"""Cuts the power at random moments and looks at what is left."""

import contextlib
import json
import os
import random
import sqlite3
import tempfile
import uuid
from collections import Counter

import disk
import load


def look_at(recorded, clients, number, seed):
    """Makes so many images and gives what is wrong with them: losses, doubles, damage."""
    chance = random.Random(seed)
    faults, modes = [], {}
    for image in range(number):
        time, mode = chance.choice(recorded.moments), disk.MODES[image % len(disk.MODES)]
        files = recorded.cut(time, mode, chance)
        with tempfile.TemporaryDirectory(prefix="plimsoll-image-", dir=memory()) as folder:
            for path, data in files.items():
                with open(os.path.join(folder, os.path.basename(path)), "wb") as file:
                    file.write(data)
            found = faults_of(os.path.join(folder, "plimsoll.sqlite"), clients, time)
        faults += [f"image {image} ({mode}, cut at {time:.6f}): {fault}" for fault in found]
        modes[mode] = modes.get(mode, 0) + 1
    return faults, modes


# One row less of each table: the checks must see it, or they see nothing.
LOSSES = {
    "session_reports": "session_id", "notice_endpoints": "endpoint_id", "notices": "notice_id", "deliveries": "delivery_id",
    "idempotency_keys": "key_hash", "audit_reads": "audit_id", "flag_versions": "flag_id",
}


def unseen_losses(recorded, clients):
    """The tables of which a row can be taken from the last of all disks without a fault being found."""
    files = recorded.cut(disk.NEVER, "kept", random.Random(0))
    for table, key in LOSSES.items():
        with tempfile.TemporaryDirectory(prefix="plimsoll-image-", dir=memory()) as folder:
            for path, data in files.items():
                with open(os.path.join(folder, os.path.basename(path)), "wb") as file:
                    file.write(data)
            path = os.path.join(folder, "plimsoll.sqlite")
            with contextlib.closing(sqlite3.connect(path)) as database:
                for (trigger,) in database.execute("SELECT name FROM sqlite_master WHERE type = 'trigger'").fetchall():
                    database.execute(f"DROP TRIGGER {trigger}")
                database.execute(f"DELETE FROM {table} WHERE {key} = (SELECT max({key}) FROM {table})")
                database.commit()
            if not faults_of(path, clients, disk.NEVER):
                yield table


def memory():
    """A folder in memory, where the system has one."""
    return "/dev/shm" if os.access("/dev/shm", os.W_OK) else None


def faults_of(path, clients, time):
    try:
        with contextlib.closing(sqlite3.connect(path)) as database:
            return list(faults_in(database, clients, time))
    except sqlite3.DatabaseError as error:
        return [f"damaged: {error}"]


def faults_in(database, clients, time):
    integrity = database.execute("PRAGMA integrity_check").fetchall()
    if integrity != [("ok",)]:
        yield f"damaged: {integrity}"
        return
    stored = {}
    for id, *content in database.execute(REPORTS):
        if id in stored:
            yield f"doubled: {id}"
        stored[id] = tuple(content)
    there = {"report": stored, "endpoint": ids(database, "endpoint_id", "notice_endpoints"), "notice": ids(database, "notice_id", "notices")}
    yield from lost(clients, time, there, stored)
    yield from keys(database, clients, there)
    yield from outbox(database)
    yield from audit(database, clients, time)
    for row in database.execute(WRONG_TOTALS):
        yield f"a day's total is not the sum of its reports: {row}"
    yield from sequence(database)


REPORTS = "SELECT external_id, version, minutes, rpe_half FROM session_reports WHERE superseded_at IS NULL"

WRONG_TOTALS = """
    SELECT athlete_id, date, logged_half, sum FROM day_totals FULL JOIN (
        SELECT athlete_id, load_date AS date, sum(minutes * rpe_half) AS sum
        FROM session_reports WHERE superseded_at IS NULL AND deleted = 0 GROUP BY 1, 2
    ) USING (athlete_id, date) WHERE logged_half IS NOT sum"""


def ids(database, column, table):
    return {str(uuid.UUID(bytes=id)) for (id,) in database.execute(f"SELECT {column} FROM {table}")}


def lost(clients, time, there, stored):
    """What was answered before the cut and is not there, and bulk calls of which a part is."""
    for writer in (client for client in clients if isinstance(client, load.Writer)):
        for answered, made in writer.answered:
            if answered >= time:
                continue
            for id, content in made.items():
                now = stored.get(id)
                # A later write of the same report may have been stored before it was answered.
                if now is None or now[0] < content[0] or (now[0] == content[0] and now != content):
                    yield f"lost: {id} {content}, there is {now}"
        for ids in writer.together:
            number = sum(id in stored for id in ids)
            if number not in (0, len(ids)):
                yield f"half of a bulk call: {number} of {ids}"
    for keeper in (client for client in clients if isinstance(client, load.Keeper)):
        for answered, made in keeper.answered:
            for kind, id in made.items():
                if answered < time and id not in there[kind]:
                    yield f"lost: {kind} {id}"


def keys(database, clients, there):
    """Each write that is there has its key, and no key is kept of one that is not: they are one transaction."""
    visible = 0
    for client in clients:
        if isinstance(client, load.Reader):
            continue
        for _, made in client.answered:
            visible += all(is_there(there, *one) for one in made.items())
    (kept,) = database.execute("SELECT count(*) FROM idempotency_keys").fetchone()
    if kept != visible:
        yield f"keys: {kept} are kept of {visible} writes that are there"


def is_there(there, name, promised):
    """A report in at least the version promised, an endpoint, or a notice."""
    if name in there:
        return promised in there[name]
    now = there["report"].get(name)
    return now is not None and now[0] >= promised[0]


def outbox(database):
    """No row without its outbox event: a flag that was judged anew has its notice, made in the same instant, a notice a delivery for each
    endpoint there was, and an endpoint its challenge. And no event without its row."""
    told = Counter()
    for at, payload in database.execute("SELECT created_at, payload FROM notices WHERE kind = 'week_corrected'"):
        told.update((flag["flag_id"], at) for flag in json.loads(payload)["flags"])
    judged = Counter((str(uuid.UUID(bytes=flag)), at) for flag, at in database.execute(JUDGED_ANEW))
    if told != judged:
        yield f"outbox: {(judged - told).total()} judgements are not told, {(told - judged).total()} are told and are not there"
    for row in database.execute(UNDELIVERED):
        yield f"outbox: no delivery or several of a notice: {row}"
    for row in database.execute(UNCHALLENGED):
        yield f"outbox: an endpoint without its challenge: {row}"


JUDGED_ANEW = "SELECT flag_id, received_at FROM flag_versions WHERE cause <> 'week_closed'"

# A notice of the week is for every endpoint that was there; a challenge and a test are for one.
UNDELIVERED = """
    SELECT kind, created_at, deliveries, wanted FROM (
        SELECT kind, created_at,
            (SELECT count(*) FROM deliveries WHERE deliveries.notice_id = notices.notice_id) AS deliveries,
            CASE WHEN kind IN ('challenge', 'test') THEN 1
                ELSE (SELECT count(*) FROM notice_endpoints WHERE notice_endpoints.created_at < notices.created_at) END AS wanted
        FROM notices
    ) WHERE deliveries <> wanted"""

UNCHALLENGED = """
    SELECT endpoint_id FROM notice_endpoints
    WHERE challenge_id IS NULL OR challenge_id NOT IN (SELECT notice_id FROM notices WHERE kind = 'challenge')"""


def audit(database, clients, time):
    """A read that was answered is in the list, and the list has no gap up to its end."""
    there = {id for (id,) in database.execute("SELECT request_id FROM audit_reads")}
    for reader in (client for client in clients if isinstance(client, load.Reader)):
        for answered, id in reader.answered:
            if answered < time and id not in there:
                yield f"lost: the audit row of the read {id}"
    numbers = [number for (number,) in database.execute("SELECT number FROM audit_reads ORDER BY number")]
    end = database.execute("SELECT max(number) FROM audit_heads").fetchone()[0] or 0
    if numbers != list(range(1, end + 1)):
        yield f"the audit list has a gap: its end is {end}, there are {len(numbers)} rows"


def sequence(database):
    """Every number of the club's sequence is used once, in whichever table."""
    tables = [name for (name,) in database.execute("SELECT name FROM sqlite_master WHERE type = 'table'")]
    numbered = [table for table in tables if any(column[1] == "seq" for column in database.execute(f"PRAGMA table_info({table})"))]
    every = " UNION ALL ".join(f"SELECT seq FROM {table}" for table in numbered)
    query = f"SELECT count(*), count(DISTINCT seq), max(seq), (SELECT last_seq FROM clubs) FROM ({every})"
    (numbers,) = database.execute(query)
    if len(set(numbers)) != 1:
        yield f"the sequence has gaps or doubles: {numbers}"
