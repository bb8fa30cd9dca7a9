"""What a window could give as a limit: the one it proposes, beside what others would take, and what each would mean."""

from collections.abc import Sequence
from dataclasses import dataclass
from decimal import Decimal
from typing import Any

from labrecords.models import SealingSetting
from labrecords.rules import derived_limit
from labrecords.stats import capability
from labrecords.stats.capability_results import OneSidedCapability

from . import windows
from .numbers import Line
from .verdicts import outside
from .windows import Cell, Place, Window

SIDE_WORDS = {"lower": ("weakest", "smallest", "less"), "upper": ("strongest", "largest", "plus")}
HABIT = 3  # standard deviations that habit takes from a mean. common practice, no source


@dataclass(frozen=True)
class Choice:
    """One number that might be taken as a limit, how it comes about, and what it would mean for the data in hand.

    `outside` counts the strips of acceptable settings on its bad side; `capability` is that of the nominal setting's
    packs at the place from which the proposal starts.
    """

    words: str
    value: float | None
    proposed: bool
    outside: int
    total: int
    capability: OneSidedCapability | None


def choices(found: Window, side: str) -> list[Choice]:
    """The bound that the window supports, first, and what else might be taken, each for the same strips."""
    start = windows.extreme(found, side)
    whole = start is not None and not windows.without_bound(found, side)
    numbers = [(_start_words(start, side), _bound(start[1], side) if whole else None)] if start else []
    numbers += [*_each_setting(found, side), *_pooled(found, side), *_habits(start, found, side)]
    strips = windows.strips(found, acceptable=True)
    nominal = start[0].nominal if start else None
    return [
        _choice(words, value, side, strips, nominal, proposed=place == 0 and whole)
        for place, (words, value) in enumerate(numbers)
    ]


def starting_bound(found: Window, side: str) -> tuple[float, str] | None:
    """The bound from which the limit starts and whose it is; None while an acceptable setting lacks one."""
    start = windows.extreme(found, side)
    if start is None or windows.without_bound(found, side):
        return None
    place, cell = start
    return _bound(cell, side), f"{cell.setting.label}, {place.label}"


def settled(found: Window, side: str, margin_percent: Decimal) -> Decimal | None:
    """The limit that the window supports with this margin, rounded outwards to the decimals of the set-up."""
    start = starting_bound(found, side)
    if start is None:
        return None
    decimals = found.study.setup.decimals
    return derived_limit.settle(start[0], side=side, margin_percent=margin_percent, decimals=decimals)


def as_stored(found: Window, side: str) -> dict[str, Any]:
    """The window's numbers and the choices as they stand, to be kept with the proposal."""
    return {
        "coverage": f"{found.study.coverage.normalize():f}",
        "confidence": f"{found.study.confidence.normalize():f}",
        "bound rule": found.study.bound_rule,
        "set-up mark": found.study.mark,
        "cells": [_cell(place, cell, side) for place in found.places for cell in place.cells],
        "choices": [
            {"words": row.words, "value": row.value, "outside": row.outside, "of": row.total}
            for row in choices(found, side)
        ],
        "results": results(found),
    }


def results(found: Window) -> list[str]:
    """The identifiers of every result that counts, in order: what a proposal rests on."""
    return sorted(str(line.result.pk) for line in windows.strips(found))


def _cell(place: Place, cell: Cell, side: str) -> dict[str, Any]:
    bound = windows.side_bound(cell, side)
    return {
        "setting": f"{cell.setting.label}: {cell.setting.words}",
        "place": place.label,
        "acceptable": cell.acceptable,
        "packs": len(cell.packs) if cell.packs is not None else None,
        "mean": cell.summary.mean if cell.summary else None,
        "sd": cell.summary.sd if cell.summary else None,
        "bound": bound.value if bound else None,
        "bound words": bound.words if bound else "",
    }


def _bound(cell: Cell, side: str) -> float | None:
    bound = windows.side_bound(cell, side)
    return bound.value if bound else None


def _start_words(start: tuple[Place, Cell], side: str) -> str:
    place, cell = start
    return f"Tolerance bound of the {SIDE_WORDS[side][0]} acceptable setting: {cell.setting.label}, {place.label}"


def _each_setting(found: Window, side: str) -> list[tuple[str, float | None]]:
    pick = min if side == "lower" else max
    rows = []
    for setting in found.settings:
        cells = [cell for place in found.places for cell in place.cells if cell.setting.pk == setting.pk]
        bounds = [_bound(cell, side) for cell in cells]
        known = [bound for bound in bounds if bound is not None]
        aside = "" if found.acceptable(setting) else ", set aside by what was seen of it"
        value = pick(known) if known and len(known) == len(bounds) else None
        rows.append((f"Bound of {setting.label} alone{aside}", value))
    return rows


def _pooled(found: Window, side: str) -> list[tuple[str, float | None]]:
    pick = min if side == "lower" else max
    labels = {setting.label for setting in found.settings if found.acceptable(setting)}
    bounds = [getattr(bound, side) for place in found.places for name, bound in place.pooled.items() if name in labels]
    words = "Bound from the spread pooled over all settings, which hides a setting that scatters more"
    return [(words, pick(bounds) if bounds and all(place.pooled for place in found.places) else None)]


def _habits(start: tuple[Place, Cell] | None, found: Window, side: str) -> list[tuple[str, float | None]]:
    _, extreme, sign = SIDE_WORDS[side]
    rows = []
    nominal = start[0].nominal if start else None
    if nominal is not None and nominal.summary is not None:
        away = HABIT * nominal.summary.sd * (-1 if side == "lower" else 1)
        rows.append((f"Bare mean of nominal {sign} {HABIT} SD, without confidence", nominal.summary.mean + away))
    known = [float(line.strength) for line in windows.strips(found, acceptable=True) if line.strength is not None]
    if known:
        value = min(known) if side == "lower" else max(known)
        rows.append((f"The {extreme} value that happened to be found", value))
    return rows


def _choice(
    words: str, value: float | None, side: str, strips: Sequence[Line], nominal: Cell | None, *, proposed: bool
) -> Choice:
    if value is None:
        return Choice(words, None, proposed, 0, len(strips), None)
    limit = Decimal(repr(value))
    beyond = sum(outside(line.result, side, limit) for line in strips)
    return Choice(words, value, proposed, beyond, len(strips), _capability(nominal, value, side))


def _capability(nominal: Cell | None, limit: float, side: str) -> OneSidedCapability | None:
    if nominal is None or nominal.setting.kind != SealingSetting.NOMINAL or nominal.summary is None:
        return None
    try:
        return getattr(capability, side)(nominal.packs, limit=limit)
    except ValueError:  # all packs alike, so there is no spread to hold against the limit
        return None
