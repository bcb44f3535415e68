"""The program under strace, and eight clients that write down what was answered and when."""

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
            "PLIMSOLL_PAGE_KEY": f"{folder}/page.key",
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

    def token(self, *arguments):
        command = [self.program, "token", *arguments]
        return subprocess.run(command, env=self.environment, cwd=self.folder, check=True, capture_output=True, text=True).stdout.strip()

    def post(self, path, token, body, key=None):
        """Status and body of the answer."""
        headers = {"Authorization": f"Bearer {token}", "Content-Type": "application/json"}
        if key:
            headers["Idempotency-Key"] = key
        request = urllib.request.Request(self.url + path, json.dumps(body).encode(), headers)
        try:
            with urllib.request.urlopen(request, timeout=60) as answer:
                return answer.status, json.load(answer)
        except urllib.error.HTTPError as error:
            return error.code, json.load(error)


class Writer(threading.Thread):
    """Sends reports and bulk calls of one athlete, each under a key and again until it is answered with success."""

    def __init__(self, service, club, token, athlete, seed, writes):
        super().__init__()
        self.service, self.club, self.token, self.athlete = service, club, token, athlete
        self.random, self.writes = random.Random(seed), writes
        self.versions = {}
        # (time of the answer, {external id: (version, minutes, twice the rating)})
        self.answered = []
        # Ids of each bulk call: all of them are stored, or none.
        self.together = []
        self.refusals = 0
        self.failure = None

    def run(self):
        try:
            for number in range(self.writes):
                self.write(number)
        except Exception as error:  # shown by the main thread
            self.failure = error

    def write(self, number):
        ids = [f"{self.athlete}-{number}-{row}" for row in range(self.random.choice([1, 1, 1, 5]))]
        if self.versions and self.random.random() < 0.3:
            ids = [self.random.choice(list(self.versions))]
        reports = [self.report(id) for id in ids]
        if len(reports) == 1:
            path, body = "sessions", reports[0]
        else:
            path, body = "sessions/bulk", {"sessions": reports}
            self.together.append(ids)
        key = f"{self.athlete}-{number}"
        status = 0
        while status not in (200, 201):
            status, answer = self.service.post(f"/v1/clubs/{self.club}/{path}", self.token, body, key)
            now = time.time()
            if status not in (200, 201):
                assert status in (500, 503, 504), (status, answer)
                self.refusals += 1
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


def prepare(service):
    """A club with eight athletes; the program is stopped again. Gives the club and the athletes."""
    service.start()
    operator = service.token("--role", "operator")
    _, club = service.post("/v1/clubs", operator, {"name": "Havneby Handball", "time_zone": "Europe/Copenhagen"})
    club = club["club_id"]
    admin = service.token("--role", "club_admin", "--club", club)
    athletes = []
    for number in range(1, 9):
        person = {"external_id": f"P-{number:02}", "display_name": f"P-{number:02}", "birth_date": "2011-03-14", "joined_on": "2026-01-01"}
        status, athlete = service.post(f"/v1/clubs/{club}/athletes", admin, person)
        assert status == 201, athlete
        athletes.append(athlete["athlete_id"])
    service.end(signal.SIGTERM)
    return club, athletes


def record(service, club, athletes, writes, options, seed):
    """Writes under strace with these options, then kills the program. Gives the calls it made and the writers."""
    file = f"{service.folder}/trace"
    under = ["strace", "--follow-forks", "--seccomp-bpf", "-y", "-xx", "-ttt", "-T", "-s", "100000", "-o", file]
    service.start([*under, "-e", f"trace={trace.TRACED}", *options])
    token = service.token("--role", "integration", "--club", club)
    writers = [Writer(service, club, token, athlete, seed * 100 + at, writes) for at, athlete in enumerate(athletes)]
    for writer in writers:
        writer.start()
    for writer in writers:
        writer.join()
    service.end(signal.SIGKILL)
    for writer in writers:
        if writer.failure:
            raise writer.failure
    with open(file) as text:
        return trace.read(text), writers
