"""A program at the bench that sends results over HTTP, tries again when nothing comes back, and notes all of it."""

import http.client
import json
import pathlib
import random
import threading
import time
import uuid
from dataclasses import asdict, dataclass

from tests.faults.checker import Attempt

PATIENCE_S = 180  # after which an entry is given up: a new worker takes its time on a busy computer
ATTEMPT_S = 10  # after which an answer is no longer waited for
FIRST_WAIT_S, LONGEST_WAIT_S = 0.05, 2.0
AGAIN = (425, 429, 502, 503)  # answers that say: later


@dataclass(frozen=True)
class Answer:
    """What came back."""

    status: int
    headers: dict[str, str]
    content: bytes

    @property
    def told(self) -> dict:
        return json.loads(self.content)


class Line:
    """One connection, opened again after it broke. As a proxy does, it says that the outside is https."""

    BROKEN = (OSError, http.client.HTTPException)

    def __init__(self, port: int) -> None:
        self.connection = http.client.HTTPConnection("127.0.0.1", port, timeout=ATTEMPT_S)

    def ask(self, method: str, path: str, headers: dict[str, str], body: bytes | None = None) -> Answer:
        """One attempt; raises one of BROKEN when no whole answer came."""
        try:
            self.connection.request(method, path, body, {"X-Forwarded-Proto": "https", **headers})
            answer = self.connection.getresponse()
            return Answer(answer.status, _joined(answer.getheaders()), answer.read())
        except self.BROKEN:
            self.close()
            raise

    def close(self) -> None:
        """Hang up; the next question opens the line again."""
        self.connection.close()


def _joined(headers: list[tuple[str, str]]) -> dict[str, str]:
    """Headers by name in small letters; one that comes several times is joined."""
    found: dict[str, str] = {}
    for name, value in headers:
        found[name.lower()] = f"{found[name.lower()]}, {value}" if name.lower() in found else value
    return found


class History:
    """Every attempt and what came of it, in a file outside of the system, open until the block ends."""

    def __init__(self, file: pathlib.Path) -> None:
        self.attempts: list[Attempt] = []
        self.file = file.open("w")
        self.lock = threading.Lock()

    def __enter__(self) -> "History":
        return self

    def __exit__(self, *_) -> None:
        self.file.close()

    def note(self, attempt: Attempt) -> None:
        """Keep one."""
        with self.lock:
            self.attempts.append(attempt)
            self.file.write(json.dumps(asdict(attempt)) + "\n")
            self.file.flush()

    @property
    def acknowledged(self) -> int:
        """How many results the system has said it keeps."""
        with self.lock:
            return sum(attempt.outcome == "201" for attempt in self.attempts)


def entry(run: str, specimen: str, typed: str, key: uuid.UUID | str) -> dict:
    """The body of an entry that is kept."""
    return {
        "key": str(key),
        "run": run,
        "specimen": specimen,
        "tested_at": "2026-05-20T09:00:00Z",
        "technique": "A",
        "rate": "11",
        "rate_unit": "in/min",
        "width_mm": "25.4",
        "modes": ["AP"],
        "value": typed,
        "unit": "lbf/in",
    }


def post(line: Line, token: str, body: dict, **headers: str) -> Answer:
    """Send one entry once."""
    named = {"Authorization": f"Token {token}", "Content-Type": "application/json"} | headers
    return line.ask("POST", "/api/results/", named, json.dumps(body).encode())


class Sender:
    """Sends entries one after the other. `same_key=False` is a careless program: every try is a new entry."""

    def __init__(
        self, port: int, person: dict[str, str], history: History, seed: str, *, same_key: bool = True
    ) -> None:
        self.line = Line(port)
        self.person = person
        self.history = history
        self.chance = random.Random(seed)
        self.same_key = same_key

    def send(self, specimen: str, *, lose_first: bool = False) -> None:
        """One result, until it is answered for good or given up; `lose_first`: the first answer gets lost."""
        typed, key = f"1.{self.chance.randrange(40, 66)}", self._key()
        until, tries = time.monotonic() + PATIENCE_S, 0
        while time.monotonic() < until:
            headers = {"X-Lose-The-Answer": "1"} if lose_first and not tries else {}
            attempt = self._attempt(specimen, typed, key, headers)
            self.history.note(attempt)
            if not attempt.later:
                return
            self._wait(tries, attempt.retry_after)
            tries += 1
            key = key if self.same_key else self._key()
        self.history.note(Attempt(str(key), specimen, typed, "given up"))

    def _key(self) -> uuid.UUID:
        return uuid.UUID(int=self.chance.getrandbits(128), version=4)

    def _attempt(self, specimen: str, typed: str, key: uuid.UUID, headers: dict[str, str]) -> Attempt:
        body = entry(self.person["run"], specimen, typed, key)
        try:
            answer = post(self.line, self.person["token"], body, **headers)
        except Line.BROKEN:
            return Attempt(str(key), specimen, typed, "dropped", later=True)
        result = answer.told["result"]["id"] if answer.status == 201 else None
        later, after = answer.status in AGAIN, answer.headers.get("retry-after")
        return Attempt(str(key), specimen, typed, str(answer.status), result, later, after)

    def _wait(self, tries: int, retry_after: str | None) -> None:
        longest = float(retry_after) if retry_after else min(LONGEST_WAIT_S, FIRST_WAIT_S * 2**tries)
        time.sleep(self.chance.uniform(0, longest))
