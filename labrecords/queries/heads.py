"""Heads of the audit trail as they were noted outside the database: one line each, for anybody to read and compare.

    3141    9f86d081...    2026-05-20T09:00:00.000000Z

Number of the seal, its hash, and the moment of the note, parted by tabs. A trail that was cut off at its end, or made
anew from one place on, agrees with itself; it does not agree with such a line.
"""

import pathlib
import re
from collections.abc import Iterable
from dataclasses import dataclass

LINE = re.compile(r"(\d{1,19})\t([0-9a-f]{64})\t(\S{20,40})")


class NotAHead(ValueError):
    """A line that is no noted head."""


@dataclass(frozen=True)
class Head:
    """A seal's number and hash, and when they were noted."""

    seq: int
    hash: str
    noted: str

    def __str__(self):
        return f"{self.seq}\t{self.hash}\t{self.noted}"


def read(file: pathlib.Path) -> list[Head]:
    """Every head of a file. Raises NotAHead naming the first line that is none, OSError when it cannot be read."""
    return list(parse(file.read_text(encoding="ascii", errors="replace").splitlines()))


def parse(lines: Iterable[str]) -> Iterable[Head]:
    """The heads of some lines; empty ones are passed over.

    >>> [head.seq for head in parse([f"7\\t{'0' * 64}\\t2026-05-20T09:00:00.000000Z", ""])]
    [7]
    """
    for number, line in enumerate(lines, start=1):
        if not line.strip():
            continue
        found = LINE.fullmatch(line.strip())
        if found is None:
            raise NotAHead(f"line {number} is no noted head: {line[:60]!r}")
        yield Head(int(found[1]), found[2], found[3])
