"""An RFC 3161 authority on loopback: `openssl ts` behind a small HTTP server.

It sends its own certificate and not the root's: openssl leaves two as they come, and the client's
library wants a set in DER's order.
"""

import subprocess
import threading
from http.server import BaseHTTPRequestHandler, HTTPServer
from pathlib import Path

CONFIG = """
[tsa]
default_tsa = ours
[ours]
dir = {folder}
serial = {folder}/serial
crypto_device = builtin
signer_cert = {folder}/tsa.pem
signer_key = {folder}/tsa.key
signer_digest = sha256
default_policy = 1.2.3.4.1
digests = sha256
accuracy = secs:1
ordering = yes
ess_cert_id_chain = no
ess_cert_id_alg = sha256
[req]
distinguished_name = name
[name]
[ca]
basicConstraints = critical, CA:TRUE
keyUsage = critical, keyCertSign
[stamping]
basicConstraints = CA:FALSE
keyUsage = critical, digitalSignature
extendedKeyUsage = critical, timeStamping
"""

MAKE = """
echo 01 > serial
openssl req -x509 -newkey rsa:2048 -nodes -keyout ca.key -out ca.pem -days 3650 \
  -subj '/CN=A made-up root' -config config -extensions ca
openssl req -newkey rsa:2048 -nodes -keyout tsa.key -out tsa.csr \
  -subj '/CN=A made-up authority' -config config
openssl x509 -req -in tsa.csr -CA ca.pem -CAkey ca.key -set_serial 2 -days 3650 -out tsa.pem \
  -extfile config -extensions stamping
"""


class Authority:
    """`answer` may be set to bytes that are sent instead; `status` to another status of HTTP.

    With `location` set it sends elsewhere: to itself, where a GET counts as asking too.
    """

    def __init__(self, folder: Path):
        self.folder = folder
        (folder / "config").write_text(CONFIG.format(folder=folder))
        subprocess.run(["sh", "-ec", MAKE], cwd=folder, check=True, capture_output=True)
        self.answer: bytes | None = None
        self.status = 200
        self.location = ""
        self.asked: list[bytes] = []
        authority = self

        class Handler(BaseHTTPRequestHandler):
            def do_POST(self):
                question = self.rfile.read(int(self.headers["Content-Length"]))
                authority.asked.append(question)
                assert self.headers["Content-Type"] == "application/timestamp-query"
                answer = authority.answer or authority.stamp(question)
                self.send_response(authority.status)
                if authority.location:
                    self.send_header("Location", authority.location)
                self.send_header("Content-Type", "application/timestamp-reply")
                self.send_header("Content-Length", str(len(answer)))
                self.end_headers()
                self.wfile.write(answer)

            def do_GET(self):
                authority.asked.append(b"")
                self.send_error(404)

            def log_message(self, *arguments):
                pass

        self._server = HTTPServer(("127.0.0.1", 0), Handler)
        self.url = f"http://127.0.0.1:{self._server.server_port}/"
        threading.Thread(target=self._server.serve_forever, daemon=True).start()

    def stamp(self, question: bytes) -> bytes:
        (self.folder / "question").write_bytes(question)
        command = "openssl ts -reply -config config -queryfile question -out answer"
        subprocess.run(command.split(), cwd=self.folder, check=True, capture_output=True)
        return (self.folder / "answer").read_bytes()

    def vouches_for(self, answer: bytes, content: bytes) -> bool:
        """What openssl says of a kept answer, from the authority's root alone."""
        (self.folder / "kept").write_bytes(answer)
        (self.folder / "content").write_bytes(content)
        command = "openssl ts -verify -in kept -data content -CAfile ca.pem"
        done = subprocess.run(command.split(), cwd=self.folder, check=False, capture_output=True)
        return done.returncode == 0

    def close(self) -> None:
        self._server.shutdown()
        self._server.server_close()
