"""The numbers of a study, group by group. Page, API, report and bundle read them here and nowhere else."""

from collections import defaultdict
from collections.abc import Iterable, Sequence
from dataclasses import dataclass, field
from decimal import Decimal

from labrecords.models import Limit, PlanGroup, Result, Specimen, Study
from labrecords.rules import decision
from labrecords.stats import normality, summary, tolerance

from . import values

# Below this many values a normality test sees next to nothing. common practice, no source
FEW = 15
# Anderson and Darling's adjusted statistic and its p are meant for eight values or more (D'Agostino and Stephens,
# Goodness-of-Fit Techniques, 1986).
FEWEST_FOR_NORMALITY = 8


@dataclass(frozen=True)
class Line:
    """One specimen's standing: its latest result, if it has one, and whether and as what it counts."""

    specimen: Specimen
    result: Result | None
    void: bool
    set_aside: bool
    waiting: bool

    @property
    def counts(self) -> bool:
        return self.result is not None and not self.void and not self.set_aside

    @property
    def strength(self) -> Decimal | None:
        """The value that counts; None for one known only to lie beyond what can be measured."""
        return self.result.strength if self.counts and not self.result.censored else None


@dataclass(frozen=True)
class Bound:
    """A lower tolerance bound, how it came about, and what it says in words; or why there is none."""

    value: float | None
    words: str


@dataclass(frozen=True)
class Verdict:
    """A group held against one limit: how many lie on the bad side, and whether the rule is met."""

    limit: Limit
    value: Decimal
    outside: int
    met: bool | None  # None: not decided, for want of values or of a bound
    words: str


@dataclass(frozen=True)
class GroupNumbers:
    """What one group of the plan gave."""

    group: PlanGroup
    lines: tuple[Line, ...]
    summary: summary.Summary | None
    below: int
    above: int
    bound: Bound
    normality: normality.Normality | None
    verdicts: tuple[Verdict, ...]
    notes: tuple[str, ...] = field(default=())

    @property
    def tested(self) -> int:
        return sum(line.result is not None for line in self.lines)

    @property
    def void(self) -> int:
        return sum(line.void for line in self.lines)

    @property
    def marked(self) -> int:
        return sum(line.counts and bool(line.result.censored) for line in self.lines)

    @property
    def waiting(self) -> int:
        return sum(line.waiting for line in self.lines)

    @property
    def n(self) -> int:
        """How many results count, the marked ones too."""
        return sum(line.counts for line in self.lines)

    @property
    def below_limit(self) -> int:
        """How many values lie below a lower limit of the study."""
        return max((v.outside for v in self.verdicts if v.limit.side == "lower"), default=0)


def study_numbers(study: Study) -> list[GroupNumbers]:
    """Every group of the plan with its numbers; the number of queries does not grow with the results."""
    lines = _lines(study)
    limits = list(study.limits.all())
    return [_numbers(study, group, lines[group.pk], limits) for group in study.groups.all()]


def _lines(study: Study) -> dict[object, list[Line]]:
    results = {
        result.specimen_id: result
        for result in values.latest(study)
        .select_related("run", "tested_by", "run__cell", "run__tester")
        .prefetch_related("deviations__decision")
    }
    specimens = study.specimens.select_related("pack", "void", "group", "replaces").order_by("label")
    lines = defaultdict(list)
    for specimen in specimens:
        lines[specimen.group_id].append(_line(specimen, results.get(specimen.pk)))
    return lines


def _line(specimen: Specimen, result: Result | None) -> Line:
    decisions = [getattr(item, "decision", None) for item in result.deviations.all()] if result else []
    return Line(
        specimen=specimen,
        result=result,
        void=hasattr(specimen, "void"),
        set_aside=any(made is not None and not made.counts for made in decisions),
        waiting=any(made is None for made in decisions),
    )


def _numbers(study: Study, group: PlanGroup, lines: list[Line], limits: list[Limit]) -> GroupNumbers:
    counting = [line for line in lines if line.counts]
    known = [float(line.strength) for line in counting if line.strength is not None]
    below = sum(line.result.censored == "below" for line in counting)
    above = sum(line.result.censored == "above" for line in counting)
    whole = summary.summarise(known) if len(known) > 1 and not below and not above else None
    bound = lower_bound(study, counting, whole_packs=group.specimens_per_pack > 1)
    tested = normality.anderson_darling(known) if _testable(known, whole) else None
    return GroupNumbers(
        group=group,
        lines=tuple(lines),
        summary=whole,
        below=below,
        above=above,
        bound=bound,
        normality=tested,
        verdicts=tuple(_verdict(study, counting, limit, bound) for limit in limits),
        notes=tuple(_notes(group, lines, known, below, above, tested)),
    )


def _testable(known: Sequence[float], whole: summary.Summary | None) -> bool:
    return whole is not None and len(known) >= FEWEST_FOR_NORMALITY and whole.sd > 0


def lower_bound(study: Study, counting: Sequence[Line], *, whole_packs: bool) -> Bound:
    """The lower tolerance bound of a group at the plan's coverage and confidence.

    Normal model while every value could be measured; from order statistics once some could not, since a normal
    model would pretend to know them. Where several strips come from one pack, each pack speaks with its weakest.
    """
    units = _weakest_of_packs(counting) if whole_packs else [_strip(line) for line in counting]
    known = [float(value) for value, _ in units if value is not None]
    below = sum(censored == "below" for _, censored in units)
    try:
        value = _computed(study, known, below=below, censored=any(censored for _, censored in units))
    except ValueError:
        return Bound(None, _no_bound(len(units), any(censored for _, censored in units)))
    if value is None:
        return Bound(None, "none: all values are equal, so how far others scatter is not known")
    if value <= 0:
        return Bound(None, "none: the values are too few, or scatter too much, to promise any strength")
    model = "from the order of the values, without a model" if any(c for _, c in units) else "normal model"
    return Bound(value, f"{model}, {len(units)} {'packs, each by its weakest strip' if whole_packs else 'values'}")


def _computed(study: Study, known: list[float], *, below: int, censored: bool) -> float | None:
    claim = {"coverage": float(study.coverage), "confidence": float(study.confidence)}
    if censored:
        return tolerance.order_statistic_bound(known, below=below, **claim).bound
    if len(known) > 1 and min(known) == max(known):
        return None
    return tolerance.lower_bound(known, **claim).bound


def _strip(line: Line) -> tuple[Decimal | None, str]:
    """The value of a strip and how it is censored; one too strong to measure stands at the end it surpassed."""
    result = line.result
    return (result.censored_at if result.censored == "above" else line.strength), result.censored


def _weakest_of_packs(counting: Sequence[Line]) -> list[tuple[Decimal | None, str]]:
    packs = defaultdict(list)
    for line in counting:
        packs[line.specimen.pack_id].append(_strip(line))
    return [min(strips, key=_strength_order) for strips in packs.values()]


def _strength_order(strip: tuple[Decimal | None, str]) -> tuple[int, Decimal]:
    value, censored = strip
    return (int(censored != "below"), value or Decimal(0))


def _no_bound(n: int, censored: bool) -> str:
    if censored:
        return f"none: {n} values are too few for a bound without a model, and some could not be measured"
    return f"none: {n} values are too few for a bound"


def _verdict(study: Study, counting: Sequence[Line], limit: Limit, bound: Bound) -> Verdict:
    value = values.in_unit(limit, study.setup.unit)
    outside = sum(_outside(line, limit.side, value) for line in counting)
    met, words = _judged(study, counting, limit, value, bound, outside)
    return Verdict(limit, value, outside, met, words)


def _outside(line: Line, side: str, limit: Decimal) -> bool:
    result = line.result
    if not result.censored:
        return not decision.meets(result.strength, side=side, limit=limit)
    # known to lie below its end: on the bad side of a lower limit at or above that end, and likewise above
    if result.censored == "below":
        return side == "lower" and limit >= (result.censored_at or 0)
    return side == "upper" and limit <= result.censored_at


def _unjudgeable(line: Line, limit: Decimal) -> bool:
    """Whether a value beyond what could be measured may lie on either side of the limit."""
    result = line.result
    end = result.censored_at or Decimal(0)
    if result.censored == "below":
        return limit < end
    return result.censored == "above" and limit > end


def _judged(study, counting, limit, value, bound, outside) -> tuple[bool | None, str]:
    if study.decision_rule == decision.TOLERANCE_BOUND and limit.side == "lower":
        if bound.value is None:
            return None, f"not decided: there is no tolerance bound; {outside} of {len(counting)} values lie below"
        met = Decimal(repr(bound.value)) >= value
        return met, "the tolerance bound lies on the limit or above" if met else "the tolerance bound lies below it"
    if not counting:
        return None, "not decided: there are no values"
    if outside:
        return False, f"{outside} of {len(counting)} do not meet it"
    if any(_unjudgeable(line, value) for line in counting):
        return None, "not decided: some values could not be measured well enough to say"
    return True, f"all {len(counting)} meet it"


def _notes(group, lines, known, below, above, tested) -> Iterable[str]:
    if below or above:
        said = " and ".join(
            part for part in (f"{below} below" if below else "", f"{above} above" if above else "") if part
        )
        yield f"{said} what could be measured: they count, and no mean or standard deviation pretends to know them."
    if waiting := sum(line.waiting and line.counts for line in lines):
        yield f"{waiting} of these wait for a decision, and are counted until it is made."
    if aside := sum(line.set_aside for line in lines):
        yield f"{aside} set aside by decision, and not counted."
    if group.specimens_per_pack > 1:
        yield "Strips of one pack are not independent: the pack is the unit of the bound."
    if tested is None and len(known) < FEWEST_FOR_NORMALITY and known and not (below or above):
        yield f"{len(known)} values are too few to judge their shape; the bound assumes the normal model."
    elif tested is not None and len(known) < FEW:
        yield f"With {len(known)} values a normality test sees little; the plot says more than its p."
    elif tested is not None and tested.p_value < 0.05:
        yield f"The values do not look normal (Anderson-Darling p {tested.p_value:.3f}): the bound may mislead."
