"""A second server of the demo that can be killed, and a wire to it that may lose answers once they were given."""

import contextlib
import http.client
import http.server
import os
import random
import socket
import subprocess
import sys
import threading
import time
from collections.abc import Iterator
from dataclasses import dataclass, field

from labrecords.management.commands.demo import SERVED, WSGI
from tests.browser.house import ROOT, House, free_port

HOP = {"connection", "keep-alive", "transfer-encoding", "content-length"}


@dataclass
class Server:
    """A web server over the demo's database, in a process of its own."""

    home: str
    port: int = field(default_factory=free_port)
    process: subprocess.Popen | None = None

    def start(self) -> None:
        environment = {name: value for name, value in os.environ.items() if not name.endswith("DATABASE_URL")}
        environment |= {"LABRECORDS_HOME": self.home, "DJANGO_SETTINGS_MODULE": "labrecords.settings"}
        command = [sys.executable, "-m", "granian", *SERVED, "--port", str(self.port), WSGI]
        quiet = {"stdout": subprocess.DEVNULL, "stderr": subprocess.DEVNULL}
        self.process = subprocess.Popen(command, cwd=ROOT, env=environment, **quiet)
        until = time.monotonic() + 60
        while not self.answers():
            assert time.monotonic() < until, "the server did not start"
            time.sleep(0.1)

    def answers(self) -> bool:
        with contextlib.suppress(OSError), socket.create_connection(("127.0.0.1", self.port), timeout=1):
            return True
        return False

    def stop(self) -> None:
        """End the process, and see that nothing answers any more."""
        if self.process is not None:
            self.process.terminate()
            self.process.wait(20)
            self.process = None
        assert not self.answers()


class Wire(http.server.ThreadingHTTPServer):
    """Carries requests to the server. While it is lossy it loses answers to entries, after they were committed."""

    daemon_threads = True

    def __init__(self, to: Server, *, seed: int) -> None:
        super().__init__(("127.0.0.1", 0), _Carrier)
        self.to, self.chance, self.share = to, random.Random(seed), 0.0
        self.dropped = 0
        self.altered: dict[str, tuple[str, str]] = {}  # address of a script -> text and what stands there instead
        self.dead: set[str] = set()  # addresses that get no answer
        self.entries: list[bytes] = []  # bodies of entries that came over the wire

    @property
    def url(self) -> str:
        return f"http://localhost:{self.server_port}"

    def loses(self, method: str, path: str) -> bool:
        if method != "POST" or not path.startswith("/runs/") or self.chance.random() >= self.share:
            return False
        self.dropped += 1
        return True

    def handle_error(self, request, client_address) -> None:
        """A browser that was killed hangs up; that is no fault of the wire."""


class _Carrier(http.server.BaseHTTPRequestHandler):
    def _carry(self) -> None:
        wire: Wire = self.server
        body = self.rfile.read(int(self.headers.get("Content-Length") or 0))
        if self.command == "POST" and self.path.startswith("/runs/"):
            wire.entries.append(body)
        self.close_connection = True
        asked = dict(self.headers) | {"Accept-Encoding": "identity"}
        line = http.client.HTTPConnection("127.0.0.1", wire.to.port, timeout=30)
        try:
            with contextlib.closing(line):
                line.request(self.command, self.path, body, asked)
                answer = line.getresponse()
                content = answer.read()
        except (OSError, http.client.HTTPException):
            return  # nobody is there: the line goes dead without a word
        if self.path not in wire.dead and not wire.loses(self.command, self.path):
            self._answer(answer, self._altered(content))

    do_GET = do_POST = do_HEAD = _carry  # noqa: N815 - the names that the library calls

    def _altered(self, content: bytes) -> bytes:
        if self.path not in self.server.altered:
            return content
        there, instead = self.server.altered[self.path]
        assert there in content.decode(), f"{self.path} no longer says: {there}"
        return content.decode().replace(there, instead).encode()

    def _answer(self, answer: http.client.HTTPResponse, content: bytes) -> None:
        self.send_response_only(answer.status)
        for name, value in answer.getheaders():
            if name.lower() not in HOP:
                self.send_header(name, value)
        self.send_header("Content-Length", str(len(content)))
        self.send_header("Connection", "close")
        self.end_headers()
        self.wfile.write(content)

    def log_message(self, *_args) -> None:
        pass


@contextlib.contextmanager
def wired(house: House, *, seed: int) -> Iterator[Wire]:
    """A server of its own for the demo, and the wire to it, until the block ends."""
    server = Server(str(house.home))
    server.start()
    with Wire(server, seed=seed) as wire:
        threading.Thread(target=wire.serve_forever, args=(0.02,), daemon=True).start()
        try:
            yield wire
        finally:
            wire.shutdown()
            server.stop()
