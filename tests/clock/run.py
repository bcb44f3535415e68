#!/usr/bin/env python3
"""A clock that is set while the service runs (libfaketime): four years forward, an hour back, six years back, and right again, on
SQLite and, where PLIMSOLL_TEST_POSTGRES_URL names a server, on PostgreSQL, whose clock stays right.

What must hold: no week is closed before its time and none twice; no notice is sent twice, none runs through its timetable, and new ones
do not wait for a clock that was ahead; health names the clock, and a skew of ten minutes to the database too. Time limits hang on a
counter that is not set. The program is the one in $CARGO_TARGET_DIR/debug (else target/debug).
"""

import collections
import contextlib
import glob
import http.server
import json
import os
import sys
import tempfile
import threading
import time
import urllib.error
import urllib.request
from concurrent.futures import ThreadPoolExecutor
from pathlib import Path

ROOT = Path(__file__).resolve().parent.parent.parent
PROGRAMS = Path(os.environ.get("CARGO_TARGET_DIR", ROOT / "target")) / "debug"
sys.path[:0] = [str(ROOT / "tests" / part) for part in ("bench", "contract", "mail")]
from random_requests import database  # noqa: E402
from server import until  # noqa: E402
from service import Service  # noqa: E402

LIBRARY = glob.glob("/usr/lib/*/faketime/libfaketime.so.1")
# A Sunday evening; week 2026-W47 is closed on the Monday at 06:00 in Copenhagen.
SUNDAY = "2026-11-22T20:00:00Z"
AFTERNOON = "2026-11-22T17:00:00Z"
# The closing job looks every 30 s.
TWO_LOOKS = 65


class Receiver(http.server.BaseHTTPRequestHandler):
    """Confirms its endpoint; refuses a message for as long as `refusing` says."""

    def do_POST(self):
        body = json.loads(self.rfile.read(int(self.headers["content-length"])))
        challenge = body["data"].get("challenge")
        if not challenge:
            self.server.arrived[body["id"]] += 1
            self.server.kinds[body["id"]] = body["type"]
        answer = json.dumps({"challenge": challenge}).encode()
        self.send_response(500 if self.server.refusing and not challenge else 200)
        self.send_header("content-length", str(len(answer)))
        self.end_headers()
        self.wfile.write(answer)

    def log_message(self, *_):
        pass


class Trial:
    """A club with a webhook, and a program whose machine shows the time that is set here."""

    def __init__(self, folder: Path, url: str):
        self.receiver = http.server.ThreadingHTTPServer(("127.0.0.1", 0), Receiver)
        self.receiver.arrived, self.receiver.kinds, self.receiver.refusing = collections.Counter(), {}, False
        threading.Thread(target=self.receiver.serve_forever, daemon=True).start()
        self.offset = folder / "offset"
        self.set("+0")
        settings = {
            "PLIMSOLL_CLOCK": SUNDAY,
            "PLIMSOLL_JOBS": "on",
            "PLIMSOLL_WEBHOOK_LOOPBACK": "on",
            "LD_PRELOAD": LIBRARY[0],
            "FAKETIME_TIMESTAMP_FILE": str(self.offset),
            "FAKETIME_NO_CACHE": "1",
            "FAKETIME_DONT_FAKE_MONOTONIC": "1",
        }
        self.service = Service(PROGRAMS, folder, url, settings=settings)
        made = {"name": "HK Nordvang", "time_zone": "Europe/Copenhagen"}
        club = self.service.call("POST", "/v1/clubs", self.service.token("operator"), made)["club_id"]
        self.club, self.admin = f"/v1/clubs/{club}", self._token(club)
        named = self.call("POST", "notice-endpoints", {"url": f"http://127.0.0.1:{self.receiver.server_port}/"})
        self.endpoint = f"notice-endpoints/{named['endpoint_id']}"
        until(lambda: self.call("GET", self.endpoint)["confirmed_at"])

    def _token(self, club: str) -> str:
        """Of the afternoon, so that it is valid an hour earlier too."""
        own = self.service.environment
        self.service.environment = {**own, "PLIMSOLL_CLOCK": AFTERNOON}
        token = self.service.token("club_admin", club)
        self.service.environment = own
        return token

    def set(self, offset: str) -> None:
        """Sets the machine's clock, so far from the right time."""
        new = self.offset.with_suffix(".new")
        new.write_text(offset)
        new.replace(self.offset)

    def call(self, method: str, path: str, body=None) -> dict:
        return self.service.call(method, f"{self.club}/{path}", self.admin, body)

    def status(self) -> int:
        """Of a request with the token."""
        request = urllib.request.Request(f"{self.service.url}{self.club}/notices", headers={"Authorization": f"Bearer {self.admin}"})
        try:
            with urllib.request.urlopen(request, timeout=10) as answer:
                return answer.status
        except urllib.error.HTTPError as refused:
            return refused.code

    def clock(self) -> list[str]:
        """What health says of the clock."""
        with urllib.request.urlopen(f"{self.service.url}/health/ready", timeout=10) as answer:
            return [cause["detail"] for cause in json.load(answer)["because"] if cause["source"] == "clock"]

    def closed(self) -> list[str]:
        """The weeks that were closed, by what was told of it."""
        notices = self.call("GET", "notices?limit=500")["items"]
        return [notice["week"] for notice in notices if notice["kind"] == "week_closed"]

    def send(self) -> str:
        return self.call("POST", f"{self.endpoint}/test", {})["notice_id"]

    def delivery(self, notice: str) -> dict:
        return self.call("GET", f"notices/{notice}/deliveries")["items"][0]

    def arrives(self, notice: str) -> None:
        until(lambda: self.delivery(notice)["state"] == "delivered")

    def close(self) -> None:
        self.service.stop()
        self.receiver.shutdown()


def expect(found, wanted) -> None:
    assert found == wanted, f"{found} is not {wanted}"


def skewed(trial: Trial, kind: str) -> None:
    """Ten minutes from the database's clock are told, and change nothing else."""
    for offset in ("+10m", "-10m"):
        trial.set(offset)
        expect(len(trial.clock()), 0 if kind == "sqlite" else 1)
        trial.arrives(trial.send())
    trial.set("+0")
    expect(trial.clock(), [])


def set_far(trial: Trial) -> None:
    """While the clock shows another year nothing is closed, nothing sent and nothing given up."""
    trial.receiver.refusing = True
    waiting = trial.send()
    until(lambda: len(trial.delivery(waiting)["attempts"]) == 2)
    endpoint = trial.call("GET", trial.endpoint)
    for offset, looks in (("+4y", TWO_LOOKS), ("-1h", 2), ("-6y", TWO_LOOKS), ("+4y", TWO_LOOKS)):
        trial.set(offset)
        time.sleep(looks)
        far = offset != "-1h"
        expect((offset, trial.status()), (offset, 401 if far else 200))
        assert bool(far) == any("was set" in detail for detail in trial.clock()), trial.clock()
    trial.set("+0")
    expect(trial.clock(), [])
    expect(trial.closed(), [])
    fared = trial.delivery(waiting)
    expect((fared["state"], len(fared["attempts"])), ("pending", 2))
    expect(trial.call("GET", trial.endpoint), endpoint)
    trial.receiver.refusing = False
    trial.call("POST", f"deliveries/{fared['delivery_id']}/redelivery", {})
    trial.arrives(waiting)
    trial.receiver.arrived[waiting] -= 2


def closed_once(trial: Trial) -> None:
    """The week is closed when its time has come, and neither a step back nor another year closes it again."""
    trial.set("+14h")
    until(trial.closed)
    ahead = trial.send()
    trial.arrives(ahead)
    trial.set("+0")
    # Stamps stay where the clock has been; what is new is sent all the same.
    trial.arrives(trial.send())
    for offset in ("-1h", "-6y", "+0"):
        trial.set(offset)
        time.sleep(TWO_LOOKS / 2)
    trial.arrives(trial.send())
    expect(trial.closed(), ["2026-W47"])


def on(kind: str) -> str:
    with tempfile.TemporaryDirectory(prefix="plimsoll-clock-") as name:
        with database(kind, Path(name)) as url, contextlib.closing(Trial(Path(name), url)) as trial:
            skewed(trial, kind)
            set_far(trial)
            closed_once(trial)
            kinds = collections.Counter(trial.receiver.kinds.values())
            expect(kinds["plimsoll.week_closed"], 1)
            twice = [notice for notice, times in trial.receiver.arrived.items() if times != 1]
            expect(twice, [])
            return f"{kind}: +4 years, -1 h, -6 years: 1 week closed, once; {kinds.total()} notices, each arrived once"


if __name__ == "__main__":
    if not LIBRARY:
        raise SystemExit("libfaketime is missing: install Debian's package libfaketime")
    kinds = ["sqlite"] + ["postgres"] * ("PLIMSOLL_TEST_POSTGRES_URL" in os.environ)
    with ThreadPoolExecutor() as both:
        for said in both.map(on, kinds):
            print(said)
