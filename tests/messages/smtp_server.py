"""A small mail server on loopback that takes e-mails, or fails as told at one of its steps."""

import socket
import socketserver
import threading
import time
from email import message_from_bytes, policy


class MailServer:
    """Listens in threads. `faults` holds what happens at each step: a reply, or "stall" or "drop".

    Steps: connect, mail, rcpt, data (the command), text (its end, before the reply), replied (after
    the reply to the text, so that the e-mail was taken).
    """

    def __init__(self):
        self.faults: dict[str, str] = {}
        self.taken: list = []
        self.slowness = 0.0  # seconds before and after it takes a text
        self.stalled, self.go_on = threading.Event(), threading.Event()
        self._server = socketserver.ThreadingTCPServer(("127.0.0.1", 0), self._handle, False)
        self._server.daemon_threads = True
        self._server.allow_reuse_address = True
        self._server.server_bind()
        self._server.server_activate()
        self.port = self._server.server_address[1]
        threading.Thread(target=self._server.serve_forever, args=(0.05,), daemon=True).start()

    def close(self) -> None:
        self.go_on.set()
        self._server.shutdown()
        self._server.server_close()

    @property
    def ids(self) -> list[str]:
        """The Message-ID of each e-mail that was taken."""
        return [email["Message-ID"] for email in self.taken]

    def _handle(self, request, address, server):
        lines = request.makefile("rb")

        def say(words: str) -> None:
            request.sendall(words.encode() + b"\r\n")

        try:
            self._talk(lines, say)
        except (OSError, _Hangs):
            pass
        finally:
            request.close()

    def _talk(self, lines, say) -> None:
        self._at("connect", "220 mail.example ESMTP", say)
        while line := lines.readline():
            verb = line[:4].upper().strip().decode()
            if verb == "EHLO":
                say("250 mail.example")
            elif verb == "MAIL":
                self._at("mail", "250 OK", say)
            elif verb == "RCPT":
                self._at("rcpt", "250 OK", say)
            elif verb == "DATA":
                if self._at("data", "354 Go on", say).startswith("354"):
                    self._text(lines, say)
            elif verb == "QUIT":
                say("221 Bye")
                return
            else:
                say("250 OK")

    def _text(self, lines, say) -> None:
        text = []
        while (line := lines.readline()) != b".\r\n":
            if not line:
                return
            text.append(line)
        email = message_from_bytes(b"".join(text), policy=policy.default)
        if self.faults.get("text", "").startswith(("4", "5")):
            say(self.faults["text"])
            return
        # From here on the server has it: what it does next, the portal may never hear.
        time.sleep(self.slowness)
        self.taken.append(email)
        time.sleep(self.slowness)
        self._at("text", "250 Taken", say)
        if "replied" in self.faults:
            raise _Hangs

    def _at(self, step: str, reply: str, say) -> str:
        fault = self.faults.get(step, reply)
        if fault == "drop":
            raise _Hangs
        if fault == "stall":
            self.stalled.set()
            self.go_on.wait(60)
            fault = reply
        say(fault)
        return fault


class _Hangs(Exception):
    """The server hangs up."""


def nobody() -> int:
    """A port of this machine where nobody answers."""
    with socket.socket() as probe:
        probe.bind(("127.0.0.1", 0))
        return probe.getsockname()[1]
