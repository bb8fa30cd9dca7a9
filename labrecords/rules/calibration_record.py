"""What the points of a calibration say: its verified range, its errors as found, and whether they fit the outcome."""

from collections.abc import Sequence
from dataclasses import dataclass

from .answers import Answer
from .verified_range import E4_ERROR_PERCENT, ISO_CLASSES, Point, largest_error_percent, points_of, verified_range

Rows = Sequence[Sequence[str]]


@dataclass(frozen=True)
class Judged:
    """What follows from the points: columns of the record, what stands against it, and what to bear in mind."""

    columns: dict[str, float | bool | None]
    answers: tuple[Answer, ...]
    notes: tuple[str, ...] = ()


def judge(
    *,
    as_found: Rows,
    as_left: Rows,
    rule: str,
    resolution_n: float | None,
    capacity_n: float | None,
    passed: bool,
    was_verified: tuple[float, float] | None,
) -> Judged:
    """Judge the points by the rule; with no rule or no points nothing follows from them.

    Rows are numbers as texts, in newtons, the applied force first. Errors as found are judged over the range to
    which the item was verified before, since results were taken there; over all points where it was not.
    """
    found, left = points_of(as_found), points_of(as_left or as_found)
    if not rule or not left:
        return Judged({}, ())
    answers = _beyond(found + left, capacity_n)
    held = verified_range(left, resolution_n=resolution_n, rule=rule)
    if passed and held.low_n is None:
        why = f"By {rule} no force is verified with these points, and the outcome is stated as within tolerance."
        answers.append(Answer("points-disagree", why, {"rule": rule}))
    columns: dict[str, float | bool | None] = {"verified_low_n": held.low_n, "verified_high_n": held.high_n}
    error = _error_as_found(found, was_verified)
    if error is not None:
        columns |= {"as_found_error_percent": error, "as_found_within": abs(error) <= _allowed(rule)}
    return Judged(columns, tuple(answers), held.notes)


def _beyond(points: Sequence[Point], capacity_n: float | None) -> list[Answer]:
    beyond = [point.applied for point in points if capacity_n is not None and point.applied > capacity_n * (1 + 1e-9)]
    if not beyond:
        return []
    why = f"{max(beyond):g} N was applied, and the capacity is {capacity_n:g} N."
    return [Answer("beyond-capacity", why, {"applied_n": f"{max(beyond):g}"})]


def _error_as_found(found: Sequence[Point], was_verified: tuple[float, float] | None) -> float | None:
    if not found:
        return None
    low, high = was_verified or (found[0].applied, found[-1].applied)
    return largest_error_percent(found, low_n=low, high_n=high)


def _allowed(rule: str) -> float:
    return E4_ERROR_PERCENT if rule.startswith("E4") else ISO_CLASSES[rule.removeprefix("class ")][0]
