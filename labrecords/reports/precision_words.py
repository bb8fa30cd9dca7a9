"""The precision of a method in one laboratory, as it is printed."""

from collections import Counter
from collections.abc import Mapping
from typing import Any

from labrecords.models import Study
from labrecords.queries.precision import MaterialPrecision, StudyPrecision
from labrecords.stats.components import CrossedGauge
from labrecords.stats.gauge_estimates import GaugeComponents

from .digits import fixed, signed
from .window_words import probability

COMPONENTS = {
    "repeatability": "Repeatability, strips of one part by one technician",
    "operator": "Between technicians",
    "interaction": "Technician by material",
    "part": "Between parts",
    "grr": "Technicians and repeatability together",
    "total": "All together",
}


def material_words(study: Study, material: MaterialPrecision) -> dict[str, Any]:
    """One material: its precision and limits, and each technician's h and k."""
    found, more = material.found, study.setup.decimals + 2
    if found is None:
        return {"label": material.label, "why_not": material.why_not}
    return {
        "label": material.label,
        "mean": fixed(found.mean, more),
        "s_r": fixed(found.s_r, more),
        "s_between": fixed(found.s_L, more),
        "s_R": fixed(found.s_R, more),
        "r": fixed(found.r_limit, more),
        "R": fixed(found.R_limit, more),
        "replicates": found.replicates,
        "h_critical": fixed(found.h_critical, 2),
        "k_critical": fixed(found.k_critical, 2),
        "cochran": _cochran(material),
        "rows": [_technician(material, place, more) for place in range(len(found.laboratories))],
        "said": _consistency(material),
    }


def _technician(material: MaterialPrecision, place: int, more: int) -> dict[str, Any]:
    found = material.found
    return {
        "name": found.laboratories[place],
        "mean": fixed(found.cell_means[place], more),
        "sd": fixed(found.cell_sds[place], more),
        "h": signed(found.h[place], 2),
        "k": fixed(found.k[place], 2),
        "h_beyond": place in found.h_beyond,
        "k_beyond": place in found.k_beyond,
    }


def _consistency(material: MaterialPrecision) -> str:
    found = material.found
    apart = [str(found.laboratories[place]) for place in found.h_beyond]
    wide = [str(found.laboratories[place]) for place in found.k_beyond]
    said = []
    if apart:
        said.append(f"{' and '.join(apart)} reads apart from the others (h beyond {fixed(found.h_critical, 2)}).")
    if wide:
        said.append(f"{' and '.join(wide)} scatters more than the others (k beyond {fixed(found.k_critical, 2)}).")
    if not said:
        return "No technician stands out by h or k."
    return " ".join([*said, "Ask what was done otherwise; nobody's values are left out for standing out."])


def _cochran(material: MaterialPrecision) -> str:
    found = material.cochran
    said = "above" if found.beyond else "not above"
    return f"Cochran's C {found.statistic:.4f}, {said} {found.critical:.3f} (5 %)."


def gauge_words(study: Study, found: GaugeComponents | None) -> list[dict[str, str]]:
    """The variance components, each as a standard deviation with its interval."""
    if found is None:
        return []
    more = study.setup.decimals + 2
    return [
        _component(found, name, words, more)
        for name, words in COMPONENTS.items()
        if getattr(found, name, None) is not None
    ]


def _component(found: GaugeComponents, name: str, words: str, more: int) -> dict[str, str]:
    interval = found.intervals.get(name)
    ends = [max(0.0, end) ** 0.5 for end in interval] if interval else []
    return {
        "label": words,
        "variance": f"{getattr(found, name):.5g}",
        "sd": fixed(getattr(found, name) ** 0.5, more),
        "low": fixed(ends[0], more) if ends else "not known",
        "high": fixed(ends[1], more) if ends else "not known",
    }


def handbook_line(found: GaugeComponents | None) -> str:
    """The gauge handbook's figures, as a secondary line."""
    if found is None:
        return ""
    categories = "none" if found.distinct_categories is None else str(found.distinct_categories)
    return (
        f"By the measurement-systems handbook (AIAG, 4th edition): {found.percent_study:.2f} % of the study's "
        f"variation, distinct categories {categories}. Both depend on how far the materials of this study lie apart."
    )


def chosen(found: CrossedGauge | None) -> GaugeComponents | None:
    """The components that are shown: pooled with the interaction where that is so small that it is taken as none."""
    return found.pooled if found is not None and found.pooling_suggested else found


def interaction_words(found: CrossedGauge | None) -> str:
    """Whether technicians differ alike on all materials."""
    row = next((row for row in found.anova if row.source == "interaction"), None) if found else None
    if row is None or row.p is None:
        return ""
    said = "Technicians do not differ alike on all materials" if row.p < 0.05 else "No interaction is shown"
    return f"{said} (technician by material, F {row.F:.3f}, {probability(row.p)}).{_pooled(found)}"


def _pooled(found: CrossedGauge) -> str:
    return " It is so small that it is counted as repeatability here." if found.pooling_suggested else ""


def mode_rows(modes: Mapping[str, Counter]) -> tuple[list[str], list[tuple[str, list[int]]]]:
    """Failure modes by technician: the modes seen, and each technician's counts."""
    seen = sorted({mode for counts in modes.values() for mode in counts})
    return seen, [(name, [counts[mode] for mode in seen]) for name, counts in modes.items()]


def unmeasured_words(found: StudyPrecision) -> str:
    """Values left out because they are not known."""
    if not found.unmeasured:
        return ""
    said = "result is" if found.unmeasured == 1 else "results are"
    return (
        f"{found.unmeasured} {said} known only to lie beyond what could be measured: they have no place in a variance."
    )
