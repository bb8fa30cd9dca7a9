"""Files of a watched folder: to the study whose specimens they name, else into the tray until somebody decides."""

from dataclasses import dataclass
from datetime import datetime

from labrecords.files.accepting import accept
from labrecords.files.documents import sha256
from labrecords.files.layout import Layout
from labrecords.models import Study, TraceFile, TrayDecision, User, WaitingFile
from labrecords.queries import access
from labrecords.queries import tray as found
from labrecords.rules.answers import Answer
from labrecords.rules.trace_owner import owner

from . import locks, trail
from .refusals import Stop, one_act
from .traces import add_file, receive_file


@dataclass(frozen=True)
class Arrived:
    """What became of a file: in the study's hands, or in the tray; `again` when the same bytes had come before."""

    study: Study | None
    why: str
    again: bool


def arrive(*, name: str, content: bytes, remembered: Layout | None, by: User, at: datetime) -> Arrived:
    """Take a file as the page takes it. What names specimens of one study is that study's; all else waits.

    Raises FileProblem for what cannot be read, Refused for what is refused; then nothing of it is kept.
    """
    access.demand(by, "enter a result")
    curves = accept(content, name=name, remembered=remembered)
    named = found.specimens_named(curves, name)
    whose = owner(named, found.studies_of(named))
    study = found.known_study(content) if whose.study is None else found.study(whose.study)
    if study is not None:
        received = receive_file(study=study, name=name, content=content, by=by, at=at)
        return Arrived(study, "", received.again)
    return _wait(name, content, whose.why, by, at)


def _wait(name: str, content: bytes, why: str, by: User, at: datetime) -> Arrived:
    digest = sha256(content)
    with one_act("receive a trace file", by=by, at=at, tried=f"receive {name}") as stop:
        locks.hold_bytes(digest)
        known = WaitingFile.objects.select_related("decision__by").filter(sha256=digest).first()
        if known is not None:
            decided = getattr(known, "decision", None)
            if decided is not None and decided.reason:
                stop([Answer("file-set-aside", f"{decided.by.name} set aside {known.name}: {decided.reason}")])
            return Arrived(None, known.why, again=True)
        kept = WaitingFile.objects.create(
            name=name, size=len(content), sha256=digest, content=content, why=why, by=by, at=at
        )
        after = {"file": kept.pk, "name": name, "sha256": digest, "size": str(len(content))}
        trail.write("trace-file.waits", subject=f"file {name}", by=by, at=at, after=after, why=why)
    return Arrived(None, why, again=False)


def give(*, waiting: WaitingFile, study: Study, by: User, at: datetime) -> TraceFile:
    """Say whose a waiting file is: it is a trace file of the study from now on, and no result yet."""
    access.demand(by, "open a run")
    with one_act("receive a trace file", by=by, at=at, study=study, tried=f"receive {waiting.name}") as stop:
        _undecided(waiting, stop)
        received = add_file(study=study, name=waiting.name, content=bytes(waiting.content), by=by, at=at, stop=stop)
        TrayDecision.objects.create(waiting=waiting, file=received.file, by=by, at=at)
        after = {"waiting": waiting.pk, "file": received.file.pk, "study": study.code}
        trail.write("tray.given", subject=f"file {waiting.name}", by=by, at=at, study=study, after=after)
    return received.file


def set_aside(*, waiting: WaitingFile, reason: str, by: User, at: datetime) -> TrayDecision:
    """A waiting file is nobody's; its bytes stay, with the reason."""
    access.demand(by, "open a run")
    with one_act("set a trace file aside", by=by, at=at, tried=f"set {waiting.name} aside") as stop:
        _undecided(waiting, stop)
        if not reason.strip():
            stop([Answer("words-missing", "No reason was given.")])
        kept = TrayDecision.objects.create(waiting=waiting, reason=reason, by=by, at=at)
        after = {"waiting": waiting.pk, "sha256": waiting.sha256}
        trail.write("tray.set-aside", subject=f"file {waiting.name}", by=by, at=at, after=after, why=reason)
    return kept


def _undecided(waiting: WaitingFile, stop: Stop) -> None:
    """Hold the file, and stop if somebody was quicker."""
    locks.hold(waiting.pk)
    made = TrayDecision.objects.select_related("by", "file__study").filter(waiting=waiting).first()
    if made is None:
        return
    done = f"gave it to {made.file.study.code}" if made.file else f"set it aside: {made.reason}"
    stop([Answer("state-refused", f"{made.by.name} {done}.", {"file": waiting.name})])
