"""Tolerance bounds of a group, at the coverage and confidence of the plan; or why there is none."""

import math
from collections import defaultdict
from collections.abc import Sequence
from dataclasses import dataclass
from decimal import Decimal
from typing import TYPE_CHECKING

from labrecords.models import Study
from labrecords.rules import bound_rule
from labrecords.stats import normality, tolerance

if TYPE_CHECKING:
    from .numbers import Line

# A strip's value, and how it is censored: "", "below" or "above" what could be measured.
Strip = tuple[Decimal | None, str]


@dataclass(frozen=True)
class Bound:
    """A one-sided tolerance bound, how it came about, and what it says in words; or why there is none."""

    value: float | None
    words: str


def tolerance_bound(study: Study, counting: Sequence["Line"], *, side: str, whole_packs: bool) -> Bound:
    """The lower or upper tolerance bound of a group, on the model that the study's rule chooses.

    Once some values could not be measured it comes from order statistics, since a model would pretend to know them.
    Where several strips come from one pack, each pack speaks with the strip
    nearest the limit: its weakest for a lower bound, its strongest for an upper one.
    """
    strips = [(line.specimen.pack_id, strip(line)) for line in counting]
    units = _one_of_each_pack(strips, side) if whole_packs else [value for _, value in strips]
    censored = any(end for _, end in units)
    model = bound_rule.ORDER if censored else chosen_model(study.bound_rule, [float(value) for value, _ in units])
    try:
        value = _computed(study, units, side=side, model=model)
    except ValueError:
        return Bound(None, _too_few(len(units), model, censored))
    if value is None:
        return Bound(None, "none: all values are equal, so how far others scatter is not known")
    if side == "lower" and value <= 0:
        return Bound(None, "none: the values are too few, or scatter too much, to promise any strength")
    words = "from the order of the values, without a model" if model == bound_rule.ORDER else model
    return Bound(value, f"{words}, {len(units)} {_unit_words(side, whole_packs)}")


def chosen_model(rule: str, known: Sequence[float]) -> str:
    """The model on which a bound of these values rests, by the rule."""
    logs = [math.log(value) for value in known] if known and min(known) > 0 else []
    return bound_rule.choose(rule, plain=_shape(known), logs=_shape(logs))


def _shape(known: Sequence[float]) -> float | None:
    if len(known) < bound_rule.FEWEST or min(known) == max(known):
        return None
    return normality.anderson_darling(known).p_value


def strip(line: "Line") -> Strip:
    """The value of a strip and how it is censored; one that could not be measured stands at the end it lies beyond."""
    result = line.result
    return (result.censored_at if result.censored else result.strength), result.censored


def _unit_words(side: str, whole_packs: bool) -> str:
    if not whole_packs:
        return "values"
    return f"packs, each by its {'weakest' if side == 'lower' else 'strongest'} strip"


def _computed(study: Study, units: Sequence[Strip], *, side: str, model: str) -> float | None:
    claim = {"coverage": float(study.coverage), "confidence": float(study.confidence)}
    if model == bound_rule.ORDER:
        return _by_order(units, side=side, **claim)
    known = [float(value) for value, _ in units]
    if len(known) > 1 and min(known) == max(known):
        return None
    bound = tolerance.lower_bound if side == "lower" else tolerance.upper_bound
    return bound(known, **claim, model="lognormal" if model == bound_rule.LOGNORMAL else "normal").bound


def _by_order(units: Sequence[Strip], *, side: str, **claim: float) -> float:
    """From order statistics. One beyond an end stands at that end where that can only make the bound more careful."""
    sign, near = (1, "below") if side == "lower" else (-1, "above")
    known = [sign * float(_at_its_end(unit)) for unit in units if unit[1] != near]
    beyond = sum(end == near for _, end in units)
    return sign * tolerance.order_statistic_bound(known, below=beyond, **claim).bound


def _at_its_end(unit: Strip) -> Decimal:
    return unit[0] if unit[0] is not None else Decimal(0)


def _one_of_each_pack(strips: Sequence[tuple[object, Strip]], side: str) -> list[Strip]:
    packs = defaultdict(list)
    for pack, value in strips:
        packs[pack].append(value)
    if side == "lower":
        return [min(values, key=lambda unit: (unit[1] != "below", _at_its_end(unit))) for values in packs.values()]
    return [max(values, key=lambda unit: (unit[1] == "above", _at_its_end(unit))) for values in packs.values()]


def _too_few(n: int, model: str, censored: bool) -> str:
    if model == bound_rule.ORDER:
        beyond = ", and some could not be measured" if censored else ""
        return f"none: {n} values are too few for a bound without a model{beyond}"
    return f"none: {n} values are too few for a bound"
