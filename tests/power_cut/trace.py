"""Reads what `strace -f -y -xx -ttt -T` wrote: the calls that change files, in order, with their times.

Format: strace(1), options -f, -y, -xx, -ttt and -T.
"""

import re
from dataclasses import dataclass

# 1234 1764076800.123456 pwrite64(9<\x2f\x74…>, "\x53…", 4096, 8192) = 4096 <0.000021>
LINE = re.compile(r"(\d+) +(\d+\.\d+) (.*)")
RESUMED = re.compile(r"<\.\.\. \w+ resumed>(.*)")
CALL = re.compile(r"(\w+)\((.*)\) += (-?\d+)(?:<(\S*)>)?(?: (\w+) \(.*\))? <(\d+\.\d+)>$")
FILE = re.compile(r"(?:\d+|AT_FDCWD)<([^>]*)>")
STRING = re.compile(r'"((?:\\x[0-9a-f]{2})*)"(\.\.\.)?')

TRACED = "pwrite64,write,fdatasync,fsync,ftruncate,unlink,unlinkat,openat"


@dataclass
class Call:
    """One call: what it did to which file, when it began and when it was over."""

    name: str
    path: str
    began: float
    ended: float
    failed: bool
    data: bytes = b""
    offset: int = 0


def unhex(text):
    return bytes.fromhex(text.replace("\\x", ""))


def path_of(text):
    return unhex(text).decode() if text.startswith("\\x") else text


def read(file):
    """The calls of a trace, by the time at which they began."""
    calls, unfinished = [], {}
    for line in file:
        match = LINE.match(line)
        if not match:
            continue
        thread, time, text = match[1], float(match[2]), match[3]
        if text.endswith("<unfinished ...>"):
            unfinished[thread] = (time, text.removesuffix("<unfinished ...>").rstrip())
            continue
        if resumed := RESUMED.match(text):
            time, begun = unfinished.pop(thread)
            text = begun + resumed[1]
        if call := parse(time, text):
            calls.append(call)
    return sorted(calls, key=lambda call: call.began)


def parse(began, text):
    """One finished call, or None where it changes no file."""
    match = CALL.match(text)
    if not match:
        return None
    name, arguments, result, opened, _, took = match.groups()
    call = Call(name, "", began, began + float(took), int(result) < 0)
    if name == "openat":
        call.path = path_of(opened or "")
        return call if "O_CREAT" in arguments and not call.failed else None
    if name in ("unlink", "unlinkat"):
        call.path = unhex(STRING.search(arguments)[1]).decode()
        return call if not call.failed else None
    call.path = path_of(FILE.match(arguments)[1])
    if name in ("pwrite64", "write"):
        string = STRING.search(arguments)
        assert not string[2], "a write was cut short in the trace"
        # A call may write less than it was asked to.
        call.data = unhex(string[1])[: max(int(result), 0)]
    if name == "pwrite64":
        call.offset = int(arguments.rsplit(", ", 1)[1])
    if name == "ftruncate":
        call.offset = int(arguments.rsplit(", ", 1)[1])
    return call
