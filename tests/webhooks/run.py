#!/usr/bin/env python3
"""Lets the running program send a signed webhook and has it judged by the verifiers that the authors of the Standard Webhooks
specification publish on PyPI and npm: the message passes, as the challenge before it did; wrong secret, altered body and old
timestamp are refused.

The one on crates.io judges in tests/tests/notices/signatures.rs. The program is the one in $CARGO_TARGET_DIR/debug (else
target/debug).
"""

import datetime
import http.server
import json
import os
import queue
import shutil
import subprocess
import sys
import tempfile
import threading
from pathlib import Path

from standardwebhooks.webhooks import Webhook, WebhookVerificationError

HERE = Path(__file__).resolve().parent
ROOT = HERE.parent.parent
PROGRAMS = Path(os.environ.get("CARGO_TARGET_DIR", ROOT / "target")) / "debug"

sys.path.insert(0, str(ROOT / "tests" / "bench"))
from service import Service  # noqa: E402

ARRIVED: queue.Queue = queue.Queue()


class Receiver(http.server.BaseHTTPRequestHandler):
    def do_POST(self):
        body = self.rfile.read(int(self.headers["content-length"])).decode()
        ARRIVED.put(({name.lower(): value for name, value in self.headers.items()}, body))
        # What every receiver has to do first: see openapi/integrating.md.
        event = json.loads(body)
        challenge = event["data"].get("challenge") if event["type"] == "plimsoll.challenge" else None
        answer = json.dumps({"challenge": challenge}).encode() if challenge else b""
        self.send_response(200)
        self.send_header("content-length", str(len(answer)))
        self.end_headers()
        self.wfile.write(answer)

    def log_message(self, *_):
        pass


def sent(folder: Path, clock: datetime.datetime) -> list[dict]:
    """The challenge and a message of a program whose clock shows this time, with the secret they were signed with."""
    receiver = http.server.HTTPServer(("127.0.0.1", 0), Receiver)
    threading.Thread(target=receiver.serve_forever, daemon=True).start()
    folder.mkdir()
    settings = {"PLIMSOLL_CLOCK": clock.isoformat(), "PLIMSOLL_WEBHOOK_LOOPBACK": "on", "PLIMSOLL_JOBS": "on"}
    service = Service(PROGRAMS, folder, f"sqlite://{folder}/plimsoll.sqlite", settings=settings)
    try:
        made = {"name": "HK Nordvang", "time_zone": "Europe/Copenhagen"}
        club = service.call("POST", "/v1/clubs", service.token("operator"), made)["club_id"]
        admin, path = service.token("club_admin", club), f"/v1/clubs/{club}/notice-endpoints"
        url = f"http://127.0.0.1:{receiver.server_port}/notices"
        endpoint = service.call("POST", path, admin, {"url": url})
        service.call("POST", f"{path}/{endpoint['endpoint_id']}/test", admin, {})
        arrived = [ARRIVED.get(timeout=30) for _ in range(2)]
        return [{"secret": endpoint["secret"], "headers": headers, "body": body} for headers, body in arrived]
    finally:
        service.stop()
        receiver.shutdown()


def cases(folder: Path) -> list[dict]:
    """Messages, each with whether it must pass."""
    now = datetime.datetime.now(datetime.UTC)
    asked, good = sent(folder / "now", now)
    _, old = sent(folder / "old", now - datetime.timedelta(minutes=6))
    other = "whsec_" + "A" * 43 + "="
    return [
        {"what": "the challenge", "passes": True, **asked},
        {"what": "as sent", "passes": True, **good},
        {"what": "wrong secret", "passes": False, **good, "secret": other},
        {"what": "altered body", "passes": False, **good, "body": good["body"].replace("test", "tess")},
        {"what": "another id", "passes": False, **good, "headers": {**good["headers"], "webhook-id": "other"}},
        {"what": "old timestamp", "passes": False, **old},
    ]


def passes(case: dict) -> bool:
    try:
        Webhook(case["secret"]).verify(case["body"], case["headers"])
    except WebhookVerificationError:
        return False
    return True


def main() -> None:
    with tempfile.TemporaryDirectory(prefix="plimsoll-webhooks-") as name:
        folder = Path(name)
        judged = cases(folder)
        wrong = [case["what"] for case in judged if passes(case) != case["passes"]]
        if wrong:
            raise SystemExit(f"the verifier of PyPI judges otherwise: {', '.join(wrong)}")
        for file in ("verify.mjs", "package.json", "package-lock.json"):
            shutil.copy(HERE / file, folder)
        (folder / "cases.json").write_text(json.dumps(judged))
        subprocess.run(["npm", "ci", "--no-audit", "--no-fund", "--ignore-scripts", "--silent"], cwd=folder, check=True)
        subprocess.run(["node", "verify.mjs"], cwd=folder, check=True)
        print(f"{len(judged)} messages judged alike by the verifiers of PyPI and npm and by what the specification says")


if __name__ == "__main__":
    main()
