"""Figures of a precision page: h and k in both orders, people's means by material, and the sources of scatter."""

from collections.abc import Iterator, Sequence

from labrecords.charts import consistency, interaction, scatter_parts
from labrecords.charts.figure import Figure
from labrecords.models import Study
from labrecords.queries.precision import MaterialPrecision, StudyPrecision
from labrecords.stats.gauge_estimates import GaugeComponents

from .precision_words import COMPONENTS, chosen, interaction_words

TOTAL = COMPONENTS["total"]
PLAIN = "Each person's means, material by material."


def figures(study: Study, found: StudyPrecision) -> list[Figure]:
    """Whatever the data allow."""
    compared = [material for material in found.materials if material.found is not None]
    drawn = [*_consistency(compared), *_interaction(study, found)]
    for gauge in (chosen(found.crossed), found.nested):
        if gauge is not None:
            drawn.append(_sources(study, gauge))
            break
    return drawn


def _consistency(compared: Sequence[MaterialPrecision]) -> Iterator[Figure]:
    """One level a figure: materials with other numbers of people or strips have levels of their own."""
    for kind in ("h", "k"):
        critical = max((getattr(material.found, f"{kind}_critical") for material in compared), default=None)
        bars = [bar for material in compared for bar in _bars(material, kind)]
        if bars:
            yield consistency.consistency(bars, kind=kind, critical=critical)
            if len(compared) > 1:
                yield consistency.consistency(bars, kind=kind, critical=critical, by=consistency.MATERIALS)


def _bars(material: MaterialPrecision, kind: str) -> Iterator[consistency.Bar]:
    found = material.found
    beyond = getattr(found, f"{kind}_beyond")
    for place, (person, value) in enumerate(zip(found.laboratories, getattr(found, kind), strict=True)):
        yield consistency.Bar(str(person), material.label, value, place in beyond)


def _interaction(study: Study, found: StudyPrecision) -> Iterator[Figure]:
    rows = [interaction.Value(row.technician, row.material, row.value) for row in found.readings]
    people, materials = {row.person for row in rows}, {row.material for row in rows}
    if len(materials) > 1 and 2 <= len(people) <= interaction.MOST:
        said = interaction_words(found.crossed) or PLAIN
        more = study.setup.decimals + 1
        yield interaction.interaction(rows, unit=study.setup.unit, decimals=more, said=said)


def _sources(study: Study, gauge: GaugeComponents) -> Figure:
    rows = [_source(gauge, name, words) for name, words in COMPONENTS.items() if getattr(gauge, name, None) is not None]
    return scatter_parts.scatter_parts(
        rows, unit=study.setup.unit, decimals=study.setup.decimals + 2, confidence=gauge.confidence, total=TOTAL
    )


def _source(gauge: GaugeComponents, name: str, words: str) -> scatter_parts.Source:
    variance, interval = getattr(gauge, name), gauge.intervals.get(name)
    low, high = (max(0.0, end) ** 0.5 for end in interval) if interval else (None, None)
    share = 100 * variance / gauge.total if gauge.total else 0.0
    return scatter_parts.Source(words, variance**0.5, low, high, share)
