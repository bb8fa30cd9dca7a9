"""Notes the head of the audit trail outside the database, where whoever rules the database does not rule."""

import logging
import os
import pathlib
from datetime import datetime

from django.conf import settings

from labrecords.queries import heads, reports
from labrecords.rules.canonical import instant

from . import alerts

log = logging.getLogger(__name__)


def note(*, at: datetime, file: pathlib.Path | None = None) -> heads.Head | None:
    """Add the head to the file, and leave it on the disk; None while there is none yet, or it stands there already."""
    file = file or settings.AUDIT_HEADS
    head = reports.head()
    if head["seq"] == "0":
        return None
    made = heads.Head(int(head["seq"]), head["head"], instant(at))
    file.parent.mkdir(parents=True, exist_ok=True)
    if _last(file) == made.hash:
        return None
    with file.open("a", encoding="ascii") as opened:
        opened.write(f"{made}\n")
        opened.flush()
        os.fsync(opened.fileno())
    return made


def _last(file: pathlib.Path) -> str:
    if not file.exists():
        return ""
    lines = [line for line in file.read_text(encoding="ascii", errors="replace").splitlines() if line.strip()]
    return lines[-1].split("\t")[1] if lines and lines[-1].count("\t") == 2 else ""


def note_after_release(*, at: datetime) -> None:
    """The same after a release, which stands whatever becomes of the note: the report itself prints the head."""
    try:
        note(at=at)
    except OSError as problem:
        log.exception("The head of the audit trail could not be noted in %s", settings.AUDIT_HEADS)
        alerts.tell_managers(
            subject="The head of the audit trail could not be noted",
            body=f"{settings.AUDIT_HEADS}: {problem}. Mend it, then run manage.py note_audit_head.",
        )
