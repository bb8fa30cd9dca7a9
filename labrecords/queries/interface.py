"""What the programming interface reads of a study; the number of queries never grows with the rows."""

import uuid
from dataclasses import dataclass

from django.db.models import QuerySet

from labrecords.models import Result, Run, Specimen, Study, User

from . import access, values

WAITING, DONE, VOID = "waiting", "done", "void"
SPECIMEN_STATES = (WAITING, DONE, VOID)


@dataclass(frozen=True)
class SpecimenRow:
    """A specimen and whether it waits for its test, is done, or is void."""

    specimen: Specimen
    state: str


@dataclass(frozen=True)
class ResultRow:
    """The latest revision of a result: whether it counts, and whether the reader may see its value.

    Whoever may decide a deviation is not shown the value while one of the result's is undecided.
    """

    result: Result
    standing: str
    withheld: bool


def specimens(study: Study, *, state: str | None = None) -> list[SpecimenRow]:
    """All specimens of a study by label, or those of one state."""
    done = set(Result.objects.filter(specimen__study=study).values_list("specimen_id", flat=True))
    found = study.specimens.select_related("group", "pack", "void", "replaces").order_by("label")
    rows = [SpecimenRow(specimen, _state(specimen, done)) for specimen in found]
    return [row for row in rows if state in (None, row.state)]


def _state(specimen: Specimen, done: set[uuid.UUID]) -> str:
    if hasattr(specimen, "void"):
        return VOID
    return DONE if specimen.pk in done else WAITING


def open_runs(study: Study) -> QuerySet[Run]:
    """Runs that still take results."""
    return study.runs.filter(closed_at__isnull=True).select_related("person", "tester", "cell")


def run(run_id: uuid.UUID) -> Run:
    """One run with all that an entry asks of it, open or closed."""
    found = Run.objects.select_related("study__setup", "person", "tester", "cell").filter(pk=run_id).first()
    if found is None:
        raise access.NotFound(str(run_id))
    return found


def person_named(username: str) -> User | None:
    """Somebody of the laboratory, by user name."""
    return User.objects.filter(username=username, client__isnull=True).first()


def results_after(study: Study, *, reader: User, after: uuid.UUID | None, most: int) -> list[ResultRow]:
    """The latest revisions in the order in which they were kept, those behind `after`, at most so many.

    Identifiers sort by age and results of one study are kept one after the other, so the last identifier read is
    the place to go on from.
    """
    found = (
        values.latest(study)
        .select_related("specimen__void", "tested_by", "entered_by")
        .prefetch_related("deviations__decision")
        .order_by("pk")
    )
    if after is not None:
        found = found.filter(pk__gt=after)
    return [ResultRow(result, _standing(result), values.withheld(result, reader=reader)) for result in found[:most]]


def _standing(result: Result) -> str:
    decisions = [getattr(item, "decision", None) for item in result.deviations.all()]
    if hasattr(result.specimen, "void"):
        return "void"
    if any(made is not None and not made.counts for made in decisions):
        return "set aside"
    return "waiting for a decision" if values.waits(result) else "counts"
