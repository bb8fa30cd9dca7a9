"""A folder into which a tester writes its files: each is taken once it is whole, as the page would take it."""

import contextlib
import os
import pathlib
import time
from collections.abc import Callable
from dataclasses import dataclass

from django.conf import settings
from django.db import close_old_connections, connection

from labrecords.actions import tray
from labrecords.actions.refusals import Refused
from labrecords.database.errors import UNREACHABLE
from labrecords.files.layout import Layout
from labrecords.files.problems import FileProblem
from labrecords.queries import people, studies, traces
from labrecords.rules.wording import WORDS
from labrecords.web import now

TAKEN, REFUSED = "taken", "refused"
UNFINISHED = (".part", ".partial", ".tmp", ".temp", ".crdownload")
LONGEST_PAUSE_S = 30.0


@dataclass(frozen=True)
class Patience:
    """How long a file has to stay as it is, in s: before it is read; and, if it cannot be read, or does not end with
    the end of a line, before it is taken for whole all the same. Taken files are looked at for `after` s more."""

    settled: float = 2.0
    unread: float = 20.0
    after: float = 60.0


@dataclass(frozen=True)
class Stamp:
    """What changes when a file is written to or replaced."""

    size: int
    changed: int
    inode: int

    @classmethod
    def of(cls, path: pathlib.Path) -> "Stamp":
        told = path.stat()
        return cls(told.st_size, told.st_mtime_ns, told.st_ino)


class Watch:
    """Takes the files of a folder for a person or a tester's account. `turn` is one look at all of them."""

    def __init__(
        self,
        folder: pathlib.Path,
        *,
        username: str,
        tester: str = "",
        patience: Patience | None = None,
        say: Callable[[str], object],
        clock: Callable[[], float] = time.monotonic,
    ) -> None:
        self.folder, self.username, self.tester = folder, username, tester
        self.patience, self.say, self.clock = patience or Patience(), say, clock
        self.seen: dict[pathlib.Path, tuple[Stamp, float]] = {}
        self.moved: dict[pathlib.Path, tuple[Stamp, float, pathlib.Path]] = {}
        self.unread: dict[pathlib.Path, Stamp] = {}
        self.told: set[str] = set()
        self.pause, self.wait_until = 1.0, 0.0
        for name in (TAKEN, REFUSED):
            (folder / name).mkdir(exist_ok=True)

    def turn(self) -> None:
        """Look at every file once; those that are whole are taken, unless the database is being waited for."""
        self._look_after_the_moved()
        if self.clock() < self.wait_until:
            return
        try:
            for path in self._files():
                self._look(path)
        except UNREACHABLE as problem:
            self._wait_for_the_database(problem)

    def _files(self) -> list[pathlib.Path]:
        found = [path for path in self.folder.iterdir() if _is_a_file(path)]
        self.seen = {path: seen for path, seen in self.seen.items() if path in found}
        return sorted(found)

    def _look(self, path: pathlib.Path) -> None:
        try:
            stamp = Stamp.of(path)
            kept, since = self.seen.get(path, (None, 0.0))
            if stamp != kept:
                self.seen[path] = (stamp, self.clock())
                return
            if (age := self.clock() - since) >= self.patience.settled:
                self._take(path, stamp, last_chance=age >= self.patience.unread)
        except FileNotFoundError:
            self.seen.pop(path, None)
        except OSError as problem:
            self._say_once(f"{path.name} cannot be read: {problem.strerror}. It is tried again.")

    def _take(self, path: pathlib.Path, stamp: Stamp, *, last_chance: bool) -> None:
        if stamp.size > settings.TRACE_FILE_LIMIT_BYTES:
            return self._refuse(path, stamp, [_too_large(stamp.size)])
        if not last_chance and self.unread.get(path) == stamp:
            return None
        content = path.read_bytes()
        if Stamp.of(path) != stamp or len(content) != stamp.size:
            return None  # written to while it was read: the next turn sees it as changed
        if not (last_chance or content.endswith((b"\n", b"\r"))):
            return None
        close_old_connections()
        try:
            arrived = tray.arrive(
                name=path.name, content=content, remembered=self._remembered(), by=self._person(), at=now()
            )
        except FileProblem as problem:
            if last_chance:
                return self._refuse(path, stamp, [problem.sentence])
            self.unread[path] = stamp
            return None
        except Refused as refused:
            return self._refuse(path, stamp, sentences(refused))
        self._recover()
        return self._move(path, stamp, TAKEN, _said(path.name, arrived))

    def _person(self):
        return people.person(self.username)

    def _remembered(self) -> Layout | None:
        kept = traces.remembered_layout(studies.equipment(self.tester)) if self.tester else None
        return Layout.from_json(kept) if kept else None

    def _refuse(self, path: pathlib.Path, stamp: Stamp, why: list[str]) -> None:
        self._recover()
        target = self._move(path, stamp, REFUSED, f"{path.name} is refused: {why[0]}")
        if target is not None:
            target.with_name(f"{target.name}.txt").write_text("\n".join(why) + "\n", encoding="utf-8")

    def _move(self, path: pathlib.Path, stamp: Stamp, where: str, said: str) -> pathlib.Path | None:
        """Move what was read. What was written to, or replaced, in the meantime stays, and is read anew."""
        target = _free(self.folder / where / path.name)
        path.rename(target)
        self.seen.pop(path, None)
        self.unread.pop(path, None)
        if Stamp.of(target) != stamp:
            self._bring_back(target, path)
            return None
        self.moved[target] = (stamp, self.clock(), path)
        self.say(said)
        return target

    def _look_after_the_moved(self) -> None:
        """A tester that still holds a file open goes on writing to it where it lies now: then it comes back."""
        for target, (stamp, since, path) in list(self.moved.items()):
            with contextlib.suppress(FileNotFoundError):
                if Stamp.of(target) == stamp and self.clock() - since < self.patience.after:
                    continue
                if Stamp.of(target) != stamp:
                    self._bring_back(target, path)
            del self.moved[target]

    def _bring_back(self, target: pathlib.Path, path: pathlib.Path) -> None:
        back = _free(path)
        target.rename(back)
        target.with_name(f"{target.name}.txt").unlink(missing_ok=True)
        self.say(f"{path.name} was written to after it was read. It is read again as {back.name}.")

    def _wait_for_the_database(self, problem: Exception) -> None:
        with contextlib.suppress(*UNREACHABLE):
            connection.close()
        self.wait_until = self.clock() + self.pause
        reason = str(problem).strip().splitlines()[0] if str(problem).strip() else type(problem).__name__
        self.say(f"The database does not answer ({reason}). Files wait; tried again in {self.pause:.0f} s.")
        self.pause = min(2 * self.pause, LONGEST_PAUSE_S)

    def _recover(self) -> None:
        if self.pause > 1.0:
            self.say("The database answers again.")
        self.pause, self.wait_until = 1.0, 0.0

    def _say_once(self, words: str) -> None:
        if words not in self.told:
            self.told.add(words)
            self.say(words)


def _is_a_file(path: pathlib.Path) -> bool:
    """Whether a tester may have written it: links lead elsewhere, and some names say that it is not finished."""
    hidden = path.name.startswith((".", "~$")) or path.suffix.lower() in UNFINISHED
    return not hidden and not path.is_symlink() and path.is_file()


def _free(path: pathlib.Path) -> pathlib.Path:
    """The path, or one beside it: nothing that lies there is written over."""
    tried, number = path, 2
    while os.path.lexists(tried) or os.path.lexists(f"{tried}.txt"):
        tried, number = path.with_name(f"{path.stem} ({number}){path.suffix}"), number + 1
    return tried


def _too_large(size: int) -> str:
    limit = settings.TRACE_FILE_LIMIT_BYTES // (1024 * 1024)
    return f"It has {size / 1024 / 1024:.0f} MB; the most is {limit} MB. Export fewer specimens a file."


def _said(name: str, arrived: tray.Arrived) -> str:
    came = " The same bytes had come before." if arrived.again else ""
    if arrived.study is None:
        return f"{name} waits in the tray at the bench: {arrived.why}{came}"
    return f"{name} is a trace file of {arrived.study.code}.{came}"


def sentences(refused: Refused) -> list[str]:
    """A refusal in words: what, why, the rule, who can lift it, what to do next."""
    told = []
    for answer in refused.answers:
        words = WORDS[answer.code]
        told += [f"Not recorded: {words.headline}.", answer.why, words.rule, f"Who can resolve it: {words.who}"]
        told += [f"What to do next: {words.next}"]
    return told
