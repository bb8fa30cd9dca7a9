"""A window study's numbers as they are printed."""

from typing import Any

from labrecords.models import Study
from labrecords.queries.limit_choices import Choice
from labrecords.queries.windows import Cell, Place

from .digits import fixed, lower, mean, signed, spread, upper
from .printed import group_words

MODEL_FEWEST = 0.001


def cell_words(study: Study, cell: Cell, place: Place) -> dict[str, Any]:
    """One setting at one place: the study's own words for the group, and what the window adds."""
    decimals, found = study.setup.decimals, cell.found
    pooled = place.pooled.get(cell.setting.label)
    return {
        "setting": cell.setting,
        "acceptable": cell.acceptable,
        "words": group_words(study, found),
        "packs": str(len(cell.packs)) if cell.packs is not None else "not stated",
        "mean": mean(cell.summary.mean, decimals) if cell.summary else "not stated",
        "sd": spread(cell.summary.sd) if cell.summary else "not stated",
        "lower": "none" if found.bound.value is None else lower(found.bound.value, decimals),
        "upper": _upper(found, decimals),
        "bound_words": found.bound.words,
        "pooled": lower(pooled.lower, decimals) if pooled else "none",
        "normality": probability(cell.shape.p_value) if cell.shape else "not tested",
        "modes": ", ".join(f"{mode} {count}" for mode, count in cell.modes) or "none yet",
    }


def _upper(found, decimals: int) -> str:
    bound = found.upper_bound
    return "none" if bound is None or bound.value is None else upper(bound.value, decimals)


def probability(p: float) -> str:
    """A p as it is printed: p 0.034, or p below 0.001.

    >>> probability(0.0342), probability(0.00002)
    ('p 0.034', 'p below 0.001')
    """
    return f"p {p:.3f}" if p >= MODEL_FEWEST else f"p below {MODEL_FEWEST}"


def against_words(study: Study, place: Place) -> list[dict[str, str]]:
    """Each setting against nominal, with Dunnett's simultaneous intervals."""
    if place.against_nominal is None:
        return []
    more = study.setup.decimals + 1
    return [
        {
            "setting": row.first,
            "difference": signed(row.difference, more),
            "low": signed(row.interval.low, more),
            "high": signed(row.interval.high, more),
            "p": probability(row.p_value),
            "said": _against(row),
        }
        for row in place.against_nominal.comparisons
    ]


def _against(row) -> str:
    if row.interval.low > 0:
        return "stronger than nominal"
    if row.interval.high < 0:
        return "weaker than nominal"
    return "no difference shown, which does not show that there is none"


def spread_words(place: Place) -> str:
    """Whether the settings scatter alike, in a sentence."""
    found = place.spreads
    if found is None:
        return ""
    said = (
        "The settings do not scatter alike, so pooled bounds hide the one that scatters most"
        if found.p_value < 0.05
        else "No difference in scatter between the settings is shown"
    )
    freedom = f"{found.df[0]} and {found.df[1]} degrees of freedom"
    return f"{said} (Brown-Forsythe, F {found.statistic:.2f}, {freedom}, {probability(found.p_value)})."


def curve_words(place: Place) -> str:
    """How the curve was fitted, and whether it fits, in a sentence."""
    found = place.curve
    if found is None:
        return ""
    shape = {1: "A straight line", 2: "A parabola"}[found.degree]
    said = f"{shape} in {place.axis.label}: residual SD {spread(found.residual_sd)}, R squared {found.r_squared:.2f}."
    lack = found.lack_of_fit
    if lack is None:
        return f"{said} Whether it fits cannot be judged with so few settings."
    fits = "It misses the settings' means" if lack.p_value < 0.05 else "No lack of fit is shown"
    return f"{said} {fits} ({probability(lack.p_value)})."


def choice_words(study: Study, choice: Choice, side: str) -> dict[str, Any]:
    """One number that might be taken as a limit, and what it would mean."""
    more = study.setup.decimals + 1
    known, found = choice.value is not None, choice.capability
    return {
        "words": choice.words,
        "proposed": choice.proposed,
        "value": (lower if side == "lower" else upper)(choice.value, more) if known else "none",
        "outside": f"{choice.outside} of {choice.total}" if known else "",
        "index": fixed(found.index, 2) if found else "",
        "index_bound": fixed(found.index_lower_bound, 2) if found else "",
    }
