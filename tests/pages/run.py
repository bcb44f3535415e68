#!/usr/bin/env python3
"""Opens the demo's weekly lists in headless Chromium as a coach does, by links in a mail that is read in a browser, at 360 and
1280 pixels; judges them with axe-core, acknowledges a flag with the form, and prints them on A4 and Letter. Then athletes' histories, as the
athletic trainer opens them with a token.

    tests/pages/run.py [--keep DIR]     keeps the pictures and printed pages there

The program is the one in $CARGO_TARGET_DIR/debug (else target/debug).
"""

import argparse
import http.server
import json
import os
import re
import shutil
import subprocess
import tempfile
import threading
import urllib.request
from pathlib import Path

HERE = Path(__file__).resolve().parent
ROOT = HERE.parent.parent
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

    def call(self, path: str, token: str, body: dict | None = None):
        data = json.dumps(body).encode() if body else None
        headers = {"Authorization": f"Bearer {self.shell[token]}", "Content-Type": "application/json"}
        request = urllib.request.Request(f"{self.shell['CLUB']}/{path}", data, headers)
        return json.load(urllib.request.urlopen(request, timeout=30))

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

    def stop(self):
        self.process.terminate()
        self.process.wait(timeout=20)


def mail(squads: list[dict]) -> http.server.ThreadingHTTPServer:
    """A page of another site for each squad, with the link to its list."""
    links = {f"/{squad['name']}": squad["link"] for squad in squads}

    class Mail(http.server.BaseHTTPRequestHandler):
        def do_GET(self):
            self.send_response(200)
            self.send_header("Content-Type", "text/html")
            self.end_headers()
            self.wfile.write(f'<a href="{links.get(self.path, "/")}">The list</a>'.encode())

        def log_message(self, *_):
            pass

    server = http.server.ThreadingHTTPServer(("127.0.0.1", 0), Mail)
    threading.Thread(target=server.serve_forever, daemon=True).start()
    return server


def histories(demo: Demo) -> list[dict]:
    """The histories of the athlete who comes back from an absence, and of one who was never away."""
    found = []
    for name, code in (("history-return", "P-33"), ("history-usual", "P-28")):
        athlete = demo.call(f"athletes?external_id={code}", "COACH")["items"][0]["athlete_id"]
        url = f"{demo.shell['CLUB']}/athletes/{athlete}/history?purpose=screening"
        found.append({"name": name, "url": url})
    return found


def main() -> None:
    parser = argparse.ArgumentParser()
    parser.add_argument("--keep", type=Path)
    keep = parser.parse_args().keep
    with tempfile.TemporaryDirectory(prefix="plimsoll-pages-") as name:
        folder = Path(name)
        pictures = (keep or folder / "pictures").resolve()
        pictures.mkdir(parents=True, exist_ok=True)
        for file in ("look.mjs", "histories.mjs", "package.json", "package-lock.json"):
            shutil.copy(HERE / file, folder)
        subprocess.run(["npm", "ci", "--no-audit", "--no-fund", "--ignore-scripts", "--silent"], cwd=folder, check=True)
        demo = Demo(folder / "demo")
        try:
            squads = demo.squads()
            # Another name of this machine is another site to a browser.
            site = f"http://localhost:{mail(squads).server_port}"
            browser = shutil.which("chromium") or "chromium"
            told = {"browser": browser, "folder": str(pictures), "mail": site, "squads": squads}
            (folder / "lists.json").write_text(json.dumps(told))
            subprocess.run(["node", "look.mjs"], cwd=folder, check=True)
            told = {"browser": browser, "folder": str(pictures), "token": demo.shell["TRAINER"], "histories": histories(demo)}
            (folder / "histories.json").write_text(json.dumps(told))
            subprocess.run(["node", "histories.mjs"], cwd=folder, check=True)
        finally:
            demo.stop()


if __name__ == "__main__":
    main()
