"""One study of the demo from its plan to its release, as far as it got."""

from collections.abc import Iterator
from dataclasses import dataclass, field
from datetime import datetime, timedelta
from functools import partial
from typing import Any

from labrecords.actions import arrivals, corrections, deviations, photos, reports, review, samples, studies, voids
from labrecords.queries import access
from labrecords.queries import reports as found_reports
from labrecords.reports.findings import findings, findings_sha256

from . import agreement, pictures, validation, window
from .acts import Act
from .house import House
from .inputs import of_strip

OF_THE_GENERATOR = ("mean", "spread")


@dataclass
class Story:
    """A study's script, and what has been made of it so far. Strips are known by lot and number."""

    script: dict[str, Any]
    house: House
    study: Any = None
    strips: dict[tuple[str, int], Any] = field(default_factory=dict)
    runs: list[Any] = field(default_factory=list)

    def person(self, user: str):
        """Somebody of the laboratory by the name with which they sign in."""
        return self.house.people[user]

    @property
    def planner(self):
        return self.person(self.script["planner"])


def acts(story: Story) -> Iterator[Act]:
    """Every act of the study but those at the bench."""
    script, moment = story.script, story.house.days.moment
    yield Act(moment(script["planned"]), partial(_plan, story))
    yield from agreement.acts(story, replan=lambda at: _replan(story, at))
    if "locked" in script:
        yield Act(moment(script["locked"]), partial(_lock, story))
    for row in script.get("lot", []):
        yield Act(moment(row["received"]), partial(_receive, story, row))
        yield from _arrival(story, row)
        yield Act(moment(row["cut"]), partial(_cut, story, row))
    yield from _of_strips(story)
    for key, act in (("finished", _finish), ("review", _review), ("release", _release)):
        if key in script:
            yield Act(moment(script[key]["at"]), partial(act, story, script[key]))
    yield from window.acts(story.script, story.house, lambda: story.study)
    yield from validation.acts(story)


def _of_strips(story: Story) -> Iterator[Act]:
    """What was done about single strips: voided and replaced, decided, photographed, corrected."""
    moment = story.house.days.moment
    kinds = (
        ("void", "at", _void),
        ("void", "replaced", _replace),
        ("decision", "at", _decide),
        ("photograph", "at", _photograph),
        ("correction", "at", _correct),
        ("correction", "agreed", _agree),
    )
    for kind, when, act in kinds:
        for row in story.script.get(kind, []):
            yield Act(moment(row[when]), partial(act, story, row))


def _planned(story: Story, **changed: Any) -> dict[str, Any]:
    groups = [
        {name: value for name, value in row.items() if name not in OF_THE_GENERATOR} for row in story.script["group"]
    ]
    setup = {"method_version": story.house.method} | story.script["setup"] | changed
    plan = {"setup": setup, "groups": groups, "limits": story.script.get("limit", [])}
    if "window" in story.script:
        plan["window"] = story.script["window"] | {"settings": story.script["setting"]}
    return plan | validation.planned(story)


def _plan(story: Story, at: datetime) -> str:
    first = story.script.get("first", {})
    story.study = studies.plan(
        project=story.house.projects[story.script["client"]],
        study=story.script["plan"] | first.get("plan", {}),
        by=story.planner,
        at=at,
        **_planned(story, **first.get("setup", {})),
    )
    return f"{story.study.code} planned: {story.study.title}."


def _replan(story: Story, at: datetime) -> None:
    fields = story.script["plan"]
    story.study = studies.replan(study=story.study, fields=fields, by=story.planner, at=at, **_planned(story))


def _lock(story: Story, at: datetime) -> str:
    story.study = studies.lock(study=story.study, by=story.planner, at=at)
    return f"{story.study.code} locked, with set-up mark {story.study.mark}."


def _receive(story: Story, row: dict[str, Any], at: datetime) -> str:
    told = ("name", "description", "condition", "sealed_how", "sampled_by", "sampled_on", "place")
    by = story.person(row["by"])
    fields = {name: row[name] for name in told}
    lot = samples.receive(study=story.study, received_at=at, by=by, at=at + timedelta(minutes=10), **fields)
    began = story.house.days.moment(row["conditioned"])
    samples.condition(
        lot=lot,
        started_at=began,
        temperature_c=float(row["room"][0]),
        humidity_percent=float(row["room"][1]),
        place=row["shelf"],
        by=by,
        at=began,
    )
    row["lot"] = lot
    return f"{story.study.code}: lot {lot.name} received."


def _arrival(story: Story, row: dict[str, Any]) -> Iterator[Act]:
    """What was not as agreed, with the client's answer, and what the arms went through."""
    at = story.house.days.moment(row["conditioned"])
    for told in row.get("treatment", []):
        yield Act(at + timedelta(minutes=1), partial(_treat, story, row, told))
    for told in row.get("discrepancy", []):
        yield Act(at + timedelta(minutes=2), partial(_find, story, row, told))
        yield Act(at + timedelta(minutes=35), partial(_answer, story, told))


def _treat(story: Story, row: dict[str, Any], told: dict[str, Any], at: datetime) -> None:
    days = story.house.days
    fields = {name: told[name] for name in ("kind", "arm", "time_point", "evidence", "chamber")}
    numbers = {name: float(told[name]) for name in ("ageing_c", "ambient_c", "q10") if name in told}
    ends = {"started_on": days.date(told["started"]), "ended_on": days.date(told["ended"])}
    by = story.person(row["by"])
    arrivals.record_treatment(lot=row["lot"], by=by, at=at, **fields, **numbers, **ends)


def _find(story: Story, row: dict[str, Any], told: dict[str, Any], at: datetime) -> None:
    by = story.person(row["by"])
    told["made"] = arrivals.find_discrepancy(lot=row["lot"], words=told["words"], by=by, at=at)


def _answer(story: Story, told: dict[str, Any], at: datetime) -> None:
    arrivals.answer_discrepancy(
        discrepancy=told["made"],
        proceeds=True,
        words=told["answer"],
        said_by=told["said_by"],
        said_on=at.date(),
        disclaimer=told["disclaimer"],
        by=story.planner,
        at=at,
    )


def _cut(story: Story, row: dict[str, Any], at: datetime) -> None:
    cutter = story.house.equipment["cutter"]
    checked = "Blades clean and sharp; first strip measured."
    made = samples.cut(
        lot=row["lot"], place=row["bench"], cutter=cutter, cutter_check=checked, by=story.person(row["by"]), at=at
    )
    for number, specimen in enumerate(made, start=1):
        story.strips[(row["name"], number)] = specimen


def _void(story: Story, row: dict[str, Any], at: datetime) -> str:
    specimen = story.strips[(row["lot"], row["number"])]
    voids.void(specimen=specimen, cause=row["cause"], words=row["words"], by=story.person(row["by"]), at=at)
    return f"{story.study.code}: {specimen.label} void."


def _replace(story: Story, row: dict[str, Any], at: datetime) -> None:
    specimen = story.strips[(row["lot"], row["number"])]
    last = max(number for lot, number in story.strips if lot == row["lot"])
    story.strips[(row["lot"], last + 1)] = voids.replace(
        specimen=specimen, pack=specimen.pack, by=story.person(row["by"]), at=at
    )


def _decide(story: Story, row: dict[str, Any], at: datetime) -> None:
    label = story.strips[(row["lot"], row["number"])].label
    for deviation in found_reports.deviations(story.study):
        if deviation.result.specimen.label == label:
            deviations.decide(
                deviation=deviation, counts=row["counts"], words=row["words"], by=story.person(row["by"]), at=at
            )


def _photograph(story: Story, row: dict[str, Any], at: datetime) -> None:
    """A picture of a strip that has been pulled, drawn after what is on record of it."""
    specimen = story.strips[(row["lot"], row["number"])]
    result = specimen.results.order_by("-revision").first()
    kind = of_strip(story.script, row["lot"], row["number"]).get("kind", "peel")
    seed = story.script["seed"] + row["number"]
    modes = tuple(row.get("modes", result.modes))
    content = pictures.drawn(label=specimen.label, kind=kind, modes=modes, width_mm=float(result.width_mm), seed=seed)
    name, by = f"{specimen.label}.jpg", story.person(row["by"])
    photos.attach(specimen=specimen, name=name, content=content, caption=row["caption"], by=by, at=at)


def _correct(story: Story, row: dict[str, Any], at: datetime) -> None:
    told = {name: row[name] for name in ("reason", "words", "modes")}
    specimen = story.strips[(row["lot"], row["number"])]
    row["made"] = corrections.ask(specimen=specimen, by=story.person(row["by"]), at=at, **told)


def _agree(story: Story, row: dict[str, Any], at: datetime) -> str:
    by = story.person(row["agreed_by"])
    corrections.decide(correction=row["made"], agreed=True, words=row["agreed_words"], by=by, at=at)
    return f"{story.study.code}: {row['made'].result.specimen.label} corrected."


def _finish(story: Story, row: dict[str, Any], at: datetime) -> str:
    review.finish_testing(study=story.study, by=story.person(row["by"]), at=at)
    return f"{story.study.code}: testing finished."


def _review(story: Story, row: dict[str, Any], at: datetime) -> None:
    by = story.person(row["by"])
    review.review(study=story.study, accept=True, words=row["words"], seen_sha256=seen(story, by), by=by, at=at)


def _release(story: Story, row: dict[str, Any], at: datetime) -> str:
    by = story.person(row["by"])
    password = story.house.passwords[row["by"]]
    report = reports.release(study=story.study, seen_sha256=seen(story, by), password=password, by=by, at=at)
    return f"{story.study.code}: released as report {report.number}."


def seen(story: Story, by: Any) -> str:
    """The hash of the findings as a person sees them now."""
    return findings_sha256(findings(access.study(by, story.study.code)))
