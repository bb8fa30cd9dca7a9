"""Whether a person may record results with a technique on a day."""

from collections.abc import Iterable
from datetime import date

from .answers import Answer
from .calibration import written
from .dates import months_after
from .facts import Authorisation, Validation
from .series import technique_words


def check_authorised(
    authorisations: Iterable[Authorisation],
    *,
    person: str,
    technique: str,
    on: date,
    disuse_months: int = 0,
    validation: Validation | None = None,
) -> list[Answer]:
    """Some authorisation for this technique holds on that day, and has not lapsed with disuse.

    Whoever takes part in a validation study needs none there: the study is to show whether they get one.
    """
    if validation is not None and validation.takes_part:
        return []
    held = [item for item in authorisations if item.technique == technique]
    if any(holds(item, on=on, disuse_months=disuse_months) for item in held):
        return []
    named = f"technique {technique_words(technique)}"
    if not held:
        why = f"{person} has no authorisation for {named} of this method version."
    elif any(holds(item, on=on) for item in held):
        why = (
            f"{person}'s authorisation for {named} lapsed after {disuse_months} months without a result: it was last "
            f"used, or given, on {written(max(_since(item) for item in held))}."
        )
    else:
        last = max(last_day(item) for item in held)
        why = f"{person}'s authorisation for {named} does not cover {written(on)}"
        why += f": it ended on {written(last)}." if last < on else "."
    return [Answer("not-authorised", why, {"person": person, "technique": technique, "on": on.isoformat()})]


def holds(item: Authorisation, *, on: date, disuse_months: int = 0) -> bool:
    """Whether an authorisation holds on a day."""
    return item.from_on <= on <= last_day(item, disuse_months=disuse_months)


def last_day(item: Authorisation, *, disuse_months: int = 0) -> date:
    """The last day on which an authorisation holds: by its date, its withdrawal, or for want of use."""
    ends = [item.until_on]
    if item.withdrawn_from is not None:
        ends.append(date.fromordinal(item.withdrawn_from.toordinal() - 1))
    if disuse_months:
        ends.append(months_after(_since(item), disuse_months))
    return min(ends)


def _since(item: Authorisation) -> date:
    return max(item.from_on, item.last_used or item.from_on)
