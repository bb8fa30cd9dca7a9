"""One calibration in words: what its certificate says, point by point, and what follows from the points."""

from collections.abc import Callable, Sequence
from datetime import date
from typing import Any

from labrecords.models import Calibration, Equipment
from labrecords.rules.dates import months_after
from labrecords.rules.verified_range import Point, points_of, verified_range
from labrecords.stats.calibration_curve import calibration_curve

NOT_STATED = "not stated"
AS_FOUND = {True: "within tolerance", False: "out of tolerance", None: "not judged: no points, or no rule"}
TYPED = (
    *("certificate", "provider", "accreditation", "performed_on", "due_on", "due_reason", "rule", "verified_low_n"),
    *("verified_high_n", "noise_n", "expanded_uncertainty_percent", "coverage_factor"),
)


def proposal(item: Equipment) -> Callable[[date], date] | None:
    """The due date that the item's interval proposes for a day; None where it has no interval."""
    months = item.interval_months
    return (lambda performed: months_after(performed, months)) if months else None


def of_force(item: Equipment) -> bool:
    """Whether the item measures force, so that its calibration gives a verified range in newtons."""
    return item.kind in Equipment.FORCE


def described(made: Calibration) -> list[dict[str, str]]:
    """What the certificate says, and who recorded and reviewed it."""
    review = getattr(made, "review", None)
    told = [
        ("Certificate", made.certificate),
        ("Calibrated by", f"{made.provider}, {made.accreditation}" if made.accreditation else made.provider),
        ("Performed on", _day(made.performed_on)),
        ("Due on", _day(made.due_on) + (f": {made.due_reason}" if made.due_reason else "")),
        ("As left", "within tolerance" if made.passed else "out of tolerance"),
        ("As found", AS_FOUND[made.as_found_within] + _largest(made)),
        *_of_force(made),
        ("Expanded uncertainty", _uncertainty(made)),
        ("Recorded by", made.by.name),
        ("Reviewed by", f"{review.by.name}: {review.words}" if review else "nobody yet: it does not count"),
    ]
    if made.supersedes:
        told.append(("Supersedes", f"an earlier record of {made.supersedes.certificate}: {made.supersedes_reason}"))
    if hasattr(made, "superseded_by"):
        told.append(("Superseded", f"by a later record: {made.superseded_by.supersedes_reason}"))
    return [{"label": label, "value": value or NOT_STATED} for label, value in told]


def _of_force(made: Calibration) -> list[tuple[str, str]]:
    if not of_force(made.equipment):
        return []
    low, high = made.verified_low_n, made.verified_high_n
    by = f"by {made.rule}, from the points" if made.rule else "as stated"
    return [
        ("Verified range", f"{low:g} to {high:g} N, {by}" if low is not None and high is not None else ""),
        ("Noise of the idle reading", f"{made.noise_n:g} N" if made.noise_n is not None else ""),
    ]


def unit(item: Equipment) -> str:
    """The unit of an item's points, as a caption says it."""
    return "newtons" if of_force(item) else "the item's own unit"


def _day(day: date) -> str:
    return f"{day.day} {day:%B %Y}"


def _largest(made: Calibration) -> str:
    error = made.as_found_error_percent
    return "" if error is None else f"; largest error {error:+.2f} %".replace("-", "−")


def _uncertainty(made: Calibration) -> str:
    share = made.expanded_uncertainty_percent
    return "" if share is None else f"{share:g} % of reading, k = {made.coverage_factor:g}"


def points(made: Calibration) -> list[dict[str, Any]]:
    """Every point: applied, read, error and repeatability, as found and as left."""
    return [
        {
            "when": when,
            "applied": f"{point.applied:g}",
            "readings": ", ".join(f"{reading:g}" for reading in point.readings),
            "error": f"{point.error_percent:.2f}".replace("-", "−"),
            "repeatability": f"{point.repeatability_percent:.2f}",
        }
        for when, rows in (("as found", made.as_found), ("as left", made.as_left))
        for point in points_of(rows)
    ]


def notes(made: Calibration) -> tuple[str, ...]:
    """What to bear in mind of the verified range that the points gave, and the curve through them."""
    points = points_of(made.as_left or made.as_found)
    if not points:
        return ()
    held = verified_range(points, resolution_n=made.equipment.resolution_n, rule=made.rule) if made.rule else None
    return (*(held.notes if held else ()), *_curve(points))


def _curve(points: Sequence[Point]) -> list[str]:
    """A parabola through the points, where there are enough: its bend and scatter show a cell going bad."""
    pairs = [(point.applied, reading) for point in points for reading in point.readings]
    try:
        curve = calibration_curve(*zip(*pairs, strict=True), degree=2)
    except ValueError:
        return []
    zero, gain, bend = (f"{part:.6g}".replace("-", "−") for part in curve.coefficients)
    return [
        f"Curve through the points: reading = {zero} + {gain} F + {bend} F², scatter about it "
        f"{curve.residual_sd:.3g} (standard deviation, {curve.df} degrees of freedom)."
    ]


def as_typed(made: Calibration) -> dict[str, Any]:
    """A record as the form takes it, so that only what was wrong need be typed again."""
    first = {name: getattr(made, name) for name in TYPED} | {"passed": "yes" if made.passed else "no"}
    if made.rule:
        first |= {"verified_low_n": None, "verified_high_n": None}
    for name in ("as_found", "as_left"):
        first[name] = "\n".join(" ".join(row) for row in getattr(made, name))
    return first
