"""A mail server that answers as it is told: aiosmtpd, with faults by the message."""

import asyncio
import email
import email.policy
import logging
import queue
import random
import socket
import ssl
import time
from collections.abc import Callable

from aiosmtpd.controller import Controller
from aiosmtpd.smtp import SMTP


# A client that does not trust us ends the conversation: here that is a case, not an error.
logging.getLogger("mail.log").setLevel(logging.CRITICAL)

# Seconds after which something has not come: it ends a hang, and is long enough for a machine with much else to do.
PATIENCE = 180.0


class Arrived:
    """A message whose content came whole, and what was answered."""

    def __init__(self, recipient: str, content: bytes, answer: str):
        self.recipient = recipient
        self.content = content
        self.answer = answer
        self.message = email.message_from_bytes(content, policy=email.policy.default)

    @property
    def id(self) -> str:
        return self.message["Message-ID"]

    @property
    def taken(self) -> bool:
        return self.answer == "250"


class Listening(Controller):
    def _trigger_server(self):
        """The library greets itself once, for which it takes the server's TLS for a client's."""
        if self.ssl_context is None:
            super()._trigger_server()
            return
        trusting = ssl.create_default_context()
        trusting.check_hostname, trusting.verify_mode = False, ssl.CERT_NONE
        with socket.create_connection((self.hostname, self.port), 5) as plain, trusting.wrap_socket(plain) as secret:
            secret.recv(1024)


class MailServer:
    """Listens on a port of this machine. `answering` gives the answer to the transaction of each number, from 0: 250, a status for the
    message, `rcpt STATUS` for the recipient, `hang` (no answer after the content), `drop` (the connection ends after it). `secret` counts
    what came by TLS."""

    def __init__(self, answering: Callable[[int], str] = lambda _: "250", port: int = 0, **options):
        self.answering = answering
        self.arrived: list[Arrived] = []
        self.news: queue.Queue = queue.Queue()
        self.transactions = 0
        self.secret = 0
        self.controller = Listening(self, hostname="127.0.0.1", port=port or free_port(), ready_timeout=10, **options)
        self.controller.start()

    @property
    def port(self) -> int:
        return self.controller.port

    async def handle_RCPT(self, server: SMTP, session, envelope, address: str, options: list) -> str:
        answer = self.answering(self.transactions)
        if answer.startswith("rcpt "):
            self.transactions += 1
            return f"{answer.removeprefix('rcpt ')} not now"
        envelope.rcpt_tos.append(address)
        return "250 OK"

    async def handle_DATA(self, server: SMTP, session, envelope) -> str:
        answer = self.answering(self.transactions)
        self.transactions += 1
        self.secret += session.ssl is not None or self.controller.ssl_context is not None
        arrived = Arrived(envelope.rcpt_tos[0], envelope.original_content or envelope.content, answer)
        self.arrived.append(arrived)
        self.news.put(arrived)
        if answer == "hang":
            await asyncio.sleep(600)
        if answer == "drop":
            server.transport.abort()
        return f"{answer} done"

    def next(self, seconds: float = PATIENCE) -> Arrived:
        return self.news.get(timeout=seconds)

    def stop(self):
        self.controller.stop()


def free_port() -> int:
    """One below those that Linux gives to connections and to listeners that name none, so that it stays free while the server is gone."""
    while True:
        port = random.randrange(10_000, 20_000)
        with socket.socket() as probe:
            if probe.connect_ex(("127.0.0.1", port)) != 0:
                return port


def until(what: Callable, seconds: float = PATIENCE):
    """What comes, as soon as it is true."""
    end = time.monotonic() + seconds
    while time.monotonic() < end:
        if found := what():
            return found
        time.sleep(0.1)
    raise SystemExit(f"waited {seconds} s in vain for {what.__doc__ or what}")
