"""What a disk may hold after the power was cut.

A write is safe once an fsync or fdatasync of its file, begun after the write, has returned without an error. What is not safe
may be there, or not, or in part, in units of 512 bytes. What was written before an fsync that failed may be lost for good, even
when a later one succeeds, because the kernel does not try these pages again (PostgreSQL wiki, "Fsync Errors"). A new or removed
name is safe once its folder was synced. (POSIX.1-2017, fsync; SQLite documentation, "Atomic Commit In SQLite", section 2.)
"""

import os

SECTOR = 512
NEVER = float("inf")
SYNCS = ("fsync", "fdatasync")
MODES = ("dropped", "kept", "random", "torn")


def contents(folder):
    """The database and its log in a folder; the shared memory beside them is rebuilt by whoever opens them."""
    files = {}
    for name in filter(is_watched, os.listdir(folder)):
        with open(os.path.join(folder, name), "rb") as file:
            files[os.path.join(folder, name)] = file.read()
    return files


def is_watched(name):
    return name.endswith((".sqlite", "-wal"))


class Disk:
    """The files of one folder: as they were, and the calls that changed them."""

    def __init__(self, folder, before, calls):
        self.folder, self.before = folder, before
        watched = [call for call in calls if self.concerns(call)]
        syncs = [call for call in watched if call.name in SYNCS]
        self.syncs = len(syncs)
        self.failed_syncs = sum(call.failed for call in syncs)
        # Each change, with the time from which it is safe.
        self.changes = [
            (call, safe_from(call, syncs)) for call in watched if call.name not in SYNCS
        ]
        self.moments = [call.began for call in watched]

    def concerns(self, call):
        return call.path == self.folder or (call.path.startswith(self.folder + "/") and is_watched(call.path))

    def cut(self, time, mode, random):
        """The files after the power was cut just before `time`."""
        files = {path: bytearray(data) for path, data in self.before.items()}
        for call, safe in self.changes:
            if call.began < time:
                apply(files, call, mode if safe >= time else "kept", random)
        return files


def safe_from(change, syncs):
    """When the first sync that covers a change has returned: what it covers, a later one does not try again."""
    of_names = change.name in ("openat", "unlink", "unlinkat")
    target = os.path.dirname(change.path) if of_names else change.path
    for sync in syncs:
        if sync.path == target and sync.began >= change.ended:
            return NEVER if sync.failed else sync.ended
    return NEVER


def apply(files, call, mode, random):
    """Makes one change as the mode says: wholly, not at all, by chance, or in part."""
    if mode == "dropped" or (mode in ("random", "torn") and call.name != "pwrite64" and random.random() < 0.5):
        return
    if call.name == "openat":
        files.setdefault(call.path, bytearray())
    elif call.name in ("unlink", "unlinkat"):
        files.pop(call.path, None)
    elif call.path not in files:
        # Its name was never safe, so nothing leads to the content.
        return
    elif call.name == "ftruncate":
        file = files[call.path]
        del file[call.offset :]
        file.extend(bytes(call.offset - len(file)))
    else:
        write(files[call.path], call, mode, random)


def write(file, call, mode, random):
    if mode == "random" and random.random() < 0.5:
        return
    for at in range(0, len(call.data), SECTOR):
        if mode == "torn" and random.random() < 0.5:
            continue
        part = call.data[at : at + SECTOR]
        start = call.offset + at
        if start > len(file):
            file.extend(bytes(start - len(file)))
        file[start : start + len(part)] = part
