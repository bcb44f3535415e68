#!/usr/bin/env python3
"""Mail of the running program against a real SMTP server (aiosmtpd), faults included (T-27), on SQLite and, where
PLIMSOLL_TEST_POSTGRES_URL names a server, on PostgreSQL.

What must hold: 4xx is tried again and 5xx is not; every attempt carries the same Message-ID and the same bytes; what was taken is not
sent again; what may have been taken is sent again half an hour later; a mail server that is gone loses nothing and is seen in health
and metrics; with STARTTLS and with TLS from the first byte mail is taken, and a server whose certificate is not good is told nothing. The program is the one in $CARGO_TARGET_DIR/debug (else target/debug).
"""

import collections
import contextlib
import datetime
import json
import os
import random
import re
import sqlite3
import subprocess
import sys
import tempfile
import time
import urllib.request
import uuid
from pathlib import Path

from certificates import Authority
from server import MailServer, until

ROOT = Path(__file__).resolve().parent.parent.parent
PROGRAMS = Path(os.environ.get("CARGO_TARGET_DIR", ROOT / "target")) / "debug"
sys.path[:0] = [str(ROOT / "tests" / "bench"), str(ROOT / "tests" / "contract")]
from random_requests import database  # noqa: E402
from service import Service  # noqa: E402

START = datetime.datetime(2026, 11, 9, 8, tzinfo=datetime.UTC)
# Enough that one double in a hundred would show.
MANY = 200
KILLS = 10


def mail_settings(port: int) -> dict[str, str]:
    return {
        "PLIMSOLL_JOBS": "on",
        "PLIMSOLL_WEBHOOK_LOOPBACK": "on",
        "PLIMSOLL_SMTP_URL": f"smtp://127.0.0.1:{port}",
        "PLIMSOLL_SMTP_FROM": "plimsoll@example.org",
        "PLIMSOLL_PUBLIC_URL": "http://127.0.0.1:8080",
        "PLIMSOLL_SMTP_TIMEOUT_SECONDS": "20",
    }


class Trial:
    """A club with one recipient, and the program that writes to it through a mail server on this port."""

    def __init__(self, folder: Path, url: str, port: int, **settings: str):
        self.folder, self.url = folder, url
        self.settings = {**mail_settings(port), **settings}
        self.start(START)
        made = {"name": "HK Nordvang", "time_zone": "Europe/Copenhagen"}
        club = self.service.call("POST", "/v1/clubs", self.service.token("operator"), made)["club_id"]
        self.club, self.admin = f"/v1/clubs/{club}", self.service.token("club_admin", club)
        self.recipient = self.name("coach@nordvang.example")

    def start(self, clock: datetime.datetime):
        """The program, its clock set to this instant."""
        settings = {**self.settings, "PLIMSOLL_CLOCK": clock.isoformat()}
        self.service = Service(PROGRAMS, self.folder, self.url, settings=settings)

    def restart(self, clock: datetime.datetime):
        self.service.stop()
        self.start(clock)
        self.admin = self.service.token("club_admin", self.club.rsplit("/", 1)[1])

    def call(self, method: str, path: str, body=None) -> dict:
        return self.service.call(method, f"{self.club}/{path}", self.admin, body)

    def patch(self, path: str, token: str, body: dict) -> None:
        """A merge patch, whatever the version."""
        self.request("PATCH", path, token, body, "application/merge-patch+json")

    def request(self, method: str, path: str, token: str, body: dict, content_type: str) -> None:
        headers = {"Authorization": f"Bearer {token}", "Content-Type": content_type, "If-Match": "*"}
        status, answer = self.service.ask(method, f"{self.club}/{path}", headers, json.dumps(body))
        assert status < 300, (method, path, status, answer)

    def name(self, address: str) -> str:
        made = self.call("POST", "notice-endpoints", {"channel": "email", "address": address})
        if made["waiting_for"]:
            self.approve(made["endpoint_id"])
        return made["endpoint_id"]

    def drop(self) -> None:
        """Ends what is on its way to the recipient: it is disabled, and enabled again."""
        for enabled in (False, True):
            self.patch(f"notice-endpoints/{self.recipient}", self.admin, {"enabled": enabled})

    def approve(self, recipient: str) -> None:
        """As a second person must for a club's first recipient."""
        of_club = ["--club", self.club.rsplit("/", 1)[1]]
        lead = self.service.command("token", "--role", "privacy_lead", "--subject", "lead", "--ttl", "24h", *of_club)
        self.request("POST", f"notice-endpoints/{recipient}/approval", lead, {}, "application/json")

    def send(self, recipient: str | None = None) -> str:
        """A test notice to the recipient; its id."""
        return self.call("POST", f"notice-endpoints/{recipient or self.recipient}/test", {})["notice_id"]

    def delivery(self, notice: str) -> dict:
        return self.call("GET", f"notices/{notice}/deliveries")["items"][0]

    def once(self, notice: str, *, state: str = "", attempts: int = 0) -> dict:
        """The delivery, once it has this state and so many attempts."""

        def found():
            delivery = self.delivery(notice)
            fits = (not state or delivery["state"] == state) and len(delivery["attempts"]) >= attempts
            return delivery if fits else None

        return until(found)

    def outcomes(self, notice: str) -> list[tuple]:
        return [(attempt["outcome"], attempt["status"]) for attempt in self.delivery(notice)["attempts"]]

    def health(self) -> list[dict]:
        return self.service.call("GET", "/health/ready", self.admin)["because"]

    def metrics(self) -> str:
        return urllib.request.urlopen(f"{self.service.url}/metrics", timeout=30).read().decode()


def same(*arrived) -> None:
    ids, contents = {one.id for one in arrived}, {one.content for one in arrived}
    assert len(ids) == 1 and len(contents) == 1, (ids, contents)


def expect(found, wanted) -> None:
    assert found == wanted, f"{found} is not {wanted}"


def taken_once(trial: Trial, server: MailServer) -> None:
    """What a message holds, and that one taken is not sent again."""
    notice = trial.send()
    arrived = server.next()
    trial.once(notice, state="delivered")
    expect(trial.outcomes(notice), [("accepted", 250)])
    message = arrived.message
    expect(str(message["From"]), "HK Nordvang <plimsoll@example.org>")
    expect(str(message["To"]), "coach@nordvang.example")
    expect(str(message["Auto-Submitted"]), "auto-generated")
    expect([part.get_content_type() for part in message.iter_parts()], ["text/plain", "text/html"])
    assert arrived.id.endswith("@example.org>")
    expect(len(server.arrived), 1)
    # Sent again by hand: the same message.
    trial.call("POST", f"deliveries/{trial.delivery(notice)['delivery_id']}/redelivery", {})
    same(arrived, server.next())


def refused(trial: Trial, server: MailServer) -> None:
    """4xx again, 5xx not."""
    for answer, outcome in [("450", "refused"), ("421", "not_sent"), ("rcpt 450", "refused"), ("rcpt 421", "not_sent")]:
        first = server.transactions
        server.answering = lambda number, first=first, answer=answer: answer if number == first else "250"
        notice = trial.send()
        trial.once(notice, state="delivered")
        expect(trial.outcomes(notice), [(outcome, int(answer[-3:])), ("accepted", 250)])
        own = server.arrived[-1:] if answer.startswith("rcpt") else server.arrived[-2:]
        same(*own)
    for answer in ["550", "rcpt 550"]:
        server.answering = lambda _, answer=answer: answer
        notice = trial.send()
        trial.once(notice, state="failed")
        expect(trial.outcomes(notice), [("refused", 550)])
    endpoint = trial.call("GET", f"notice-endpoints/{trial.recipient}")
    assert endpoint["enabled"] and endpoint["failing_since"], endpoint


def unknown(trial: Trial, server: MailServer) -> None:
    """No answer after the content: sent again after half an hour, with the same Message-ID, and no third time once it is taken."""
    clock = START
    for answer in ["hang", "drop"]:
        first = server.transactions
        server.answering = lambda number, first=first, answer=answer: answer if number == first else "250"
        notice = trial.send()
        waiting = trial.once(notice, attempts=1)
        expect((waiting["state"], trial.outcomes(notice)), ("pending", [("unknown", None)]))
        due = datetime.datetime.fromisoformat(waiting["due_at"])
        tried = datetime.datetime.fromisoformat(waiting["attempts"][0]["at"])
        assert due - tried >= datetime.timedelta(minutes=30), waiting
        clock += datetime.timedelta(hours=1)
        trial.restart(clock)
        trial.once(notice, state="delivered")
        expect(trial.outcomes(notice), [("unknown", None), ("accepted", 250)])
        same(*server.arrived[-2:])


def gone(trial: Trial, server: MailServer) -> MailServer:
    """The mail server is gone: the mail stays, health and metrics say so, and it leaves when the server is back."""
    port = server.port
    server.stop()
    notice = trial.send()
    waiting = trial.once(notice, attempts=1)
    expect((waiting["state"], waiting["waiting_for"]), ("pending", "mail_server"))
    expect([cause["source"] for cause in trial.health()], ["mail"])
    assert 'plimsoll_mail_waiting{for="mail_server"} 1' in trial.metrics()
    endpoint = trial.call("GET", f"notice-endpoints/{trial.recipient}")
    back = MailServer(port=port)
    delivered = trial.once(notice, state="delivered")
    assert all(attempt["outcome"] in ("not_sent", "accepted") for attempt in delivered["attempts"]), delivered
    expect(trial.health(), [])
    expect(endpoint["disabled_at"], None)
    return back


def many(trial: Trial, server: MailServer, kind: str) -> None:
    """Random faults, and a restart in the middle: every message is taken, and none twice."""
    chance = random.Random(27)
    answers = ["250"] * 6 + ["450", "421", "rcpt 450"]
    server.answering = lambda _: chance.choice(answers)
    recipients = [trial.name(f"coach{number}@nordvang.example") for number in range(20)]
    notices = [trial.send(recipients[number % 20]) for number in range(MANY)]
    for notice in notices:
        # The second wait is five minutes: by then the faults are over.
        if len(trial.delivery(notice)["attempts"]) >= 2:
            server.answering = lambda _: "250"
    server.answering = lambda _: "250"
    trial.restart(START + datetime.timedelta(hours=10))
    taken: dict[str, int] = {}
    for notice in notices:
        trial.once(notice, state="delivered")
    for arrived in server.arrived:
        taken[arrived.id] = taken.get(arrived.id, 0) + arrived.taken
    twice = [id for id, times in taken.items() if times > 1]
    assert len(twice) <= MANY // 100, twice
    refusals = sum(not arrived.taken for arrived in server.arrived)
    print(f"{kind}: {MANY} mails with {refusals} refusals of their content: {MANY} taken, {len(twice)} taken twice")


def killed(trial: Trial, server: MailServer, kind: str) -> None:
    """`kill -9` while mail leaves: nothing is lost; what is doubled was taken just before its success could be written down."""
    chance = random.Random(4)
    already, clock, notices = len(server.arrived), START + datetime.timedelta(hours=20), []
    for _ in range(KILLS):
        notices += [trial.send() for _ in range(5)]
        time.sleep(chance.uniform(0, 1.5))
        trial.service.process.kill()
        trial.service.process.wait()
        clock += datetime.timedelta(minutes=2)
        trial.start(clock)
    for notice in notices:
        trial.once(notice, state="delivered")
    taken = collections.Counter(arrived.id for arrived in server.arrived[already:])
    expect(len(taken), len(notices))
    twice = sum(times > 1 for times in taken.values())
    assert twice <= KILLS, taken
    print(f"{kind}: {KILLS} kills while {len(notices)} mails left: 0 lost, {twice} taken twice")


def without_tls(folder: Path, url: str) -> None:
    """A server without STARTTLS is told nothing, unless it is this machine in a trial."""
    server = MailServer()
    trial = Trial(folder, url, server.port)
    trial.settings["PLIMSOLL_WEBHOOK_LOOPBACK"] = "off"
    trial.settings["PLIMSOLL_PUBLIC_URL"] = "https://plimsoll.example.org"
    trial.restart(START)
    notice = trial.send()
    trial.once(notice, attempts=1)
    expect(trial.outcomes(notice), [("not_sent", None)])
    expect(server.transactions, 0)
    trial.service.stop()
    server.stop()


def with_tls(folder: Path, url: str) -> None:
    """By STARTTLS and by TLS from the first byte: mail is taken where the certificate is good, else nothing is said of it."""
    known, unknown = Authority(folder / "known"), Authority(folder / "unknown")
    shown = {
        "good": known.certify("localhost"),
        "another host": known.certify("mail.example.org"),
        "expired": known.certify("localhost", days=-1),
        "an unknown authority": unknown.certify("localhost"),
    }
    own = {
        "PLIMSOLL_WEBHOOK_LOOPBACK": "off",
        "PLIMSOLL_PUBLIC_URL": "https://plimsoll.example.org",
        "SSL_CERT_FILE": str(known.roots),
    }
    trial = Trial(folder, url, 1, **own)
    for scheme, security in [("smtp", "tls_context"), ("smtps", "ssl_context")]:
        for what, certificate in shown.items():
            server = MailServer(**{security: certificate})
            trial.settings["PLIMSOLL_SMTP_URL"] = f"{scheme}://localhost:{server.port}"
            trial.restart(START)
            notice = trial.send()
            tried = trial.once(notice, attempts=1)
            outcome = tried["attempts"][0]["outcome"]
            if what == "good":
                expect((scheme, outcome, server.secret), (scheme, "accepted", 1))
            else:
                expect((scheme, what, outcome, server.transactions), (scheme, what, "not_sent", 0))
                expect(tried["waiting_for"], "mail_server")
            # What waits would reach the next server.
            trial.drop()
            server.stop()
    trial.service.stop()


def quota(folder: Path, url: str) -> None:
    """Beyond the quota mail waits, and health says so."""
    server = MailServer()
    trial = Trial(folder, url, server.port, PLIMSOLL_MAIL_QUOTA="3")
    recipients = [trial.recipient] + [trial.name(f"coach{number}@nordvang.example") for number in range(4)]
    notices = [trial.send(recipient) for recipient in recipients]

    def three_left():
        """Three mails that were taken, or may have been: that counts too, where the machine was too slow for the answer."""
        outcomes = [[outcome for outcome, _ in trial.outcomes(notice)] for notice in notices]
        left = [some for some in outcomes if "accepted" in some or "unknown" in some]
        return len(left) == 3

    def two_wait():
        """Two mails that wait for the quota."""
        waiting = [one for one in map(trial.delivery, notices) if one["waiting_for"] == "mail_quota"]
        return len(waiting) == 2

    until(three_left)
    until(two_wait)
    expect([cause["source"] for cause in trial.health()], ["mail"])
    trial.restart(START + datetime.timedelta(hours=25))
    for notice in notices:
        trial.once(notice, state="delivered")
    expect(len({arrived.id for arrived in server.arrived}), 5)
    trial.service.stop()
    server.stop()


def numbers(value) -> set[str]:
    """Every load in a list, as a reader would find it written."""
    if isinstance(value, dict):
        own = {f"{number:g}" for number in value.values() if isinstance(number, int | float) and number > 31}
        return own.union(*map(numbers, value.values()))
    return set().union(*map(numbers, value)) if isinstance(value, list) else set()


def private(folder: Path) -> None:
    """The letters about the demo's club, closed and corrected, hold no name of an athlete and no load."""
    demo = [PROGRAMS / "plimsoll", "demo", "--no-serve", "--keep", folder, "--at", "2026-11-09"]
    subprocess.run(demo, check=True, stdout=subprocess.DEVNULL)
    with contextlib.closing(sqlite3.connect(folder / "demo.sqlite")) as made:
        club = str(uuid.UUID(bytes=made.execute("SELECT club_id FROM clubs").fetchone()[0]))
    server = MailServer()
    keys = {"PLIMSOLL_LOCAL_KEY": str(folder / "demo.key")}
    trial = Trial.__new__(Trial)
    trial.folder, trial.url, trial.settings = folder, f"sqlite://{folder}/demo.sqlite", {**mail_settings(server.port), **keys}
    trial.start(START)
    trial.club, trial.admin = f"/v1/clubs/{club}", trial.service.token("club_admin", club)
    trial.name("coach@nordvang.example")
    names = {athlete["display_name"] for athlete in trial.call("GET", "athletes?limit=500")["items"]}
    loads, app = set(), trial.service.token("integration", club)
    for squad in trial.call("GET", "squads")["items"]:
        path = f"{trial.club}/squads/{squad['squad_id']}/weeks/2026-W45"
        weekly = trial.service.call("GET", path, app)
        loads |= numbers(weekly["entries"])
        for entry in weekly["entries"]:
            of_week = f"{trial.club}/sessions?athlete={entry['athlete_id']}&from=2026-11-02&to=2026-11-08"
            for session in trial.service.call("GET", of_week, app)["items"]:
                trial.patch(f"sessions/{session['session_id']}", app, {"rpe": 1})
    trial.restart(START + datetime.timedelta(hours=1))
    corrected = server.next()
    trial.restart(START + datetime.timedelta(days=7))
    closed = server.next()
    trial.service.stop()
    server.stop()
    assert corrected.message["Subject"].startswith("Corrected: weekly list 2026-W45"), corrected.message["Subject"]
    assert closed.message["Subject"].startswith("Weekly list 2026-W46"), closed.message["Subject"]
    assert len(names) > 20 and len(loads) > 20
    for arrived in (corrected, closed):
        for part in arrived.message.iter_parts():
            said = re.sub(r"https?://[^\s\"<]+", "", part.get_content())
            words = set(re.findall(r"[\w.]+", said))
            found = {name for name in names if any(word in words for word in name.split())} | (loads & words)
            assert not found and " AU" not in said, (found, said)
    print(f"the demo's letters: none of {len(names)} names and {len(loads)} loads in them")


@contextlib.contextmanager
def log_shown(folder: Path):
    """What goes wrong in here is followed by the end of the program's log."""
    try:
        yield
    except BaseException:
        print("".join((folder / "log").read_text().splitlines(keepends=True)[-100:]))
        raise


def on(kind: str) -> None:
    with tempfile.TemporaryDirectory(prefix="plimsoll-mail-") as name:
        folder = Path(name)
        with database(kind, folder) as url, log_shown(folder):
            server = MailServer()
            trial = Trial(folder, url, server.port)
            taken_once(trial, server)
            refused(trial, server)
            unknown(trial, server)
            server = gone(trial, server)
            many(trial, server, kind)
            killed(trial, server, kind)
            trial.service.stop()
            server.stop()
        for case in (without_tls, with_tls, quota):
            (folder / case.__name__).mkdir()
            with database(kind, folder / case.__name__) as url, log_shown(folder / case.__name__):
                case(folder / case.__name__, url)
    print(f"{kind}: taken, 421, 450, 550, no answer, broken connection, server gone, no TLS, quota: as they should be")
    print(f"{kind}: by STARTTLS and by TLS one mail each taken; another host, expired, unknown authority: 0 told of a mail")


if __name__ == "__main__":
    on("sqlite")
    if "PLIMSOLL_TEST_POSTGRES_URL" in os.environ:
        on("postgres")
    with tempfile.TemporaryDirectory(prefix="plimsoll-mail-") as name:
        private(Path(name) / "demo")
