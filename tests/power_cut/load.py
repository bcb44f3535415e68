"""The program under strace, and clients that write down what was answered and when: eight who report, one who names endpoints for
notices and tries them, and one who reads.
"""

import json
import os
import random
import signal
import subprocess
import threading
import time
import urllib.error
import urllib.request

import trace

CLOCK = "2026-11-09T08:00:00+01:00"


class Service:
    """`plimsoll serve` on a SQLite file in a folder of its own."""

    def __init__(self, program, folder):
        self.program, self.folder = program, folder
        os.makedirs(os.path.join(folder, "data"))
        self.environment = {name: value for name, value in os.environ.items() if not name.startswith("PLIMSOLL_")} | {
            "PLIMSOLL_DATABASE_URL": f"sqlite://{self.data}/plimsoll.sqlite",
            "PLIMSOLL_LISTEN": "127.0.0.1:0",
            "PLIMSOLL_LOCAL_ISSUER": "on",
            "PLIMSOLL_LOCAL_KEY": f"{folder}/local.key",
            "PLIMSOLL_AUDIT_KEY": f"{folder}/audit.key",
            "PLIMSOLL_AUDIT_SIGN_KEY": f"{folder}/audit-sign.key",
            "PLIMSOLL_AUDIT_HEADS": f"{folder}/audit-heads.jsonl",
            "PLIMSOLL_ERASURES": f"{folder}/erasures.jsonl",
            "PLIMSOLL_PAGE_KEY": f"{folder}/page.key",
            "PLIMSOLL_MASTER_KEY": f"{folder}/master.key",
            "PLIMSOLL_RATE_LIMIT": "off",
            "PLIMSOLL_CLOCK": CLOCK,
        }

    @property
    def data(self):
        return os.path.join(self.folder, "data")

    def start(self, under=()):
        """Starts it and waits until it says where it listens."""
        self.process = subprocess.Popen(
            [*under, self.program, "serve"],
            env=self.environment, cwd=self.folder, stdout=subprocess.PIPE, stderr=open(f"{self.folder}/log", "ab"), text=True,
        )
        line = self.process.stdout.readline()
        assert line.startswith("listening on "), f"the program did not start: {self.log()}"
        self.url = line.removeprefix("listening on ").strip()

    def end(self, sign):
        """Sends a signal to the program itself and waits for its end."""
        with open(f"/proc/{self.process.pid}/task/{self.process.pid}/children") as file:
            children = file.read().split()
        os.kill(int(children[0]) if children else self.process.pid, sign)
        self.process.wait()

    def log(self):
        with open(f"{self.folder}/log") as file:
            return file.read()

    def command(self, *arguments):
        """What a command of the program prints."""
        command = [self.program, *arguments]
        return subprocess.run(command, env=self.environment, cwd=self.folder, check=True, capture_output=True, text=True).stdout.strip()

    def token(self, *arguments):
        return self.command("token", *arguments)

    def call(self, method, path, token, body=None, key=None):
        """Status, header fields and body of the answer."""
        headers = {"Authorization": f"Bearer {token}", "Content-Type": "application/json"}
        if key:
            headers["Idempotency-Key"] = key
        content = None if body is None else json.dumps(body).encode()
        request = urllib.request.Request(self.url + path, content, headers, method=method)
        try:
            with urllib.request.urlopen(request, timeout=60) as answer:
                return answer.status, answer.headers, json.load(answer)
        except urllib.error.HTTPError as error:
            return error.code, error.headers, json.load(error)

    def made(self, path, role, body, method="POST", club=None):
        """Makes something before the recording; gives the answer's body."""
        whose = ["--club", club] if club else []
        status, _, answer = self.call(method, path, self.token("--role", role, *whose), body)
        assert status in (200, 201), (path, status, answer)
        return answer


class Client(threading.Thread):
    """Makes so many calls, each again until it is answered with success."""

    def __init__(self, service, club, token, calls):
        super().__init__()
        self.service, self.club, self.token, self.calls = service, club, token, calls
        # (time of the answer, what it promises)
        self.answered = []
        self.refusals = 0
        self.failure = None

    def run(self):
        try:
            for number in range(self.calls):
                self.step(number)
        except Exception as error:  # shown by the main thread
            self.failure = error

    def until_answered(self, method, path, body=None, key=None):
        """Header fields and body of the answer, and when it came."""
        while True:
            status, headers, answer = self.service.call(method, f"/v1/clubs/{self.club}/{path}", self.token, body, key)
            if status in (200, 201, 202):
                return headers, answer, time.time()
            assert status in (500, 503, 504), (status, answer)
            self.refusals += 1


class Keeper(Client):
    """Names endpoints for notices and tries them, each call under a key."""

    def step(self, number):
        if number % 4 == 0:
            body = {"url": f"https://club.example.org/{number}"}
            _, answer, now = self.until_answered("POST", "notice-endpoints", body, f"endpoint-{number}")
            self.endpoint = answer["endpoint_id"]
            self.answered.append((now, {"endpoint": self.endpoint}))
        else:
            _, answer, now = self.until_answered("POST", f"notice-endpoints/{self.endpoint}/test", None, f"test-{number}")
            self.answered.append((now, {"endpoint": self.endpoint, "notice": answer["notice_id"]}))


class Reader(Client):
    """Reads athletes' loads: each read that was answered has its row in the audit list."""

    def __init__(self, service, club, token, calls, athletes):
        super().__init__(service, club, token, calls)
        self.athletes = athletes

    def step(self, number):
        headers, _, now = self.until_answered("GET", f"athletes/{self.athletes[number % len(self.athletes)]}/load")
        self.answered.append((now, headers["x-request-id"]))


class Writer(Client):
    """Sends reports and bulk calls of one athlete, each under a key."""

    def __init__(self, service, club, token, calls, athlete, seed):
        super().__init__(service, club, token, calls)
        self.athlete, self.random = athlete, random.Random(seed)
        self.versions = {}
        # Ids of each bulk call: all of them are stored, or none.
        self.together = []

    def step(self, number):
        """Promises {external id: (version, minutes, twice the rating)}."""
        ids = [f"{self.athlete}-{number}-{row}" for row in range(self.random.choice([1, 1, 1, 5]))]
        if self.versions and self.random.random() < 0.3:
            ids = [self.random.choice(list(self.versions))]
        reports = [self.report(id) for id in ids]
        if len(reports) == 1:
            path, body = "sessions", reports[0]
        else:
            path, body = "sessions/bulk", {"sessions": reports}
            self.together.append(ids)
        _, _, now = self.until_answered("POST", path, body, f"{self.athlete}-{number}")
        made = {}
        for report in reports:
            id = report["external_id"]
            self.versions[id] = self.versions.get(id, 0) + 1
            made[id] = (self.versions[id], report["minutes"], int(2 * report["rpe"]))
        self.answered.append((now, made))

    def report(self, id):
        day, minutes = self.random.randint(1, 8), self.random.randint(1, 9)
        return {
            "external_id": id, "athlete_id": self.athlete, "started_at": f"2026-11-{day:02}T10:00:00+01:00",
            "minutes": minutes, "rpe": self.random.randint(0, 20) / 2, "setting": "club", "kind": "practice",
            "basis": "whole_session", "given_at": f"2026-11-{day:02}T10:30:00+01:00", "given_by": "athlete",
        }


# Limits so low that reports of the closed week raise and withdraw flags, which is told to endpoints.
POLICY = {
    "effective_from": "2026-01-01", "approved_by": "Head of training", "source_note": "limits for a test", "organised_settings": ["club"],
    "nothing_said": "assumed_rest", "midnight": "start_date", "chronic_floor_au": 250,
    "rules": [{"code": "week_monotony", "enabled": True, "limit": 1.2, "source_note": "limit for a test"}],
}


def prepare(service):
    """A club with eight athletes of one squad and a week that is closed; the program is stopped again. Gives the club and the athletes."""
    service.start()
    club = service.made("/v1/clubs", "operator", {"name": "Havneby Handball", "time_zone": "Europe/Copenhagen"})["club_id"]
    base = f"/v1/clubs/{club}"
    service.made(f"{base}/policy", "club_admin", POLICY, "PUT", club)
    squad = service.made(f"{base}/squads", "club_admin", {"name": "U16"}, club=club)["squad_id"]
    athletes = []
    for number in range(1, 9):
        person = {"external_id": f"P-{number:02}", "display_name": f"P-{number:02}", "birth_date": "2011-03-14", "joined_on": "2026-01-01"}
        person["squads"] = [squad]
        athletes.append(service.made(f"{base}/athletes", "club_admin", person, club=club)["athlete_id"])
    service.end(signal.SIGTERM)
    service.command("close-week", "--week", "2026-W45")
    return club, athletes


def record(service, club, athletes, writes, options, seed):
    """Calls under strace with these options, then kills the program. Gives the calls it made of the system and the clients."""
    file = f"{service.folder}/trace"
    under = ["strace", "--follow-forks", "--seccomp-bpf", "-y", "-xx", "-ttt", "-T", "-s", "100000", "-o", file]
    service.start([*under, "-e", f"trace={trace.TRACED}", *options])
    token, keeper, reader = (service.token("--role", role, "--club", club) for role in ("integration", "club_admin", "coach"))
    clients = [Writer(service, club, token, writes, athlete, seed * 100 + at) for at, athlete in enumerate(athletes)]
    clients += [Keeper(service, club, keeper, writes), Reader(service, club, reader, writes, athletes)]
    for client in clients:
        client.start()
    for client in clients:
        client.join()
    service.end(signal.SIGKILL)
    for client in clients:
        if client.failure:
            raise client.failure
    with open(file) as text:
        return trace.read(text), clients
