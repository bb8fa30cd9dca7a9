"""Reports: the records they rest on, and the released ones."""

from labrecords.models import (
    Calibration,
    Deviation,
    Equipment,
    Refusal,
    Report,
    Result,
    Review,
    Run,
    Seal,
    Study,
    Void,
)

from . import values


def runs(study: Study) -> list[Run]:
    """The runs of a study that have results, with people and equipment."""
    return list(
        Run.objects.filter(study=study, results__isnull=False)
        .select_related("person", "tester", "cell", "room_sensor", "width_gauge", "cell_accepted_by")
        .distinct()
        .order_by("number")
    )


def equipment_used(study: Study) -> list[tuple[Equipment, Calibration]]:
    """Every item used, with the calibrations in force on each day on which it was used."""
    from .equipment import calibration_on
    from .lab import zone

    here = zone()
    by_pk = {run.pk: run for run in runs(study)}
    moments = Result.objects.filter(run__in=by_pk).values_list("run_id", "tested_at")
    days = {(item, moment.astimezone(here).date()) for run, moment in moments for item in _items(by_pk[run])}
    cut = study.specimens.filter(cutter__isnull=False).select_related("cutter")
    days |= {(specimen.cutter, specimen.cut_at.astimezone(here).date()) for specimen in cut}
    found = {(item, calibration_on(item, on)) for item, on in days}
    used = [(item, calibration) for item, calibration in found if calibration is not None]
    return sorted(used, key=lambda pair: (pair[0].label, pair[1].performed_on, pair[1].pk))


def _items(run: Run) -> list[Equipment]:
    every = (run.tester, run.cell, run.room_sensor, run.width_gauge)
    return [item for item in every if item is not None]


def deviations(study: Study) -> list[Deviation]:
    """Every deviation of a study with its decision."""
    return list(
        Deviation.objects.filter(result__specimen__study=study)
        .select_related("result__specimen", "decision__by")
        .order_by("code", "result__specimen__label")
    )


def open_decisions(study: Study) -> int:
    """How many deviations wait for a decision."""
    return values.undecided().filter(result__specimen__study=study).count()


def voids(study: Study) -> list[Void]:
    """Every void specimen of a study."""
    return list(
        Void.objects.filter(specimen__study=study)
        .select_related("specimen", "by")
        .prefetch_related("specimen__results__deviations__decision")
        .order_by("specimen__label")
    )


def refusals(study: Study):
    """Refusals of a study, newest first."""
    return Refusal.objects.filter(study=study).select_related("by", "specimen")


def accepted_review(study: Study) -> Review | None:
    """The latest review, if it accepted the study."""
    latest = Review.objects.filter(study=study).select_related("by").order_by("-at", "-id").first()
    return latest if latest is not None and latest.accepted else None


def testers(study: Study) -> list[str]:
    """Names of everybody who tested or entered results in a study."""
    rows = study.runs.filter(results__isnull=False).values_list("results__tested_by__name", "results__entered_by__name")
    return sorted({name for pair in rows for name in pair})


def tested_by(study: Study) -> list[str]:
    """Names of everybody who pulled specimens of a study."""
    return sorted(set(_results(study).values_list("tested_by__name", flat=True)))


def entered_only(study: Study) -> list[str]:
    """Names of those who entered what others had pulled, and pulled none."""
    return sorted(set(_results(study).values_list("entered_by__name", flat=True)) - set(tested_by(study)))


def _results(study: Study):
    return Result.objects.filter(specimen__study=study)


def released(study: Study) -> Report | None:
    """The newest issue of a study's report."""
    return Report.objects.filter(study=study).select_related("signature", "study", "withdrawal").first()


def head() -> dict[str, str]:
    """Where the audit trail stands: number and hash of its latest seal."""
    seal = Seal.objects.order_by("-seq").first()
    return {"seq": str(seal.seq), "head": bytes(seal.hash).hex()} if seal else {"seq": "0", "head": "none yet"}
