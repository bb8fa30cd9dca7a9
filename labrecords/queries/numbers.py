"""The numbers of a study, group by group. Page, API, report and bundle read them here and nowhere else."""

from collections import defaultdict
from collections.abc import Iterable, Sequence
from dataclasses import dataclass, field
from decimal import Decimal

from django.db.models import Count, Q

from labrecords.models import PlanGroup, Result, SealingWindow, Specimen, Study
from labrecords.stats import normality, summary

from . import values
from .bounds import Bound, tolerance_bound
from .verdicts import Verdict, verdict

# Below this many values a normality test sees next to nothing. common practice, no source
FEW = 15
# Anderson and Darling's adjusted statistic and its p are meant for eight values or more (D'Agostino and Stephens,
# Goodness-of-Fit Techniques, 1986).
FEWEST_FOR_NORMALITY = 8
# From this p down the values do not look normal. common practice, no source
DOUBT = 0.05


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
        return self.result is not None and not (self.void or self.set_aside or self.waiting)

    @property
    def strength(self) -> Decimal | None:
        """The value that counts; None for one known only to lie beyond what can be measured."""
        return self.result.strength if self.counts and not self.result.censored else None


@dataclass(frozen=True)
class GroupNumbers:
    """What one group of the plan gave."""

    group: PlanGroup
    lines: tuple[Line, ...]
    summary: summary.Summary | None
    below: int
    above: int
    bound: Bound
    upper_bound: Bound | None  # where the study has an upper limit or looks for one
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

    @property
    def above_limit(self) -> int:
        """How many values lie above an upper limit of the study."""
        return max((v.outside for v in self.verdicts if v.limit.side == "upper"), default=0)

    @property
    def doubtful(self) -> bool:
        """Whether the values do not look like the normal model on which the bound rests."""
        return self.normality is not None and self.normality.p_value < DOUBT

    @property
    def independent(self) -> bool:
        """Whether the strips are independent of one another: one from each pack."""
        return self.group.specimens_per_pack == 1


def study_numbers(study: Study) -> list[GroupNumbers]:
    """Every group of the plan with its numbers; the number of queries does not grow with the results."""
    lines = _lines(study)
    limits = values.limits(study)
    upper_sought = SealingWindow.objects.filter(study=study, openings=True).exists()
    return [_numbers(study, group, lines[group.pk], limits, upper_sought) for group in study.groups.all()]


def missing(study: Study) -> int:
    """How many results the plan asks for that no specimen has; a void one is replaced or missing."""
    counted = Count(
        "specimens", filter=Q(specimens__results__isnull=False, specimens__void__isnull=True), distinct=True
    )
    groups = study.groups.annotate(counted=counted)
    return sum(max(0, group.planned - group.counted) for group in groups)


def _lines(study: Study) -> dict[object, list[Line]]:
    results = {
        result.specimen_id: result
        for result in values.latest(study)
        .select_related("run", "tested_by", "run__cell", "run__tester")
        .prefetch_related("deviations__decision")
    }
    found = Specimen.objects.filter(study=study).select_related("pack", "void", "group", "replaces")
    specimens = found.order_by("label")
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
        waiting=result is not None and values.waits(result),
    )


def _numbers(study: Study, group: PlanGroup, lines: list[Line], limits, upper_sought: bool) -> GroupNumbers:
    counting = [line for line in lines if line.counts]
    known = [float(line.strength) for line in counting if line.strength is not None]
    below = sum(line.result.censored == "below" for line in counting)
    above = sum(line.result.censored == "above" for line in counting)
    whole = summary.summarise(known) if len(known) > 1 and not below and not above else None
    sides = {limit.side for limit, _ in limits} | {"lower"} | ({"upper"} if upper_sought else set())
    packs = group.specimens_per_pack > 1
    bounds = {side: tolerance_bound(study, counting, side=side, whole_packs=packs) for side in sides}
    tested = normality.anderson_darling(known) if _testable(known, whole) and not packs else None
    return GroupNumbers(
        group=group,
        lines=tuple(lines),
        summary=whole,
        below=below,
        above=above,
        bound=bounds["lower"],
        upper_bound=bounds.get("upper"),
        normality=tested,
        verdicts=tuple(verdict(study, counting, limit, value, bounds[limit.side]) for limit, value in limits),
        notes=tuple(_notes(group, lines, known, below, above, tested)),
    )


def _testable(known: Sequence[float], whole: summary.Summary | None) -> bool:
    return whole is not None and len(known) >= FEWEST_FOR_NORMALITY and whole.sd > 0


def _notes(group, lines, known, below, above, tested) -> Iterable[str]:
    if below or above:
        said = " and ".join(
            part for part in (f"{below} below" if below else "", f"{above} above" if above else "") if part
        )
        yield f"{said} what could be measured: they count, and no mean or standard deviation pretends to know them."
    if waiting := sum(line.waiting and not line.void for line in lines):
        wait = "waits" if waiting == 1 else "wait"
        yield f"{waiting} {wait} for a decision: not shown, and not counted, until it is made."
    if aside := sum(line.set_aside for line in lines):
        yield f"{aside} set aside by decision, and not counted."
    if group.specimens_per_pack > 1:
        yield (
            "Strips of one pack are not independent: the pack is the unit of the bound, and neither an interval for "
            "the mean nor a normality test is given."
        )
        return
    if tested is None and len(known) < FEWEST_FOR_NORMALITY and known and not (below or above):
        yield f"{len(known)} values are too few to judge their shape; the bound assumes the normal model."
    if tested is not None and len(known) < FEW:
        yield f"With {len(known)} values a normality test sees little; the plot says more than its p."
    if tested is not None and tested.p_value < DOUBT:
        p = f"p {tested.p_value:.3f}" if tested.p_value >= 0.001 else "p below 0.001"
        yield f"The values do not look normal (Anderson-Darling {p}): the bound may mislead."
