"""Results in the order in which they were taken, with everything recorded of each: for whoever asks what changed."""

from collections import defaultdict
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import date, datetime
from statistics import fmean

from labrecords.models import Calibration, Conditioning, Result, SealingSetting, Study
from labrecords.rules import what_changed
from labrecords.rules.calibration import written
from labrecords.stats import comparisons, shift
from labrecords.stats.comparisons import MeanDifference, OneWay, VarianceRatio

from . import lab, values

# What somebody swaps or hands over at a moment; a shift is looked for there first, where it fits nearly as well.
EVENTS = ("Load cell", "Calibration of the cell", "Tester", "Tested by", "Lot", "Sealing", "Position", "Arm")
HOURS = 24.0  # width of a class of time since conditioning, so that a level is shared by the strips of a session
ROOM_C, ROOM_PERCENT = 1.0, 5.0  # widths of the classes of the room's readings


@dataclass(frozen=True)
class Row:
    """One result that counts and could be measured."""

    label: str
    pack: object
    tested_at: datetime
    value: float
    factors: Mapping[str, str]


@dataclass(frozen=True)
class Explained:
    """How much of the scatter one factor explains by itself; None where the data do not support it."""

    label: str
    levels: int
    found: OneWay | None

    @property
    def share(self) -> float:
        """Share of the variance, corrected for the number of levels; at least nothing."""
        if self.found is None:
            return 0.0
        whole = (self.found.ss_between + self.found.ss_within) / (self.found.df_between + self.found.df_within)
        return max(0.0, 1 - self.found.ms_within / whole)


@dataclass(frozen=True)
class Changes:
    """Two groups of results, how far apart they are, and everything that differs between them."""

    rows: tuple[Row, ...]
    second: tuple[bool, ...]
    names: tuple[str, str]
    shift: shift.Shift | None
    means: MeanDifference | None
    spreads: VarianceRatio | None
    ranked: tuple[what_changed.Changed, ...]
    explained: tuple[Explained, ...]
    together: tuple[tuple[str, ...], ...]
    why_not: str


def rows(studies: Sequence[Study]) -> tuple[Row, ...]:
    """Results of studies of one set-up, in the order in which they were pulled; a fixed number of queries."""
    found = _results(studies)
    zone, certificates, begun = lab.zone(), _certificates(found), _conditioned(studies)
    sealed = _settings(studies)
    return tuple(
        Row(
            label=result.specimen.label,
            pack=result.specimen.pack_id,
            tested_at=result.tested_at,
            value=float(result.strength),
            factors=_factors(result, result.tested_at.astimezone(zone), certificates, begun, sealed),
        )
        for result in found
    )


def _results(studies: Sequence[Study]) -> list[Result]:
    keys = [key for study in studies for key in values.counting(study).order_by().values_list("pk", flat=True)]
    chosen = Result.objects.filter(pk__in=keys, censored="").select_related(
        "run__tester",
        "run__cell",
        "tested_by",
        "specimen__cut_by",
        "specimen__cutter",
        "specimen__group",
        "specimen__study",
        "specimen__pack__lot",
    )
    return list(chosen.order_by("tested_at", "at", "specimen__label"))


def _certificates(found: Sequence[Result]) -> dict[object, list[tuple[date, str]]]:
    cells = {result.run.cell_id for result in found}
    made: dict[object, list[tuple[date, str]]] = defaultdict(list)
    reviewed = Calibration.objects.filter(equipment__in=cells, review__isnull=False, superseded_by__isnull=True)
    for row in reviewed.order_by("performed_on"):
        made[row.equipment_id].append((row.performed_on, row.certificate))
    return made


def _conditioned(studies: Sequence[Study]) -> dict[object, list[datetime]]:
    begun: dict[object, list[datetime]] = defaultdict(list)
    for row in Conditioning.objects.filter(lot__study__in=[study.pk for study in studies]).order_by("started_at"):
        begun[row.lot_id].append(row.started_at)
    return begun


def _settings(studies: Sequence[Study]) -> dict[tuple[object, str], str]:
    found = SealingSetting.objects.filter(window__study__in=[study.pk for study in studies]).select_related("window")
    return {(row.window.study_id, row.lot): f"{row.label}: {row.words}" for row in found}


def _factors(result: Result, local: datetime, certificates, begun, sealed) -> dict[str, str]:
    run, specimen = result.run, result.specimen
    lot, group = specimen.pack.lot, specimen.group
    return {
        "Load cell": f"{run.cell.name} ({run.cell.label})",
        "Calibration of the cell": _in_force(certificates[run.cell_id], local.date()),
        "Tester": f"{run.tester.name} ({run.tester.label})",
        "Tested by": result.tested_by.name,
        "Lot": lot.name,
        "Sealing": sealed.get((specimen.study_id, lot.name), lot.sealed_how),
        "Arm": ", ".join(filter(None, (group.arm, group.time_point))),
        "Position": group.position,
        "Cutter": specimen.cutter.name if specimen.cutter else "not recorded",
        "Cut by": specimen.cut_by.name,
        "Room": _class(run.room_c, ROOM_C, "°C"),
        "Humidity": _class(run.room_humidity_percent, ROOM_PERCENT, "%"),
        "Time since conditioning": _since(begun[lot.pk], result.tested_at),
        "Day": written(local.date()),
        "Run": f"{specimen.study.code}, run {run.number}",
        "Study": specimen.study.code,
    }


def _in_force(made: Sequence[tuple[date, str]], day: date) -> str:
    before = [certificate for performed, certificate in made if performed <= day]
    return before[-1] if before else "none on record"


def _class(value: float, width: float, unit: str) -> str:
    """The class of a reading, named by its ends: readings that differ by next to nothing are one level."""
    low = width * (value // width)
    return f"{low:g} to {low + width:g} {unit}"


def _since(begun: Sequence[datetime], moment: datetime) -> str:
    before = [start for start in begun if start <= moment]
    if not before:
        return "not recorded"
    return _class((moment - before[-1]).total_seconds() / 3600, HOURS, "h")


def levels(found: Sequence[Row]) -> list[tuple[str, str]]:
    """What may be picked as a group: every level of every factor that has more than one."""
    offered = []
    for label in found[0].factors if found else ():
        seen = list(dict.fromkeys(row.factors[label] for row in found))
        if len(seen) > 1:
            offered += [(f"{label}|{level}", f"{label}: {level}") for level in seen]
    return offered


def found_by_shift(found: Sequence[Row]) -> Changes:
    """The two groups before and after the most likely shift of the mean in the order of testing."""
    try:
        where = shift.largest_shift([row.value for row in found])
    except ValueError as problem:
        return _nothing(found, f"No shift can be looked for: {problem}")
    split = next((place for place in where.plausible if _something_changed(found, place)), where.place)
    names = (f"before {found[split].label}", f"from {found[split].label} on")
    return _compared(found, [place >= split for place in range(len(found))], names, where)


def _something_changed(found: Sequence[Row], place: int) -> bool:
    before, after = found[place - 1].factors, found[place].factors
    return any(before[label] != after[label] for label in EVENTS)


def before_and_from(found: Sequence[Row], day: date) -> Changes:
    """The two groups before a day and from it on."""
    zone = lab.zone()
    second = [row.tested_at.astimezone(zone).date() >= day for row in found]
    return _compared(found, second, (f"before {written(day)}", f"from {written(day)} on"))


def picked(found: Sequence[Row], one: str, other: str) -> Changes:
    """Two levels of one factor or of two, as `levels` names them; a result of both is left out."""
    first, second = (name.partition("|")[::2] for name in (one, other))
    chosen = []
    for row in found:
        sides = [row.factors.get(label) == level for label, level in (first, second)]
        if sum(sides) == 1:
            chosen.append((row, sides[1]))
    kept, sides = [row for row, _ in chosen], [side for _, side in chosen]
    return _compared(kept, sides, (": ".join(first), ": ".join(second)))


def _nothing(found: Sequence[Row], why_not: str) -> Changes:
    return Changes(tuple(found), (False,) * len(found), ("all", "none"), None, None, None, (), (), (), why_not)


def _compared(found: Sequence[Row], second: list[bool], names, where: shift.Shift | None = None) -> Changes:
    if not any(second) or all(second):
        return _nothing(found, f"One of the two groups has no value that could be measured: {names[0]}, {names[1]}.")
    factors = {label: [row.factors[label] for row in found] for label in found[0].factors}
    means = spreads = None
    why_not = ""
    try:
        one, other = _packs(found, second, side=False), _packs(found, second, side=True)
        means = comparisons.welch(other, one)
        spreads = comparisons.variance_ratio(other, one)
    except ValueError as problem:
        why_not = f"The numbers do not allow an interval: {problem}"
    shares = [_explained(label, levels, found) for label, levels in factors.items() if len(set(levels)) > 1]
    return Changes(
        rows=tuple(found),
        second=tuple(second),
        names=names,
        shift=where,
        means=means,
        spreads=spreads,
        ranked=what_changed.rank(second, factors),
        explained=tuple(sorted(shares, key=lambda one: -one.share)),
        together=what_changed.inseparable(factors),
        why_not=why_not,
    )


def _packs(found: Sequence[Row], second: Sequence[bool], *, side: bool) -> list[float]:
    """The mean of each pack: strips of one pack are not independent."""
    packs: dict[object, list[float]] = defaultdict(list)
    for row, here in zip(found, second, strict=True):
        if here == side:
            packs[row.pack].append(row.value)
    return [fmean(strips) for strips in packs.values()]


def _explained(label: str, levels: Sequence[str], found: Sequence[Row]) -> Explained:
    try:
        made = shift.explained([row.value for row in found], levels)
    except ValueError:
        made = None
    return Explained(label, len(set(levels)), made)


def same_mark(study: Study) -> list[Study]:
    """Every study with the set-up mark of this one: their results were taken one way."""
    if not study.mark:
        return [study]
    return list(Study.objects.filter(mark=study.mark).exclude(state="withdrawn").order_by("code"))
