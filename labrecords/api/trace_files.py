"""Which stretch of a sent file belongs to a specimen, and how the file is read; nothing is kept here."""

import json
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

from labrecords.files import reader, sniff
from labrecords.files.layout import Layout
from labrecords.queries import traces
from labrecords.rules import labels

from .problems import Problem, reason

if TYPE_CHECKING:
    from django.core.files.uploadedfile import UploadedFile

    from labrecords.models import Equipment


@dataclass(frozen=True)
class SentFile:
    """A file that was read whole, with the segment that is meant."""

    name: str
    content: bytes
    layout: Layout
    segment: int


def understand(
    upload: "UploadedFile", *, tester: "Equipment", specimen: str, layout: Layout | None, segment: int | None
) -> SentFile:
    """The file as the caller, the tester's remembered layout or the file itself says it is to be read.

    Raises FileProblem naming the line, or Problem with the questions that a person must answer.
    """
    content = upload.read()
    layout = layout or _found(content, tester)
    read = reader.read(content, layout, name=upload.name)
    return SentFile(upload.name, content, layout, _segment(read, specimen, stated=segment))


def _found(content: bytes, tester: "Equipment") -> Layout:
    kept = traces.remembered_layout(tester)
    remembered = None if kept is None else Layout.from_json(kept)
    sniffed = sniff.sniff(content, remembered=remembered)
    if not sniffed.uncertain or (remembered is not None and _alike(remembered, sniffed.layout)):
        return sniffed.layout
    found = json.dumps(sniffed.layout.to_json(), ensure_ascii=False)
    sentence = "How this file is read is not certain. Answer the questions, and send it again with a layout."
    questions = (reason("layout-uncertain", question, facts={"layout": found}) for question in sniffed.uncertain)
    raise Problem(422, "layout-uncertain", sentence, tuple(questions))


def _alike(remembered: Layout, found: Layout) -> bool:
    """Whether a person has confirmed this very reading before; only the lines may lie elsewhere."""
    lines = {"names_line": None, "units_line": None, "first_data_line": 1}
    return replace(remembered, **lines) == replace(found, **lines)


def _segment(read: reader.TraceFile, specimen: str, *, stated: int | None) -> int:
    """The curve stated, else the one that names the specimen, else the only one of a file that names none."""
    if stated is not None and stated <= len(read.segments):
        return stated
    named = [one for one in read.segments if _nearest(one) in labels.find(specimen, "SP")]
    candidates = named if any(map(_nearest, read.segments)) else read.segments
    if stated is None and len(candidates) == 1:
        return candidates[0].index
    raise Problem(
        422,
        "segment-unclear",
        f"{read.name} holds {len(read.segments)} curves, and {len(named)} of them name {specimen}. "
        f"Say which one is meant: segment 1 to {len(read.segments)}.",
    )


def _nearest(segment: reader.Segment) -> labels.Label | None:
    """The specimen that the file says a curve is of: its own heading counts before the name of the file."""
    return next((code for code in segment.codes if code.kind == "SP"), None)
