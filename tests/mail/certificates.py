"""Certificates made for one test run, by the openssl program that Debian's ca-certificates brings along."""

import ssl
import subprocess
from pathlib import Path

NEW_KEY = ["-newkey", "ec", "-pkeyopt", "ec_paramgen_curve:P-256", "-nodes"]


class Authority:
    """An authority of our own, whose certificate lies in `roots`."""

    def __init__(self, folder: Path):
        folder.mkdir()
        self.folder, self.roots, self.key = folder, folder / "authority.pem", folder / "authority.key"
        subject = ["-subj", f"/CN=Authority {folder.name} to the test"]
        self._openssl("req", "-x509", *NEW_KEY, "-keyout", self.key, "-out", self.roots, "-days", "30", *subject)

    def certify(self, host: str, days: int = 30) -> ssl.SSLContext:
        """What a server shows that is called so; with days below 0 it has expired."""
        name = self.folder / f"{host}_{days}"
        key, request, certificate, extension = (name.with_suffix(f".{end}") for end in ("key", "csr", "pem", "ext"))
        extension.write_text(f"subjectAltName=DNS:{host}\n")
        self._openssl("req", *NEW_KEY, "-keyout", key, "-out", request, "-subj", f"/CN={host}")
        by = ["-CA", self.roots, "-CAkey", self.key, "-CAcreateserial"]
        self._openssl("x509", "-req", "-in", request, "-out", certificate, "-days", str(days), "-extfile", extension, *by)
        context = ssl.SSLContext(ssl.PROTOCOL_TLS_SERVER)
        context.load_cert_chain(certificate, key)
        return context

    @staticmethod
    def _openssl(*arguments):
        subprocess.run(["openssl", *map(str, arguments)], check=True, capture_output=True)
