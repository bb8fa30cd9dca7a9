"""Corrections: which wait, and every version of a result."""

from collections.abc import Iterable

from django.db.models import QuerySet

from labrecords.models import Correction, Result, Specimen, Study

from .access import NotFound


def every() -> QuerySet[Correction]:
    """All corrections with what their pages show."""
    return Correction.objects.select_related(
        "by",
        "decision__by",
        "made",
        "result__specimen__group",
        "result__tested_by",
        "result__run",
        "result__specimen__study",
    )


def one(correction_id) -> Correction:
    """A correction by its identifier."""
    found = every().filter(pk=correction_id).first()
    if found is None:
        raise NotFound(str(correction_id))
    return found


def waiting(study: Study | None = None) -> QuerySet[Correction]:
    """Corrections on which nobody has decided and which were not made at once; of one study or of all."""
    found = every().filter(decision__isnull=True, made__isnull=True)
    found = found.select_related("result__specimen__study__project__client")
    return found.filter(result__specimen__study=study) if study else found


def made_in(study: Study) -> Iterable[Correction]:
    """Corrections of a study that were made, in their order."""
    return every().filter(result__specimen__study=study, made__isnull=False).order_by("at", "pk")


def latest(specimen: Specimen) -> Result:
    """The result of a specimen as it stands."""
    found = (
        Result.objects.filter(specimen=specimen)
        .select_related(
            "run__study__setup__method_version__method", "run__tester", "run__cell", "tested_by", "specimen"
        )
        .order_by("-revision")
        .first()
    )
    if found is None:
        raise NotFound(f"result of {specimen.label}")
    return found


def versions(specimen: Specimen) -> list[Result]:
    """Every version of a specimen's result, the newest first."""
    found = Result.objects.filter(specimen=specimen).select_related(
        "entered_by", "correction__by", "correction__decision__by"
    )
    return list(found.order_by("-revision"))
