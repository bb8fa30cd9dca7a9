"""Two values for one specimen, as the refusal of the second one keeps them."""

from dataclasses import dataclass

from labrecords.models import Refusal, User

from . import values
from .access import NotFound

CONFLICT = "specimen-done"


@dataclass(frozen=True)
class Conflict:
    """The second entry's refusal, and both values in words; without them where the reader may yet decide on one."""

    refusal: Refusal
    specimen: str
    kept: str
    sent: str


def conflict(refusal_id, *, reader: User) -> Conflict:
    """The two values of a refused second entry. Raises NotFound where there is no such refusal."""
    found = Refusal.objects.select_related("study", "specimen", "run", "by").filter(pk=refusal_id).first()
    if found is None or found.specimen is None or CONFLICT not in found.codes:
        raise NotFound(str(refusal_id))
    label = found.specimen.label
    [shown] = values.without_values([found], reader=reader)
    answer = shown.answers[found.codes.index(CONFLICT)]
    facts = answer["facts"]
    return Conflict(shown, label, facts.get("result", answer["why"]), facts.get("sent", answer["why"]))
