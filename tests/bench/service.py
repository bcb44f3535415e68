"""One running program under measurement: started, asked, watched, stopped."""

import http.client
import json
import os
import re
import signal
import socket
import subprocess
import threading
import time
from pathlib import Path

# A Sunday evening: the week that is being reported has not been closed yet.
CLOCK = "2026-11-22T20:00:00Z"
TODAY = "2026-11-22"
# Seconds that a machine with much else to do is waited for; it ends a hang.
PATIENCE = 180.0


class Service:
    """The service, or the plain server (`plain=True`), on one database."""

    def __init__(self, programs: Path, folder: Path, database_url: str, plain: bool = False, settings: dict | None = None):
        self.folder = folder
        self.program = programs / "plimsoll"
        self.environment = {
            "PATH": os.environ["PATH"],
            "PLIMSOLL_DATABASE_URL": database_url,
            "PLIMSOLL_LISTEN": "127.0.0.1:0",
            "PLIMSOLL_LOCAL_ISSUER": "on",
            "PLIMSOLL_LOCAL_KEY": str(folder / "local.key"),
            "PLIMSOLL_AUDIT_KEY": str(folder / "audit.key"),
            "PLIMSOLL_AUDIT_SIGN_KEY": str(folder / "audit-sign.key"),
            "PLIMSOLL_AUDIT_HEADS": str(folder / "audit-heads.jsonl"),
            "PLIMSOLL_ERASURES": str(folder / "erasures.jsonl"),
            "PLIMSOLL_PAGE_KEY": str(folder / "page.key"),
            "PLIMSOLL_MASTER_KEY": str(folder / "master.key"),
            "PLIMSOLL_JOBS": "off",
            "PLIMSOLL_MIGRATE": "on",
            "PLIMSOLL_RATE_LIMIT": "off",
            "PLIMSOLL_CLOCK": CLOCK,
            **(settings or {}),
        }
        if plain:
            with socket.socket() as probe:
                probe.bind(("127.0.0.1", 0))
                self.port = probe.getsockname()[1]
            address = f"127.0.0.1:{self.port}"
            command = [programs / "examples" / "plain", "--database-url", database_url]
            self.process = self._start([*command, "serve", "--listen", address], None)
            self._await_port()
        else:
            self.process = self._start([self.program, "serve"], subprocess.PIPE)
            first = self.process.stdout.readline()
            self.port = int(re.search(r":(\d+)$", first.strip()).group(1))

    def _start(self, command: list, output) -> subprocess.Popen:
        with open(self.folder / "log", "ab") as log:
            return subprocess.Popen(command, env=self.environment, cwd=self.folder, text=True, stdout=output, stderr=log)

    def _await_port(self):
        for _ in range(200):
            with socket.socket() as probe:
                if probe.connect_ex(("127.0.0.1", self.port)) == 0:
                    return
            time.sleep(0.05)
        raise SystemExit(f"nothing listens on {self.port}; see {self.folder}/log")

    @property
    def url(self) -> str:
        return f"http://127.0.0.1:{self.port}"

    def stop(self):
        self.process.send_signal(signal.SIGTERM)
        self.process.wait(timeout=PATIENCE)

    def command(self, *arguments: str) -> str:
        """Runs another command of the program on the same database."""
        run = [self.program, *arguments]
        done = subprocess.run(run, env=self.environment, cwd=self.folder, text=True, capture_output=True)
        if done.returncode != 0:
            raise SystemExit(f"{' '.join(map(str, run))}: {done.stderr}")
        return done.stdout.strip()

    def token(self, role: str, club: str | None = None) -> str:
        of_club = ["--club", club] if club else []
        return self.command("token", "--role", role, "--subject", "benchmark", "--client", "bench-app", "--ttl", "24h", *of_club)

    def call(self, method: str, path: str, token: str, body=None) -> dict:
        """One JSON request that must succeed."""
        headers = {"Authorization": f"Bearer {token}", "Content-Type": "application/json"}
        payload = body if body is None or isinstance(body, bytes) else json.dumps(body)
        status, answer = self.ask(method, path, headers, payload)
        if status >= 300:
            raise SystemExit(f"{method} {path}: {status} {answer[:500]!r}")
        self.answer_bytes = len(answer)
        return json.loads(answer)

    def ask(self, method: str, path: str, headers: dict[str, str], payload: str | bytes | None) -> tuple[int, bytes]:
        """One request, again while the service says that it is busy, as every caller has to."""
        end = time.monotonic() + PATIENCE
        while True:
            connection = http.client.HTTPConnection("127.0.0.1", self.port, timeout=600)
            connection.request(method, path, payload, headers)
            response = connection.getresponse()
            answer = response.read()
            connection.close()
            if response.status != 503 or json.loads(answer)["code"] != "busy" or time.monotonic() > end:
                return response.status, answer
            time.sleep(float(response.headers["Retry-After"]))

    def stream(self, path: str, token: str, chunks) -> int:
        """Sends NDJSON chunk by chunk while the answer is read; the number of accepted rows."""
        head = (
            f"POST {path} HTTP/1.1\r\nHost: localhost\r\nAuthorization: Bearer {token}\r\n"
            "Content-Type: application/x-ndjson\r\nTransfer-Encoding: chunked\r\n\r\n"
        )
        with socket.create_connection(("127.0.0.1", self.port)) as connection:

            def send():
                connection.sendall(head.encode())
                for chunk in chunks:
                    connection.sendall(b"%x\r\n%b\r\n" % (len(chunk), chunk))
                connection.sendall(b"0\r\n\r\n")

            sender = threading.Thread(target=send)
            sender.start()
            response = http.client.HTTPResponse(connection, method="POST")
            response.begin()
            accepted = sum(line.count(b'"outcome":"accepted"') for line in response)
            sender.join()
        return accepted

    def memory(self, name: str) -> float:
        """`VmRSS` (now) or `VmHWM` (most since `forget_peak`) in MB."""
        status = Path(f"/proc/{self.process.pid}/status").read_text()
        return int(re.search(rf"{name}:\s+(\d+) kB", status).group(1)) / 1024

    def forget_peak(self):
        Path(f"/proc/{self.process.pid}/clear_refs").write_text("5")
