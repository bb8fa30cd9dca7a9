"""Two groups of results side by side: what differs, and, where the set-up marks agree, how far apart they are."""

from dataclasses import dataclass

from labrecords.models import PlanGroup
from labrecords.rules.calibration import written
from labrecords.rules.comparable import BREAKS, Difference, differences
from labrecords.stats import comparisons

from . import lab, numbers, setups, values
from .access import NotFound
from .windows import pack_means

ALPHA = 0.05
TECHNIQUE = "Technique"


@dataclass(frozen=True)
class Side:
    """One group of a study with its numbers, and the values of its packs where all could be measured."""

    group: PlanGroup
    found: numbers.GroupNumbers
    packs: tuple[float, ...] | None
    told: dict[str, str]

    @property
    def mark(self) -> str:
        return self.group.study.mark


@dataclass(frozen=True)
class Compared:
    """Two groups. Difference and spreads only where the marks agree; a ratio only where the technique alone breaks."""

    one: Side
    other: Side
    differs: tuple[Difference, ...]
    means: comparisons.MeanDifference | None
    spreads: comparisons.VarianceRatio | None
    ratio: comparisons.RatioEquivalence | None
    why_not: str

    @property
    def agree(self) -> bool:
        return self.one.mark == self.other.mark


def choices() -> list[tuple[str, str]]:
    """Groups that have results, newest study first, as a form offers them."""
    found = PlanGroup.objects.filter(specimens__results__isnull=False).select_related("study").distinct()
    rows = found.order_by("-study__code", "number")
    return [(f"{group.study.code}/{group.number}", f"{group.study.code}: {group}") for group in rows]


def compare(one: str, other: str) -> Compared:
    """Two groups, each named as `choices` names them."""
    left, right = _side(one), _side(other)
    differs = differences(left.told, right.told)
    means = spreads = ratio = None
    why_not = _missing(left, right)
    try:
        if left.mark != right.mark:
            breaks = [item.label for item in differs if item.weight == BREAKS]
            ratio = _ratio(left, right) if breaks == [TECHNIQUE] and not why_not else None
        elif not why_not:
            means = comparisons.welch(left.packs, right.packs)
            spreads = comparisons.variance_ratio(left.packs, right.packs)
    except ValueError as problem:
        why_not = f"The numbers do not allow it: {problem}"
    return Compared(left, right, differs, means, spreads, ratio, why_not)


def _side(name: str) -> Side:
    code, _, number = name.rpartition("/")
    groups = PlanGroup.objects.select_related("study__setup__method_version__method", "study__project__client")
    groups = groups.prefetch_related("study__limits", "study__groups")
    group = groups.filter(study__code=code, number=int(number) if number.isdigit() else 0).first()
    if group is None or not group.study.mark:
        raise NotFound(name)
    found = next(row for row in numbers.study_numbers(group.study) if row.group.pk == group.pk)
    return Side(group, found, pack_means(found), _told(group))


def _told(group: PlanGroup) -> dict[str, str]:
    """Everything recorded of how a group was taken, by label."""
    results = values.counting(group.study).filter(specimen__group=group).order_by()
    rows = list(results.values_list("tested_by__name", "run__tester__name", "run__cell__name", "tested_at"))
    people, testers, cells = ({row[place] for row in rows} for place in range(3))
    zone = lab.zone()
    days = sorted({row[3].astimezone(zone).date() for row in rows})
    return dict(setups.described(group.study.setup)) | {
        "Arm": ", ".join(filter(None, (group.arm, group.time_point))),
        "Position": group.position,
        "Lot": group.lot,
        "Load cell": ", ".join(sorted(cells)),
        "Tester": ", ".join(sorted(testers)),
        "Tested by": ", ".join(sorted(people)),
        "Tested on": f"{written(days[0])} to {written(days[-1])}" if days else "no day yet",
        "Client": group.study.project.client.name,
    }


def _missing(left: Side, right: Side) -> str:
    for side in (left, right):
        name = f"{side.group.study.code}, {side.group}"
        if side.packs is None:
            return f"Some values of {name} could not be measured, so that no mean pretends to know them."
        if len(side.packs) < 2:
            return f"{name} has fewer than two packs with a value."
    return ""


def _ratio(left: Side, right: Side) -> comparisons.RatioEquivalence:
    """The ratio of the means with Fieller's 95 % interval; its limits of equivalence are not used."""
    return comparisons.equivalence_ratio(left.packs, right.packs, low=0.5, high=2.0, alpha=ALPHA / 2)
