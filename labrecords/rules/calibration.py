"""Whether equipment may give a result on the day of a test."""

from datetime import date

from .answers import Answer
from .facts import Equipment


def written(day: date) -> str:
    """A date with its month in letters, which reads the same everywhere.

    >>> written(date(2026, 3, 4))
    '4 March 2026'
    """
    return f"{day.day} {day:%B %Y}"


def check_equipment(item: Equipment, *, on: date) -> list[Answer]:
    """In service, and in calibration through the end of its due date, on the day of the test."""
    return _in_service(item) + _in_calibration(item, on)


def _in_service(item: Equipment) -> list[Answer]:
    if item.status == "in service":
        return []
    why = f"{item.name} ({item.label}) is {item.status}."
    if item.status in ("adjusted", "repaired"):
        why = f"{item.name} ({item.label}) has been {item.status} and not yet been put back in service."
    return [Answer("out-of-service", why, {"item": item.label, "status": item.status})]


def _in_calibration(item: Equipment, on: date) -> list[Answer]:
    calibration = item.calibration
    if not item.calibrated:
        return []
    facts = {"item": item.label, "on": on.isoformat()}
    if calibration is None:
        why = f"{item.name} ({item.label}) has no reviewed calibration performed on or before {written(on)}."
        return [Answer("not-calibrated", why, facts)]
    facts |= {"certificate": calibration.certificate, "due": calibration.due_on.isoformat()}
    if not calibration.passed:
        why = (
            f"{item.name} ({item.label}) failed its calibration of {written(calibration.performed_on)} "
            f"(certificate {calibration.certificate})."
        )
        return [Answer("calibration-failed", why, facts)]
    if calibration.due_on < on:
        why = f"{item.name} ({item.label}) was due on {written(calibration.due_on)}; the test is of {written(on)}."
        return [Answer("calibration-overdue", why, facts)]
    return []
