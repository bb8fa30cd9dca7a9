"""The tray at the bench: files that came from a watched folder and wait, and whose they may be."""

from collections.abc import Iterable

from django.db.models import QuerySet

from labrecords.files.documents import sha256
from labrecords.files.reader import Segment
from labrecords.models import Run, Specimen, Study, TraceFile, WaitingFile
from labrecords.rules import labels
from labrecords.rules.study_states import TESTING

from . import studies
from .access import NotFound

SHOWN = 50


def waiting() -> QuerySet[WaitingFile]:
    """Files that nobody has decided about, oldest first, without their bytes."""
    return WaitingFile.objects.filter(decision__isnull=True).defer("content").select_related("by")


def waiting_file(waiting_id) -> WaitingFile:
    """One file of the tray, decided about or not."""
    found = WaitingFile.objects.select_related("by", "decision__by", "decision__file__study").filter(pk=waiting_id)
    if (one := found.first()) is None:
        raise NotFound(str(waiting_id))
    return one


def untouched() -> list[tuple[TraceFile, Run | None]]:
    """The newest files of studies in testing of which no curve is a result yet, each with an open run of its study."""
    files = list(
        TraceFile.objects.filter(study__state=TESTING, traces__isnull=True)
        .defer("content")
        .select_related("study")
        .order_by("-at", "-pk")[:SHOWN]
    )
    runs = {run.study_id: run for run in studies.open_runs().reverse()}  # the newest of a study stays
    return [(file, runs.get(file.study_id)) for file in files]


def studies_in_testing() -> QuerySet[Study]:
    """Studies that a file may be given to."""
    return Study.objects.filter(state=TESTING)


def study(code: str) -> Study:
    """A study by its code."""
    return Study.objects.get(code=code)


def known_study(content: bytes) -> Study | None:
    """The study that has a file of the same bytes, where there is one."""
    file = TraceFile.objects.select_related("study").filter(sha256=sha256(content)).first()
    return file.study if file else None


def specimens_named(curves: Iterable[Segment], name: str) -> list[str]:
    """Labels of the specimens that the curves of a file are said to be of; else those in the file's name."""
    nearest = [next((code.text for code in curve.codes if code.kind == "SP"), None) for curve in curves]
    named = [label for label in nearest if label] or [label.text for label in labels.find(name, "SP")]
    return list(dict.fromkeys(named))


def studies_of(named: Iterable[str]) -> dict[str, str]:
    """The study's code by the label of each specimen that there is."""
    return dict(Specimen.objects.filter(label__in=list(named)).values_list("label", "study__code"))
