"""How alike several technicians measure: repeatability, intermediate precision, and who stands out."""

from collections import Counter, defaultdict
from collections.abc import Mapping, Sequence
from dataclasses import dataclass

import pandas as pd

from labrecords.models import Result, Study
from labrecords.stats import components, precision
from labrecords.stats.components import CrossedGauge, NestedGauge
from labrecords.stats.precision import Cochran, Precision

from . import validation_plans, values

SAID = 3  # holes of a design that are named
ALPHA = 0.005  # chance with which h or k of a technician like the others is beyond, as ASTM E691 has it


@dataclass(frozen=True)
class Reading:
    """One result that counts and could be measured: who pulled it, of what material, from which pack."""

    technician: str
    material: str
    pack: str
    value: float
    modes: str


@dataclass(frozen=True)
class MaterialPrecision:
    """The technicians side by side for one material, which is a group of the plan; or why they cannot be."""

    label: str
    found: Precision | None
    cochran: Cochran | None
    why_not: str


@dataclass(frozen=True)
class StudyPrecision:
    """A study with several technicians. What the data do not allow is None, and the sentence beside it says why."""

    readings: tuple[Reading, ...]
    technicians: tuple[str, ...]
    unmeasured: int
    materials: tuple[MaterialPrecision, ...]
    crossed: CrossedGauge | None
    why_not_crossed: str
    nested: NestedGauge | None
    why_not_nested: str
    modes: Mapping[str, Counter]
    blind: bool  # a validation study whose testing goes on: nobody is compared yet


def read(study: Study) -> StudyPrecision:
    """Everything the page shows, in a fixed number of queries."""
    blind = validation_plans.blind(study)
    results = [] if blind else _results(study)
    readings = tuple(_reading(result) for result in results if not result.censored)
    crossed, why_not_crossed = _crossed(readings)
    nested, why_not_nested = _nested(readings)
    return StudyPrecision(
        readings=readings,
        technicians=tuple(sorted({reading.technician for reading in readings})),
        unmeasured=len(results) - len(readings),
        materials=tuple(_materials(readings)),
        crossed=crossed,
        why_not_crossed=why_not_crossed,
        nested=nested,
        why_not_nested=why_not_nested,
        modes=_modes(results),
        blind=blind,
    )


def _results(study: Study) -> list[Result]:
    return list(
        values.counting(study)
        .select_related("tested_by", "specimen__group", "specimen__pack")
        .order_by("specimen__group__number", "tested_by__name", "tested_at", "at", "specimen__label")
    )


def _reading(result: Result) -> Reading:
    specimen = result.specimen
    return Reading(
        technician=result.tested_by.name,
        material=str(specimen.group),
        pack=specimen.pack.label,
        value=float(result.strength),
        modes="+".join(result.modes),
    )


def _materials(readings: Sequence[Reading]) -> list[MaterialPrecision]:
    cells: dict[str, dict[str, list[float]]] = defaultdict(lambda: defaultdict(list))
    for reading in readings:
        cells[reading.material][reading.technician].append(reading.value)
    return [_material(label, of_one) for label, of_one in cells.items()]


def _material(label: str, cells: Mapping[str, list[float]]) -> MaterialPrecision:
    why_not = _unlike(cells)
    if why_not:
        return MaterialPrecision(label, None, None, why_not)
    try:
        found = precision.interlaboratory(cells, alpha=ALPHA)
        spread = precision.cochran(found.cell_sds, n=found.replicates)
    except ValueError as problem:
        return MaterialPrecision(label, None, None, f"The numbers do not allow it: {problem}")
    return MaterialPrecision(label, found, spread, "")


def _unlike(cells: Mapping[str, list[float]]) -> str:
    """Why technicians cannot be laid side by side by h and k, if they cannot."""
    counts = {name: len(row) for name, row in cells.items()}
    if len(counts) < 3:
        people = "one technician" if len(counts) == 1 else "two technicians"
        return f"Only {people} pulled strips of it; three or more are needed."
    if len(set(counts.values())) > 1:
        said = ", ".join(f"{name} {count}" for name, count in counts.items())
        return f"The technicians pulled different numbers of strips of it: {said}."
    return ""


def _crossed(readings: Sequence[Reading]) -> tuple[CrossedGauge | None, str]:
    """Every technician pulls strips of the same materials, whose strips are taken as alike."""
    missing = _not_pulled(readings)
    if missing:
        return None, f"Not every technician pulled strips of every material: {missing}."
    table = _table(readings, part="material")
    try:
        return components.crossed_gauge(table), ""
    except ValueError as problem:
        return None, _said(problem)


def _not_pulled(readings: Sequence[Reading]) -> str:
    """Who pulled nothing of which material. With a hole in the design, technician and material cannot be told apart."""
    pulled = {(reading.technician, reading.material) for reading in readings}
    people, materials = (sorted({pair[place] for pair in pulled}) for place in (0, 1))
    whole = ((name, material) for name in people for material in materials)
    holes = [f"{name} none of {material}" for name, material in whole if (name, material) not in pulled]
    more = f", and {len(holes) - SAID} more" if len(holes) > SAID else ""
    return ", ".join(holes[:SAID]) + more


def _nested(readings: Sequence[Reading]) -> tuple[NestedGauge | None, str]:
    """Every technician pulls strips of packs of their own."""
    table = _table(readings, part="pack")
    shared = table.groupby("part")["operator"].nunique() if len(table) else pd.Series(dtype=int)
    if (shared > 1).any():
        return None, "Some packs were shared between technicians, so that no pack belongs to one."
    try:
        return components.nested_gauge(table), ""
    except ValueError as problem:
        return None, _said(problem)


def _table(readings: Sequence[Reading], *, part: str) -> pd.DataFrame:
    return pd.DataFrame(
        {
            "part": [getattr(reading, part) for reading in readings],
            "operator": [reading.technician for reading in readings],
            "value": [reading.value for reading in readings],
        }
    )


def _said(problem: ValueError) -> str:
    return f"These data do not allow it: {problem}"


def _modes(results: Sequence[Result]) -> dict[str, Counter]:
    found: dict[str, Counter] = defaultdict(Counter)
    for result in results:
        found[result.tested_by.name]["+".join(result.modes) or "none"] += 1
    return dict(sorted(found.items()))
