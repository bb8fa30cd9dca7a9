"""Two companies, each with a released report; every text of Otto's is a word that occurs nowhere else."""

from dataclasses import dataclass, field, replace
from datetime import timedelta

from labrecords.actions import arrivals, clients, deviations, reports, review, runs, samples, studies, voids
from labrecords.models import Client, Report, Study, User
from labrecords.reports.findings import findings, findings_sha256
from tests import world as lab
from tests.world import World

VALUES = ("1.2", "1.4", "1.6", "1.8")
# Otto's own numbers: as texts they occur nowhere in Clara's report.
OTHER_VALUES = ("7.3519", "7.4623", "7.5737", "7.6841")


@dataclass
class Secrets:
    """Makes words that occur once, and remembers them."""

    words: list[str] = field(default_factory=list)
    first: str = "zq"

    def __call__(self, what: str) -> str:
        self.words.append(f"{self.first}{what}vx")
        return self.words[-1]


@dataclass(frozen=True)
class Cast:
    """The laboratory, Clara's report and Otto's, and what only Otto may read."""

    world: World
    clara: Report
    otto: Report
    secrets: tuple[str, ...]


def build() -> Cast:
    """Both reports, released."""
    world = lab.build()
    secret = Secrets()
    other = other_company(world, secret)
    enter_all(world, VALUES)
    enter_all(other, OTHER_VALUES[:3], remark=secret("remark"))
    enter_warm(other, OTHER_VALUES[3], secret)
    voids.void(specimen=other.specimens[3], cause="cut", words=secret("void"), by=world.runa, at=world.at)
    released = release(other, secret("review"), fewer=secret("fewer"))
    return Cast(world, release(world, "All read."), released, (*secret.words, *OTHER_VALUES))


def enter_all(world: World, values, **changed) -> None:
    """A result for each of the first specimens, in the open run."""
    for specimen, typed in zip(world.specimens, values, strict=False):
        lab.enter(world, specimen=specimen, typed=typed, **changed)


def enter_warm(world: World, typed: str, secret: Secrets) -> None:
    """A result for the last specimen from a room that was too warm, and the decision that it counts all the same."""
    run = lab.open_run(world, room_c=30.0)
    kept = lab.enter(world, specimen=world.specimens[-1], run=run, typed=typed, remark=secret("warm"))
    for deviation in kept.result.deviations.all():
        deviations.decide(deviation=deviation, counts=True, words=secret("decided"), by=world.edda, at=world.at)
    runs.close_run(run=run, by=world.runa, at=world.at)


def release(world: World, words: str, *, fewer: str = "One is void; the lot is used up.") -> Report:
    """Through every step from the closed run to the signature."""
    at = world.at
    runs.close_run(run=world.run, by=world.runa, at=at)
    study = Study.objects.get(pk=world.study.pk)
    study = review.finish_testing(study=study, by=world.edda, at=at, why_fewer=fewer)
    seen = findings_sha256(findings(study))
    review.review(study=study, accept=True, words=words, seen_sha256=seen, by=world.sefa, at=at)
    return reports.release(study=study, seen_sha256=seen, password=lab.PASSWORD, by=world.signe, at=at)


def other_company(world: World, secret: Secrets) -> World:
    """Otto's company with a study of its own, tested by the same people on the same equipment."""
    names = {name: secret(name) for name in ("company", "address", "contact")}
    company = world.otto.client
    Client.objects.filter(pk=company.pk).update(
        name=names["company"], address=names["address"], contact_name=names["contact"]
    )
    User.objects.filter(pk=world.otto.pk).update(name=secret("person"))
    company.refresh_from_db()
    project = clients.add_project(
        client=company, code="ZQCODEVX", title=secret("project"), by=world.edda, at=world.at - timedelta(days=9)
    )
    secret.words.append("ZQCODEVX")
    return another_study(replace(world, project=project), secret)


def another_study(world: World, secret: Secrets) -> World:
    """A study of the world's project in which every text is a secret, with a run open."""
    other = replace(world, study=None, specimens=[], run=None)
    other.study = studies.lock(study=_plan(other, secret), by=world.edda, at=world.at)
    other.specimens = _receive(other, secret)
    other.run = lab.open_run(other)
    return other


def _plan(world: World, secret: Secrets) -> Study:
    texts = ("title", "purpose", "rationale", "decision_chosen_by", "no_agreement_reason")
    return studies.plan(
        project=world.project,
        by=world.edda,
        at=world.at - timedelta(days=9),
        study=lab.STUDY | {name: secret(name) for name in texts},
        setup=lab.SETUP
        | {"method_version": world.method, "expected_strong_n": 45.0}
        | {name: secret(name) for name in ("fixed_web", "moving_web", "filter")},
        groups=[lab.GROUPS[0] | {name: secret(name) for name in ("lot", "arm", "position")}],
        limits=[lab.LIMITS[0] | {"origin_words": secret("origin")}],
    )


def _receive(world: World, secret: Secrets):
    then = world.at - timedelta(days=7)
    texts = {
        name: secret(name) for name in ("description", "condition", "sealed_how", "sampled_by", "sampled_on", "place")
    }
    lot = samples.receive(
        study=world.study,
        name=world.study.groups.get().lot,
        received_at=then,
        by=world.runa,
        at=then,
        **texts,
    )
    samples.condition(
        lot=lot,
        started_at=then,
        temperature_c=23,
        humidity_percent=50,
        place="room 2",
        by=world.runa,
        at=then,
    )
    arrivals.record_treatment(
        lot=lot,
        kind="shipped",
        arm=world.study.groups.get().arm,
        time_point="",
        evidence=secret("evidence"),
        started_on=then.date(),
        ended_on=then.date(),
        by=world.runa,
        at=then,
    )
    return samples.cut(lot=lot, place="bench 1", by=world.runa, at=then)
