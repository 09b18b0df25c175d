"""Stand-ins for a network that fails: a relay before an S3 server that can stop answering."""

import contextlib
import socket
import threading
import uuid
from functools import cache

import botocore.session
import urllib3.util

# Each store of a test has a client of its own, which would read what boto has on all services anew.
botocore.session.create_loader = cache(botocore.session.create_loader)


def _ask_briefly(connection, seconds, wait=urllib3.util.wait_for_read):
    return wait(connection, min(seconds, 0.1))


# Before it sends a file boto asks whether it may, and after a second without an answer sends it.
urllib3.util.wait_for_read = _ask_briefly


class Relay:
    """Passes connections on to a server; while `frozen` it takes them and says nothing."""

    def __init__(self, host: str, port: int):
        self.target, self.frozen, self.taken = (host, port), False, 0
        self.listener = socket.create_server(("127.0.0.1", 0))
        self.address = f"http://127.0.0.1:{self.listener.getsockname()[1]}"
        self._open: list[socket.socket] = []
        threading.Thread(target=self._accept, daemon=True).start()

    def freeze(self) -> None:
        """From now on nobody is answered, those who are connected neither."""
        self.frozen = True
        self._hang_up()

    def thaw(self) -> None:
        self.frozen = False
        self._hang_up()

    def stop(self) -> None:
        self.listener.close()
        self._hang_up()

    def _hang_up(self) -> None:
        for one in self._open:
            with contextlib.suppress(OSError):
                one.close()
        self._open.clear()

    def _accept(self) -> None:
        while True:
            try:
                caller, _ = self.listener.accept()
            except OSError:
                return
            self.taken += 1
            self._open.append(caller)
            if self.frozen:
                continue
            server = socket.create_connection(self.target)
            self._open.append(server)
            for source, sink in ((caller, server), (server, caller)):
                threading.Thread(target=self._pass_on, args=(source, sink), daemon=True).start()

    def _pass_on(self, source: socket.socket, sink: socket.socket) -> None:
        with contextlib.suppress(OSError):
            while data := source.recv(65536):
                if self.frozen:
                    return
                sink.sendall(data)
        for one in (source, sink):
            with contextlib.suppress(OSError):
                one.shutdown(socket.SHUT_RDWR)


def keep_in(settings, endpoint: str, bucket: str, own: str = "") -> str:
    """Keep photos and papers in that bucket, apart from those of other tests; the folder's name."""
    own = own or uuid.uuid4().hex
    settings.STORAGES = settings.STORAGES | {
        name: {
            "BACKEND": "portal.object_store.ObjectStore",
            "OPTIONS": {
                "bucket_name": bucket,
                "location": f"{own}/{name}",
                "endpoint_url": endpoint,
            },
        }
        for name in ("photos", "papers")
    }
    return own
