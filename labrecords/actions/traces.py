"""Trace files: received to the byte, and how a tester's files are read."""

import hashlib
from dataclasses import dataclass
from datetime import datetime

from django.db import transaction

from labrecords.models import Equipment, Study, TraceFile, TraceLayout, User
from labrecords.queries import access

from . import trail


@dataclass(frozen=True)
class Received:
    """A file that is kept; `again` when the same bytes had come before."""

    file: TraceFile
    again: bool


@transaction.atomic(durable=True)
def receive_file(*, study: Study, name: str, content: bytes, by: User, at: datetime) -> Received:
    """Keep a file's bytes, once: the same bytes under another name are the file that is here already.

    Raises ValueError when the bytes are in another study, whose traces they are.
    """
    access.demand(by, "enter a result")
    sha256 = hashlib.sha256(content).hexdigest()
    known = TraceFile.objects.select_related("study").filter(sha256=sha256).first()
    if known is not None:
        if known.study_id != study.pk:
            raise ValueError(f"{name} has been received before, as {known.name} in {known.study.code}.")
        return Received(known, again=True)
    file = TraceFile.objects.create(
        study=study, name=name, size=len(content), sha256=sha256, content=content, by=by, at=at
    )
    after = {"file": file.pk, "name": name, "sha256": sha256, "size": str(len(content))}
    trail.write("trace-file.received", subject=f"file {name}", by=by, at=at, study=study, after=after)
    return Received(file, again=False)


@transaction.atomic(durable=True)
def remember_layout(*, tester: Equipment, layout: dict, by: User, at: datetime) -> TraceLayout:
    """How this tester's files are read, from now on, until somebody corrects it."""
    access.demand(by, "enter a result")
    kept = TraceLayout.objects.create(tester=tester, layout=layout, by=by, at=at)
    trail.write("layout.remembered", subject=f"equipment {tester.label}", by=by, at=at, after=layout)
    return kept
