"""Values of anybody's table as a study of the small laboratory, entered through the gate."""

from collections.abc import Mapping, Sequence
from datetime import timedelta

from labrecords.actions import review, runs, studies
from labrecords.models import Specimen, Study
from labrecords.reports.findings import findings, findings_sha256
from tests import world as cast
from tests.world import World


def planned(world: World, groups: list[dict], *, setup: Mapping = {}, limits=(), study: Mapping = {}, **more) -> Study:
    """A locked study of these groups."""
    made = studies.plan(
        project=world.project,
        by=world.edda,
        at=world.at - timedelta(days=9),
        study=cast.STUDY | study,
        setup=cast.SETUP | {"method_version": world.method} | setup,
        groups=groups,
        limits=limits,
        **more,
    )
    return studies.lock(study=made, by=world.edda, at=world.at - timedelta(days=8))


def received(world: World, study: Study, lots: Sequence[str]) -> None:
    """Every lot received a week ago, conditioned since, and cut."""
    for name in lots:
        cast.receive_lot(world, study, name)


def entered(world: World, study: Study, values: Mapping[str, Sequence[str]], **changed) -> None:
    """The values of each lot in the order of its strips, in one run of Runa's, which is then closed."""
    run = cast.open_run(world, study=study)
    for name, row in values.items():
        strips = Specimen.objects.filter(study=study, pack__lot__name=name).order_by("label")
        for strip, value in zip(strips, row, strict=True):
            cast.enter(world, specimen=strip.label, run=run, **{"typed": value} | changed)
    runs.close_run(run=run, by=world.runa, at=world.at)


def accepted(world: World, study: Study) -> Study:
    """Testing finished, and the results accepted in review."""
    review.finish_testing(study=study, by=world.edda, at=world.at)
    study = Study.objects.get(pk=study.pk)
    seen = findings_sha256(findings(study))
    review.review(study=study, accept=True, words="All read.", seen_sha256=seen, by=world.sefa, at=world.at)
    return Study.objects.get(pk=study.pk)
