#!/usr/bin/env python3
"""Opens the demo's weekly lists in headless Chromium as a coach does, by links in a mail that is read in a browser, at 360 and
1280 pixels; judges them with axe-core, acknowledges a flag with the form, and prints them on A4 and Letter. Does the same with
the pages that a token opens: each squad's day, the rate of new findings, athletes' histories, and a week sheet.

    tests/pages/run.py [--keep DIR]     keeps the pictures and printed pages there

The program is the one in $CARGO_TARGET_DIR/debug (else target/debug).
"""

import argparse
import http.server
import json
import shutil
import subprocess
import tempfile
import threading
from pathlib import Path

from demo import Demo

HERE = Path(__file__).resolve().parent


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
            told = {"browser": browser, "folder": str(pictures), "mail": site, "squads": squads, "pages": demo.pages()}
            (folder / "lists.json").write_text(json.dumps(told))
            subprocess.run(["node", "look.mjs"], cwd=folder, check=True)
            told = {"browser": browser, "folder": str(pictures), "token": demo.shell["TRAINER"], "histories": demo.histories()}
            (folder / "histories.json").write_text(json.dumps(told))
            subprocess.run(["node", "histories.mjs"], cwd=folder, check=True)
        finally:
            demo.stop()


if __name__ == "__main__":
    main()
