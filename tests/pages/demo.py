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
            **{f"PLIMSOLL_{name.upper()}_KEY": str(self.folder / f"{name}.key") for name in ("audit", "page")},
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
        return [{**page, "url": f"{self.shell['CLUB']}/{page['path']}", "token": self.shell[page["who"]]} for page in found]

    def stop(self):
        self.process.terminate()
        self.process.wait(timeout=20)
