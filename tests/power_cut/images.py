"""Cuts the power at random moments and looks at what is left."""

import contextlib
import os
import random
import sqlite3
import tempfile

import disk


def look_at(recorded, writers, number, seed):
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
            found = faults_of(os.path.join(folder, "plimsoll.sqlite"), writers, time)
        faults += [f"image {image} ({mode}, cut at {time:.6f}): {fault}" for fault in found]
        modes[mode] = modes.get(mode, 0) + 1
    return faults, modes


def memory():
    """A folder in memory, where the system has one."""
    return "/dev/shm" if os.access("/dev/shm", os.W_OK) else None


def faults_of(path, writers, time):
    try:
        with contextlib.closing(sqlite3.connect(path)) as database:
            return list(faults_in(database, writers, time))
    except sqlite3.DatabaseError as error:
        return [f"damaged: {error}"]


def faults_in(database, writers, time):
    integrity = database.execute("PRAGMA integrity_check").fetchall()
    if integrity != [("ok",)]:
        yield f"damaged: {integrity}"
    reports = "SELECT external_id, version, minutes, rpe_half FROM session_reports WHERE superseded_at IS NULL"
    stored = {}
    for id, *content in database.execute(reports):
        if id in stored:
            yield f"doubled: {id}"
        stored[id] = tuple(content)
    for writer in writers:
        for answered, made in writer.answered:
            if answered >= time:
                continue
            for id, content in made.items():
                now = stored.get(id)
                # A later write of the same report may have been stored before it was answered.
                if now is None or now[0] < content[0] or (now[0] == content[0] and now != content):
                    yield f"lost: {id} {content}, there is {now}"
        for ids in writer.together:
            there = sum(id in stored for id in ids)
            if there not in (0, len(ids)):
                yield f"half of a bulk call: {there} of {ids}"
    wrong_totals = """
        SELECT athlete_id, date, logged_half, sum FROM day_totals FULL JOIN (
            SELECT athlete_id, load_date AS date, sum(minutes * rpe_half) AS sum
            FROM session_reports WHERE superseded_at IS NULL AND deleted = 0 GROUP BY 1, 2
        ) USING (athlete_id, date) WHERE logged_half IS NOT sum"""
    for row in database.execute(wrong_totals):
        yield f"a day's total is not the sum of its reports: {row}"
    sequence = """
        SELECT count(*), count(DISTINCT seq), max(seq), (SELECT last_seq FROM clubs)
        FROM (SELECT seq FROM session_reports UNION ALL SELECT seq FROM athlete_versions UNION ALL SELECT seq FROM memberships)"""
    (numbers,) = database.execute(sequence)
    if len(set(numbers)) != 1:
        yield f"the sequence has gaps or doubles: {numbers}"
