"""The running demo, for the steps that look at its pages."""

import json
import os
import re
import subprocess
import urllib.request
from pathlib import Path

ROOT = Path(__file__).resolve().parent.parent.parent
PROGRAM = Path(os.environ.get("CARGO_TARGET_DIR", ROOT / "target")) / "debug" / "plimsoll"
DEMO = ["demo", "--port", "0", "--seed", "5", "--at", "2026-11-25"]


# Six weeks with a cup at their end, which is over the club's limit.
PLAN = {
    "first_week": "2026-W49",
    "weeks": 6,
    "sessions": [
        {"name": name, "weekday": day, "in_weeks": weeks, "setting": setting, "kind": kind, "minutes": minutes, "intended_rpe": 6}
        for name, day, weeks, setting, kind, minutes in (
            ("gym", "tuesday", [1, 2, 3, 4, 5, 6], "prescribed_home", "strength", 45),
            ("practice", "monday", [1, 2, 3, 6], "club", "practice", 90),
        )
    ],
    "calendar": [
        {"name": "team warm-up", "date": "2026-12-02", "setting": "club", "kind": "practice", "minutes": 60, "intended_rpe": 5,
         "landings": {"both_feet": 30, "left_foot": 8, "right_foot": 9, "loaded": 5, "hands": 4},
         "warm_up": {"minutes": 15, "categories": ["strength", "jump", "balance"], "feedback": True}},
        *(
            {"name": "cup", "date": f"2027-01-0{day}", "setting": "club", "kind": "game", "minutes": 180, "intended_rpe": 8}
            for day in (8, 9)
        ),
    ],
}


class Demo:
    """The running demo, and what it prints for a shell."""

    def __init__(self, folder: Path):
        self.folder = folder
        command = [PROGRAM, *DEMO, "--keep", folder]
        self.process = subprocess.Popen(command, text=True, stdout=subprocess.PIPE)
        self.shell = {}
        for line in self.process.stdout:
            if line.startswith("export "):
                self.shell.update(word.split("=", 1) for word in line.split()[1:])
            if line.startswith("listening on "):
                break
        else:
            raise SystemExit("the demo did not start")
        self.club = self.shell["CLUB"].rsplit("/", 1)[1]

    def send(self, path: str, token: str, body: dict | None = None, method: str | None = None, **headers: str):
        """The answer as it came; header names with _ for -."""
        data = json.dumps(body).encode() if body else None
        headers = {name.replace("_", "-"): value for name, value in headers.items()}
        headers = {"Authorization": f"Bearer {self.shell[token]}", "Content-Type": "application/json", **headers}
        request = urllib.request.Request(f"{self.shell['CLUB']}/{path}", data, headers, method=method)
        return urllib.request.urlopen(request, timeout=60)

    def call(self, path: str, token: str, body: dict | None = None, **more: str):
        return json.load(self.send(path, token, body, **more))

    def link(self, squad: str, recipient: str) -> str:
        """The path of a link, which the program signs with the demo's key."""
        settings = {
            "PLIMSOLL_DATABASE_URL": f"sqlite://{self.folder}/demo.sqlite",
            "PLIMSOLL_LOCAL_ISSUER": "on",
            "PLIMSOLL_CLOCK": "2026-11-25T07:00:00+01:00",
            **{f"PLIMSOLL_{name.upper()}_KEY": str(self.folder / f"{name}.key") for name in ("audit", "page", "master")},
            "PLIMSOLL_AUDIT_SIGN_KEY": str(self.folder / "audit-sign.key"),
            "PLIMSOLL_AUDIT_HEADS": str(self.folder / "audit-heads.jsonl"),
            "PLIMSOLL_ERASURES": str(self.folder / "erasures.jsonl"),
        }
        command = [PROGRAM, "page-link", "--club", self.club, "--recipient", recipient]
        command += ["--squad", squad, "--week", self.shell["WEEK"]]
        return subprocess.run(command, env={**os.environ, **settings}, text=True, capture_output=True, check=True).stdout.strip()

    def squads(self) -> list[dict]:
        """Each squad with the link to its list, all for one recipient."""
        recipient = self.call("notice-endpoints", "ADMIN", {"url": "https://club.example.org/notices"})["endpoint_id"]
        base = re.match(r"http://[^/]+", self.shell["CLUB"])[0]
        found = []
        for squad in self.call("squads", "COACH")["items"]:
            link = base + self.link(squad["squad_id"], recipient)
            found.append({"name": squad["name"], "link": link, "list": f"/{squad['squad_id']}/weeks/{self.shell['WEEK']}"})
        return found

    def pages(self) -> list[dict]:
        """The pages that a token opens, and how their titles begin."""
        found = [{"name": "flag-rate", "path": "policy/flag-rate", "who": "ADMIN", "title": "New findings"}]
        for squad in self.call("squads", "COACH")["items"]:
            path = f"squads/{squad['squad_id']}/today"
            found.append({"name": f"{squad['name']}-today", "path": path, "who": "COACH", "title": "Squad's day: "})
        question = {"plan": PLAN, "history": {"week_loads_au": [800, 900, 1000, 950], "birth_date": "2010-05-01"}}
        found.append({"name": "plan-check", "path": "plan-checks", "who": "STRENGTH_COACH", "title": "Plan check", "body": question})
        return [{**page, "url": f"{self.shell['CLUB']}/{page['path']}", "token": self.shell[page["who"]]} for page in found]

    def histories(self) -> list[dict]:
        """The histories of the athlete who comes back from an absence, and of one who was never away."""
        found = []
        for name, code in (("history-return", "P-33"), ("history-usual", "P-28")):
            athlete = self.call(f"athletes?external_id={code}", "COACH")["items"][0]["athlete_id"]
            path = f"athletes/{athlete}/history?purpose=screening"
            found.append({"name": name, "path": path, "url": f"{self.shell['CLUB']}/{path}"})
        return found

    def stop(self):
        self.process.terminate()
        self.process.wait(timeout=20)
