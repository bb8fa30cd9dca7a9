"""Limits as figures draw them, and the sentences about values beyond them."""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from typing import Literal

from .figure import LimitLine
from .words import Number, counted, exact, fixed, fixed_beside

_DASHES = {"requirement": "solid", "process limit": "dash", "alert limit": "dot"}
CENSORED = {
    "below-verified": "below",
    "opened-before-test": "below",
    "above-verified": "above",
    "above-capacity": "above",
}


@dataclass(frozen=True)
class Limit:
    """A limit of one of the three kinds: lower (values must not be under it) or upper."""

    value: Number
    kind: Literal["requirement", "process limit", "alert limit"] = "requirement"
    side: Literal["lower", "upper"] = "lower"

    @property
    def beyond(self) -> str:
        """The word for the wrong side."""
        return "below" if self.side == "lower" else "above"

    @property
    def within(self) -> str:
        """The word for the right side."""
        return "at or above" if self.side == "lower" else "at or below"


@dataclass(frozen=True)
class Value:
    """One value with the specimen's code, the group it belongs to, and its mark if it has one."""

    code: str
    value: Number
    group: str = ""
    mark: str = ""


def judge(item: Value, *, limit: Limit) -> Literal["inside", "outside", "open"]:
    """Say on which side of a limit a value lies; `open` when its mark leaves that unknown.

    >>> judge(Value("SP-1", 0.5, mark="below-verified"), limit=Limit(0.3))
    'open'
    """
    value, edge = exact(item.value), exact(limit.value)
    lower = limit.side == "lower"
    if value == edge and CENSORED.get(item.mark) == limit.beyond:
        return "outside"
    if (value < edge) if lower else (value > edge):
        return "open" if CENSORED.get(item.mark) == ("above" if lower else "below") else "outside"
    return "open" if CENSORED.get(item.mark) == limit.beyond else "inside"


def limit_line(limit: Limit, *, decimals: int, unit: str, axis: str = "y") -> LimitLine:
    """Give the line of a limit, its kind, sign, value and unit written at its end."""
    sign = "≥" if limit.side == "lower" else "≤"
    label = f"{limit.kind}\n{sign} {fixed_beside(limit.value, limit=limit.value, decimals=decimals)} {unit}"
    return LimitLine(float(limit.value), label, _DASHES[limit.kind], axis)


def finding(values: Sequence[Value], *, limit: Limit, unit: str, decimals: int) -> str:
    """Say in one sentence how many values lie beyond the limit."""
    edge = f"the {limit.kind} of {_edge(limit, decimals=decimals)} {unit}"
    sides = [judge(value, limit=limit) for value in values]
    outside, unsure = sides.count("outside"), sides.count("open")
    if outside:
        verb = "is" if outside == 1 else "are"
        return f"{outside} of {counted(len(values), 'value')} {verb} {limit.beyond} {edge}."
    if unsure:
        return f"{unsure} of {counted(len(values), 'value')} cannot be held against {edge}."
    if len(values) == 1:
        return f"The one value is {limit.within} {edge}."
    return f"All {len(values)} values are {limit.within} {edge}."


def beyond(values: Sequence[Value], *, limit: Limit, unit: str, decimals: int) -> tuple[str, ...]:
    """Give the finding about a limit, and a sentence naming every value outside it or not judged."""
    said = finding(values, limit=limit, unit=unit, decimals=decimals)
    outside, unsure = (_names(values, limit=limit, decimals=decimals, side=side) for side in ("outside", "open"))
    sentences = [f"{said[:-1]}: {outside}." if outside else said]
    return (*sentences, f"Not judged, for their marks: {unsure}.") if unsure else tuple(sentences)


def value_text(item: Value, *, decimals: int) -> str:
    """Write a value as its mark allows: "below 0.50", "opened before the test", "above 45.00".

    >>> value_text(Value("SP-1", 0.5, mark="below-verified"), decimals=2)
    'below 0.50'
    """
    return _marked(item.mark, fixed(item.value, decimals=decimals))


def outside_any(item: Value, *, limits: Iterable[Limit]) -> bool:
    """Say whether the value lies outside at least one limit."""
    return any(judge(item, limit=limit) == "outside" for limit in limits)


def _names(values: Iterable[Value], *, limit: Limit, decimals: int, side: str) -> str:
    named = [value for value in values if judge(value, limit=limit) == side]
    return ", ".join(_name(value, limit=limit, decimals=decimals) for value in named)


def _name(item: Value, *, limit: Limit, decimals: int) -> str:
    number = fixed_beside(item.value, limit=limit.value, decimals=decimals)
    place = f" ({item.group})" if item.group else ""
    return f"{item.code} {_marked(item.mark, number)}{place}"


def _marked(mark: str, number: str) -> str:
    if mark == "opened-before-test":
        return "opened before the test"
    return f"{CENSORED[mark]} {number}" if mark in CENSORED else number


def _edge(limit: Limit, *, decimals: int) -> str:
    return fixed_beside(limit.value, limit=limit.value, decimals=decimals)
