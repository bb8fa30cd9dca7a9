"""What is looked at in a trace file before it is kept: one way for the page and for the watched folder."""

from . import reader, sniff
from .decoding import CAP
from .layout import Layout
from .reader import Segment


def accept(data: bytes, *, name: str, remembered: Layout | None, cap: int = CAP) -> tuple[Segment, ...]:
    """The curves of a file that can be read to its end; none where a person must say first which column is which.

    Raises FileProblem.
    """
    found = sniff.sniff(data, remembered=remembered, cap=cap)
    if not found.layout.series:
        return ()
    return reader.read(data, found.layout, name=name, cap=cap).segments
