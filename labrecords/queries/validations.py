"""A validation study read: who agrees with whom, which criteria are met, and what that makes of it."""

import uuid
from collections import Counter, defaultdict
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from statistics import fmean
from typing import Any

from labrecords.models import Criterion, Limit, Result, Study, ValidationDecision, ValidationPlan
from labrecords.rules import agreement, validation_plan
from labrecords.rules.agreement import Held, Met, Standing
from labrecords.stats import components, equivalence

from . import validation_plans, values

NO_VALUES = "some strips could not be measured, so no mean pretends to know them"
REACH = 3  # standard deviations that are held against the way to a limit
KNOWN = ("requirement", "process")  # kinds of limit that a share is taken of; an alert limit decides nothing


@dataclass(frozen=True)
class Strip:
    """One result that counts. `value` is None where it is known only to lie beyond what could be measured."""

    person: str
    material: str
    pack: str
    value: float | None
    modes: str


@dataclass(frozen=True)
class PersonStanding:
    """Somebody of the plan, with how many strips count, and how they stand against those who agree."""

    person: uuid.UUID
    name: str
    joins: bool
    strips: int
    standing: Standing | None  # None: of a group that somebody joins, which is not on trial

    @property
    def verdict(self) -> str:
        return self.standing.verdict if self.standing else "of the group"


@dataclass(frozen=True)
class Validation:
    """A validation study as it stands. `passed` is None while the data do not tell; `why` is a sentence."""

    study: Study
    plan: ValidationPlan
    people: tuple[PersonStanding, ...]
    criteria: tuple[tuple[Criterion, tuple[Met, ...]], ...]
    strips: tuple[Strip, ...]
    counted: tuple[str, ...]  # whose strips the criteria are computed from
    results: tuple[str, ...]
    marked: int
    passed: bool | None
    why: str
    blind: bool  # testing goes on: nothing is compared yet, so that nobody pulls towards a number

    @property
    def adding(self) -> bool:
        return any(person.joins for person in self.people)

    @property
    def agreeing(self) -> tuple[PersonStanding, ...]:
        """Those whom the study may authorise."""
        return tuple(one for one in self.people if one.standing and one.standing.verdict == agreement.AGREES)


def read(study: Study) -> Validation:
    """Everything the page shows, in a fixed number of queries."""
    plan = validation_plans.need(study)
    blind = validation_plans.blind(study)
    results = [] if blind else _results(study)
    strips = tuple(_strip(result) for result in results)
    named = validation_plans.people(plan)
    standings = _standings(plan, named, strips)
    people = tuple(
        PersonStanding(
            person=row.person_id,
            name=row.person.name,
            joins=row.joins,
            strips=sum(strip.person == str(row.person_id) for strip in strips),
            standing=standings.get(str(row.person_id)),
        )
        for row in named
    )
    counted = _counted(people)
    limits = [(limit, float(value)) for limit, value in values.limits(study) if limit.kind in KNOWN]
    criteria = tuple((row, tuple(_judged(row, strips, counted, limits))) for row in plan.criteria.all())
    passed, why = agreement.passed(
        list(standings.values()),
        {validation_plan.KINDS[row.kind]: found for row, found in criteria},
        adding=any(row.joins for row in named),
    )
    return Validation(
        study=study,
        plan=plan,
        people=people,
        criteria=criteria,
        strips=strips,
        counted=counted,
        results=tuple(str(result.pk) for result in results),
        marked=sum("not-as-drawn" in result.marks for result in results),
        passed=passed if strips else None,
        why=why if strips else _nothing(blind=blind),
        blind=blind,
    )


def _nothing(*, blind: bool) -> str:
    if blind:
        return "People are compared once testing is finished, so that nobody pulls towards a number."
    return "No result counts."


def decision_of(study: Study) -> ValidationDecision | None:
    """What the manager made of the study, if that has been said."""
    return ValidationDecision.objects.select_related("by").filter(study=study).first()


def _results(study: Study) -> list[Result]:
    return list(
        values.counting(study)
        .select_related("specimen__group", "specimen__pack")
        .order_by("specimen__group__number", "specimen__label")
    )


def _strip(result: Result) -> Strip:
    return Strip(
        person=str(result.tested_by_id),
        material=str(result.specimen.group),
        pack=result.specimen.pack.label,
        value=None if result.censored else float(result.strength),
        modes="+".join(result.modes) or "none",
    )


def _counted(people: Sequence[PersonStanding]) -> tuple[str, ...]:
    """Whose strips tell the method's precision: those who agree, and the group that somebody joins.

    While too few agree for that, everybody's.
    """
    agree = [one for one in people if one.verdict in (agreement.AGREES, "of the group")]
    enough = agree if len(agree) >= validation_plan.FEWEST_PEOPLE else people
    return tuple(str(one.person) for one in enough)


def _standings(plan: ValidationPlan, named, strips: Sequence[Strip]) -> dict[str, Standing]:
    margin = float(plan.margin)
    materials = list(dict.fromkeys(strip.material for strip in strips))

    def compare(person: str, others: Sequence[str]) -> tuple[Held, ...]:
        return tuple(_held(material, strips, person, set(others), margin) for material in materials)

    newcomers = [str(row.person_id) for row in named if row.joins]
    group = [str(row.person_id) for row in named if not row.joins]
    if newcomers:
        found = agreement.joining(group, newcomers, compare, margin)
    else:
        found = agreement.among(group, compare, margin)
    return {standing.person: standing for standing in found}


def _held(material: str, strips: Sequence[Strip], person: str, others: set[str], margin: float) -> Held:
    of_it = [strip for strip in strips if strip.material == material and strip.person in others | {person}]
    if any(strip.value is None for strip in of_it):
        return Held(material, None, None, None, "", NO_VALUES)
    mine = _pack_means([strip for strip in of_it if strip.person == person])
    theirs = [strip for strip in of_it if strip.person != person]
    try:
        found, how = _compared(mine, theirs, margin)
    except ValueError as problem:
        return Held(material, None, None, None, "", str(problem))
    return Held(material, found.difference, found.interval.low, found.interval.high, how)


def _compared(mine: Mapping[str, float], theirs: Sequence[Strip], margin: float) -> tuple[equivalence.Equivalence, str]:
    """Within the packs where each of the person's packs was shared with others; otherwise pack against pack."""
    limits = {"low": -margin, "high": margin}
    shared = _pack_means(theirs)
    if len(mine) > 1 and mine.keys() <= shared.keys():
        pairs = [(value, shared[pack]) for pack, value in mine.items()]
        return equivalence.paired_equivalence(*zip(*pairs, strict=True), **limits), "within packs"
    rest = [
        mean
        for other in sorted({strip.person for strip in theirs})
        for mean in _pack_means([strip for strip in theirs if strip.person == other]).values()
    ]
    return equivalence.equivalence(list(mine.values()), rest, **limits), "between packs"


def _pack_means(strips: Sequence[Strip]) -> dict[str, float]:
    packs: dict[str, list[float]] = defaultdict(list)
    for strip in strips:
        packs[strip.pack].append(float(strip.value or 0.0))
    return {pack: fmean(found) for pack, found in packs.items()}


def _judged(
    criterion: Criterion, strips: Sequence[Strip], counted: Sequence[str], limits: Sequence[tuple[Limit, float]]
):
    """One criterion, material by material."""
    materials = list(dict.fromkeys(strip.material for strip in strips))
    for material in materials:
        of_it = [strip for strip in strips if strip.material == material and strip.person in counted]
        try:
            percent = _percent(criterion.kind, of_it, limits)
        except ValueError as problem:
            yield Met(material, None, None, str(problem))
        else:
            yield Met(material, percent, agreement.met(criterion.kind, percent, criterion.percent))


def _percent(kind: str, strips: Sequence[Strip], limits: Sequence[tuple[Limit, float]]) -> float:
    if kind == validation_plan.MODES:
        return 100 * _modes_alike(strips)
    mean, s_r, s_intermediate = spread(strips)
    if kind == validation_plan.REPEATABILITY:
        return 100 * s_r / mean
    if kind == validation_plan.INTERMEDIATE:
        return 100 * s_intermediate / mean
    return 100 * REACH * s_intermediate / _way(mean, limits)


def spread(strips: Sequence[Strip]) -> tuple[float, float, float]:
    """Mean, repeatability and intermediate precision of one material.

    Components of variance between people and within; where everybody pulled as many strips, these are the standard
    deviations of ASTM E691. ValueError says why not.
    """
    cells: dict[str, list[float]] = defaultdict(list)
    for strip in strips:
        if strip.value is None:
            raise ValueError(NO_VALUES)
        cells[strip.person].append(strip.value)
    parts = components.one_way_components(cells)
    return fmean(fmean(cell) for cell in cells.values()), parts.within_sd, parts.total_sd


def _way(mean: float, limits: Sequence[tuple[Limit, float]]) -> float:
    """From the mean to the nearest limit."""
    ways = [mean - value if limit.side == "lower" else value - mean for limit, value in limits]
    if not ways:
        raise ValueError("the plan has no requirement and no process limit")
    if min(ways) <= 0:
        raise ValueError("the mean lies on the bad side of a limit, so there is no way to it")
    return min(ways)


def _modes_alike(strips: Sequence[Strip]) -> float:
    """The least share, over the people, of strips that came apart as the others' did."""
    people = sorted({strip.person for strip in strips})
    if len(people) < 2:
        raise ValueError("only one person's strips count")
    return min(_overlap(strips, person) for person in people)


def _overlap(strips: Sequence[Strip], person: str) -> float:
    mine = Counter(strip.modes for strip in strips if strip.person == person)
    rest = Counter(strip.modes for strip in strips if strip.person != person)
    return sum(min(mine[mode] / mine.total(), rest[mode] / rest.total()) for mode in mine)


def as_stored(found: Validation) -> dict[str, Any]:
    """The numbers as a decision keeps them."""
    return {
        "results": list(found.results),
        "people": [
            {
                "name": one.name,
                "joins": one.joins,
                "verdict": one.verdict,
                "apart": one.standing.apart if one.standing else None,
                "held": [vars(row) for row in one.standing.held] if one.standing else [],
            }
            for one in found.people
        ],
        "criteria": [
            {"kind": row.kind, "criterion": str(row.percent), "met": [vars(one) for one in rows]}
            for row, rows in found.criteria
        ],
        "passed": found.passed,
        "why": found.why,
    }
