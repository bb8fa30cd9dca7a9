"""Whether a person may record results with a technique on a day."""

from collections.abc import Iterable
from datetime import date

from .answers import Answer
from .calibration import written
from .facts import Authorisation
from .series import technique_words


def check_authorised(authorisations: Iterable[Authorisation], *, person: str, technique: str, on: date) -> list[Answer]:
    """Some authorisation for this technique holds on that day."""
    held = [item for item in authorisations if item.technique == technique]
    if any(_holds(item, on) for item in held):
        return []
    if held:
        last = max(_last_day(item) for item in held)
        why = f"{person}'s authorisation for technique {technique_words(technique)} does not cover {written(on)}"
        why += f": it ended on {written(last)}." if last < on else "."
    else:
        why = f"{person} has no authorisation for technique {technique_words(technique)} of this method version."
    return [Answer("not-authorised", why, {"person": person, "technique": technique, "on": on.isoformat()})]


def _holds(item: Authorisation, on: date) -> bool:
    withdrawn = item.withdrawn_from is not None and item.withdrawn_from <= on
    return item.from_on <= on <= item.until_on and not withdrawn


def _last_day(item: Authorisation) -> date:
    if item.withdrawn_from is None:
        return item.until_on
    return min(item.until_on, date.fromordinal(item.withdrawn_from.toordinal() - 1))
