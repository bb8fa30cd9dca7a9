"""Reports: the records they rest on, and the released ones."""

from labrecords.models import Calibration, Deviation, Equipment, Refusal, Report, Review, Run, Seal, Study, Void


def runs(study: Study) -> list[Run]:
    """The runs of a study that have results, with people and equipment."""
    return list(
        Run.objects.filter(study=study, results__isnull=False)
        .select_related("person", "tester", "cell", "cell_accepted_by")
        .distinct()
        .order_by("number")
    )


def equipment_used(study: Study) -> list[tuple[Equipment, Calibration]]:
    """Every item used, with the calibrations in force on the days of its tests."""
    from .equipment import calibration_on
    from .lab import day

    used = {}
    for run in runs(study):
        for item in (run.tester, run.cell):
            calibration = calibration_on(item, day(run.opened_at))
            if calibration is not None:
                used[(item.label, calibration.pk)] = (item, calibration)
    return [used[key] for key in sorted(used, key=lambda key: key[0])]


def deviations(study: Study) -> list[Deviation]:
    """Every deviation of a study with its decision."""
    return list(
        Deviation.objects.filter(result__specimen__study=study)
        .select_related("result__specimen", "decision__by")
        .order_by("code", "result__specimen__label")
    )


def open_decisions(study: Study) -> int:
    """How many deviations wait for a decision."""
    return Deviation.objects.filter(result__specimen__study=study, decision__isnull=True).count()


def voids(study: Study) -> list[Void]:
    """Every void specimen of a study."""
    return list(
        Void.objects.filter(specimen__study=study)
        .select_related("specimen", "by")
        .prefetch_related("specimen__results")
        .order_by("specimen__label")
    )


def refusals(study: Study):
    """Refusals of a study, newest first."""
    return Refusal.objects.filter(study=study).select_related("by", "specimen")


def accepted_review(study: Study) -> Review | None:
    """The latest review, if it accepted the study."""
    latest = Review.objects.filter(study=study).select_related("by").first()
    return latest if latest is not None and latest.accepted else None


def testers(study: Study) -> list[str]:
    """Names of everybody who tested or entered results in a study."""
    rows = study.runs.filter(results__isnull=False).values_list("results__tested_by__name", "results__entered_by__name")
    return sorted({name for pair in rows for name in pair})


def released(study: Study) -> Report | None:
    """The newest issue of a study's report."""
    return Report.objects.filter(study=study).select_related("signature").first()


def head() -> dict[str, str]:
    """Where the audit trail stands: number and hash of its latest seal."""
    seal = Seal.objects.order_by("-seq").first()
    return {"seq": str(seal.seq), "head": bytes(seal.hash).hex()} if seal else {"seq": "0", "head": "none yet"}
