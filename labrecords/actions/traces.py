"""Trace files: received to the byte, and how a tester's files are read."""

from dataclasses import dataclass
from datetime import datetime

from django.db import transaction

from labrecords.files.documents import sha256
from labrecords.models import Equipment, Study, TraceFile, TraceLayout, User
from labrecords.queries import access
from labrecords.rules.answers import Answer
from labrecords.rules.study_states import check_act

from . import locks, trail
from .refusals import Stop, one_act


@dataclass(frozen=True)
class Received:
    """A file that is kept; `again` when the same bytes had come before."""

    file: TraceFile
    again: bool


def receive_file(*, study: Study, name: str, content: bytes, by: User, at: datetime) -> Received:
    """Keep a file's bytes, once: the same bytes under another name are the file that is here already.

    Raises Refused when the bytes are in another study, whose traces they are, or the study is not in testing.
    """
    access.demand(by, "enter a result")
    with one_act("receive a trace file", by=by, at=at, study=study, tried=f"receive {name}") as stop:
        return add_file(study=study, name=name, content=content, by=by, at=at, stop=stop)


def add_file(*, study: Study, name: str, content: bytes, by: User, at: datetime, stop: Stop) -> Received:
    """The file with these bytes, kept now if it was not; call inside an act, whose `stop` is given."""
    digest = sha256(content)
    locks.hold_bytes(digest)
    known = TraceFile.objects.select_related("study").filter(sha256=digest).first()
    if known is not None:
        stop(_elsewhere(known, study, name))
        return Received(known, again=True)
    held = Study.objects.select_for_update().get(pk=study.pk)
    stop(check_act(held.state, "receive a trace file"))
    file = TraceFile.objects.create(
        study=study, name=name, size=len(content), sha256=digest, content=content, by=by, at=at
    )
    after = {"file": file.pk, "name": name, "sha256": digest, "size": str(len(content))}
    trail.write("trace-file.received", subject=f"file {name}", by=by, at=at, study=study, after=after)
    return Received(file, again=False)


def _elsewhere(known: TraceFile, study: Study, name: str) -> list[Answer]:
    if known.study_id == study.pk:
        return []
    why = f"{name} has been received before, as {known.name} in {known.study.code}."
    return [Answer("file-elsewhere", why, {"study": known.study.code, "file": known.name})]


@transaction.atomic(durable=True)
def remember_layout(*, tester: Equipment, layout: dict, by: User, at: datetime) -> TraceLayout:
    """How this tester's files are read, from now on, until somebody corrects it."""
    access.demand(by, "enter a result")
    kept = TraceLayout.objects.create(tester=tester, layout=layout, by=by, at=at)
    trail.write("layout.remembered", subject=f"equipment {tester.label}", by=by, at=at, after=layout)
    return kept
