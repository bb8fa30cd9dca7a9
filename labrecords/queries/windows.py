"""A window study read: its settings, what each gave at each place of the pack, and what evidence there is beside."""

from collections import Counter, defaultdict
from collections.abc import Sequence
from dataclasses import dataclass
from statistics import fmean

from django.db.models import QuerySet

from labrecords.models import PlanGroup, SealingSetting, SealingWindow, SettingEvidence, Study
from labrecords.rules import bound_rule
from labrecords.stats import normality, summary, window
from labrecords.stats.comparisons import BrownForsythe, ManyToOne

from . import numbers
from .access import NotFound

FEWEST = bound_rule.FEWEST
CURVE_STEPS = 40


@dataclass(frozen=True)
class Cell:
    """One setting at one place of the pack. `packs` are the means of the packs: None where a value is not known."""

    setting: SealingSetting
    found: numbers.GroupNumbers
    packs: tuple[float, ...] | None
    summary: summary.Summary | None
    shape: normality.Normality | None
    modes: tuple[tuple[str, int], ...]
    acceptable: bool


@dataclass(frozen=True)
class Pooled:
    """Bounds of a setting from the spread pooled over all settings of the place, and the spread's freedom."""

    lower: float
    upper: float
    df: int


@dataclass(frozen=True)
class Place:
    """All settings at one place of the pack. What the numbers do not allow is None, and `why_not` says why."""

    label: str
    cells: tuple[Cell, ...]
    against_nominal: ManyToOne | None
    spreads: BrownForsythe | None
    pooled: dict[str, Pooled]
    curve: window.SettingCurve | None
    axis: "Axis | None"
    why_not: str

    @property
    def nominal(self) -> Cell:
        return next(cell for cell in self.cells if cell.setting.kind == SealingSetting.NOMINAL)


@dataclass(frozen=True)
class Window:
    """A window study as it stands."""

    study: Study
    settings: tuple[SealingSetting, ...]
    evidence: dict[object, list[SettingEvidence]]
    places: tuple[Place, ...]
    axis: "Axis | None"

    def seen(self, setting: SealingSetting, kind: str) -> SettingEvidence | None:
        """The latest evidence of one kind, or None."""
        return next((row for row in reversed(self.evidence[setting.pk]) if row.kind == kind), None)

    def acceptable(self, setting: SealingSetting) -> bool:
        """Whether nothing that was seen speaks against a setting; what was not seen does not speak for it either."""
        seen = (self.seen(setting, kind) for kind in SettingEvidence.KINDS)
        return all(row is None or row.passed for row in seen)

    def asked(self) -> tuple[str, ...]:
        """The kinds of evidence that this window asks for."""
        openings = self.study.window.openings
        return tuple(kind for kind in SettingEvidence.KINDS if openings or kind != SettingEvidence.OPENING)

    def lacking(self) -> list[str]:
        """Evidence asked for and not there, in words; of settings set aside nothing more is asked."""
        return [
            f"{kind} evidence of {setting.label}"
            for setting in self.settings
            if self.acceptable(setting)
            for kind in self.asked()
            if self.seen(setting, kind) is None
        ]


@dataclass(frozen=True)
class Axis:
    """The one factor that moves between the settings, with what each setting has of it."""

    label: str
    values: tuple[float, ...]


def settings(study: Study) -> list[SealingSetting]:
    """The sealing settings of a study, in their order; none where it is no window study."""
    return list(SealingSetting.objects.filter(window__study=study))


def place_of(group: PlanGroup) -> str:
    """Where, and after what, the strips of a group are cut: everything of the group but its lot."""
    return ", ".join(part for part in (group.arm, group.time_point, group.position) if part)


def read_plan(study: Study) -> SealingWindow:
    """What a window study's plan says of sealer and opening; NotFound for a study that looks for no window."""
    if not hasattr(study, "window"):
        raise NotFound(f"window of {study.code}")
    return study.window


def setting(study: Study, number: int) -> SealingSetting:
    """One setting of a study by its number."""
    found = SealingSetting.objects.filter(window__study=study, number=number).first()
    if found is None:
        raise NotFound(f"{study.code} setting {number}")
    return found


def window_studies() -> QuerySet[Study]:
    """Studies that look for a process window, newest first."""
    return Study.objects.filter(window__isnull=False).select_related("project__client", "window")


def read(study: Study) -> Window:
    """Everything the window's page shows; the number of queries does not grow with the results."""
    read_plan(study)
    found = tuple(settings(study))
    evidence: dict[object, list[SettingEvidence]] = defaultdict(list)
    for row in SettingEvidence.objects.filter(setting__window__study=study).select_related("by").order_by("at", "pk"):
        evidence[row.setting_id].append(row)
    bare = Window(study, found, evidence, (), _axis(found))
    by_place: dict[str, list[Cell]] = defaultdict(list)
    of_lot = {row.lot: row for row in found}
    for group in numbers.study_numbers(study):
        row = of_lot[group.group.lot]
        by_place[place_of(group.group)].append(_cell(row, group, acceptable=bare.acceptable(row)))
    places = tuple(_place(study, label, cells, bare.axis) for label, cells in by_place.items())
    return Window(study, found, evidence, places, bare.axis)


def _cell(row: SealingSetting, found: numbers.GroupNumbers, *, acceptable: bool) -> Cell:
    packs = pack_means(found)
    known = packs if packs and len(packs) > 1 else None
    testable = known is not None and len(known) >= FEWEST and min(known) < max(known)
    modes = Counter("+".join(line.result.modes) or "none" for line in found.lines if line.counts)
    return Cell(
        setting=row,
        found=found,
        packs=packs,
        summary=summary.summarise(known) if known else None,
        shape=normality.anderson_darling(known) if testable else None,
        modes=tuple(modes.most_common()),
        acceptable=acceptable,
    )


def pack_means(found: numbers.GroupNumbers) -> tuple[float, ...] | None:
    """The mean of each pack, since strips of one pack are not independent; None where a value is not known."""
    if found.below or found.above:
        return None
    return tuple(fmean(strips) for strips in _by_pack(found).values())


def pack_labels(found: numbers.GroupNumbers) -> tuple[str, ...]:
    """The packs' labels, in the order of their means."""
    return tuple(_by_pack(found))


def _by_pack(found: numbers.GroupNumbers) -> dict[str, list[float]]:
    packs: dict[str, list[float]] = defaultdict(list)
    for line in found.lines:
        if line.strength is not None:
            packs[line.specimen.pack.label].append(float(line.strength))
    return packs


def _place(study: Study, label: str, cells: list[Cell], axis: Axis | None) -> Place:
    cells.sort(key=lambda cell: cell.setting.number)
    why_not = _why_not(cells)
    against = spreads = curve = None
    pooled: dict[str, Pooled] = {}
    if not why_not:
        try:
            against, spreads, pooled = _compared(study, cells)
            curve = _curve(study, cells, axis)
        except ValueError as problem:
            why_not = f"The numbers do not allow a comparison: {problem}"
    return Place(label, tuple(cells), against, spreads, pooled, curve, axis, why_not)


def _why_not(cells: Sequence[Cell]) -> str:
    for cell in cells:
        if cell.packs is None:
            return (
                f"Some values of {cell.setting.label} could not be measured, so no mean pretends to know them and the "
                "settings are not compared by their means."
            )
        if len(cell.packs) < 2:
            return f"{cell.setting.label} has fewer than two packs with a value, so the settings are not compared yet."
    return ""


def _compared(study: Study, cells: Sequence[Cell]) -> tuple[ManyToOne, BrownForsythe | None, dict[str, Pooled]]:
    reference = next(cell.setting.label for cell in cells if cell.setting.kind == SealingSetting.NOMINAL)
    claim = {"coverage": float(study.coverage), "confidence": float(study.confidence)}
    found = window.process_window({cell.setting.label: cell.packs for cell in cells}, reference=reference, **claim)
    df = found.anova.df_within
    pooled = {}
    for row in found.settings:
        reach = row.pooled_factor * found.pooled_sd
        pooled[row.name] = Pooled(row.summary.mean - reach, row.summary.mean + reach, df)
    return found.many_to_one, found.brown_forsythe, pooled


def _curve(study: Study, cells: Sequence[Cell], axis: Axis | None) -> window.SettingCurve | None:
    """Strength against the one factor that moves; none where several move, or too few packs were tested."""
    if axis is None:
        return None
    x = [axis.values[cell.setting.number - 1] for cell in cells for _ in cell.packs]
    y = [value for cell in cells for value in cell.packs]
    claim = {"coverage": float(study.coverage), "confidence": float(study.confidence)}
    return window.strength_against_setting(x, y, degree=2 if len(set(x)) > 2 else 1, at=_along(x), **claim)


def _along(x: Sequence[float]) -> list[float]:
    """Places at which the curve is drawn: close enough together to look like one."""
    low, high = min(x), max(x)
    return [low + (high - low) * step / CURVE_STEPS for step in range(CURVE_STEPS + 1)]


def _axis(found: Sequence[SealingSetting]) -> Axis | None:
    factors = {
        "Temperature": [(float(row.temperature), row.temperature_unit) for row in found],
        "Dwell": [(float(row.dwell_s), "s") for row in found],
        "Pressure": [(None if row.pressure is None else float(row.pressure), row.pressure_unit) for row in found],
    }
    moving = [(label, rows) for label, rows in factors.items() if len(set(rows)) > 1]
    if len(moving) != 1 or len({unit for _, unit in moving[0][1]}) > 1:
        return None
    label, rows = moving[0]
    return Axis(f"{label}, {rows[0][1]}", tuple(value for value, _ in rows))


def extreme(found: Window, side: str) -> tuple[Place, Cell] | None:
    """Place and setting with the bound from which a limit starts: the weakest acceptable, or the strongest."""
    bounded = [
        (place, cell)
        for place in found.places
        for cell in place.cells
        if cell.acceptable and (bound := side_bound(cell, side)) is not None and bound.value is not None
    ]
    pick = min if side == "lower" else max
    return pick(bounded, key=lambda pair: side_bound(pair[1], side).value) if bounded else None


def without_bound(found: Window, side: str) -> list[tuple[Place, Cell]]:
    """Acceptable settings that have no bound on this side: while one lacks it nobody knows which is the weakest."""
    cells = [(place, cell) for place in found.places for cell in place.cells if cell.acceptable]
    return [(place, cell) for place, cell in cells if (side_bound(cell, side) or cell.found.bound).value is None]


def side_bound(cell: Cell, side: str):
    """The tolerance bound of a cell on one side; None where that side is not looked for."""
    return cell.found.bound if side == "lower" else cell.found.upper_bound


def strips(found: Window, *, acceptable: bool = False) -> list[numbers.Line]:
    """Every strip that counts, of all places and settings; of the acceptable settings only, if that is said."""
    cells = [cell for place in found.places for cell in place.cells if cell.acceptable or not acceptable]
    return [line for cell in cells for line in cell.found.lines if line.counts]
