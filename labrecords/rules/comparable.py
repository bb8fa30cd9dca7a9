"""Whether two groups of results may be laid side by side, and what differs between them, the weightiest first."""

from collections.abc import Mapping
from dataclasses import dataclass

BREAKS, MATTERS, NOTE = "breaks comparison", "may matter", "to be noted"
WEIGHTS = (BREAKS, MATTERS, NOTE)
# What a difference in each does to a force. common practice, no source
WEIGHT_OF = {
    "Technique": BREAKS,
    "Grip separation rate": BREAKS,
    "Specimen width": BREAKS,
    "Averaging rule": BREAKS,
    "Initial grip separation": MATTERS,
    "Conditioning": MATTERS,
    "Webs in the grips": MATTERS,
    "Pulled from": MATTERS,
    "Machine direction": MATTERS,
    "Sampling rate": MATTERS,
    "Filter": MATTERS,
    "Load cell": MATTERS,
    "Calibration of the cell": MATTERS,
    "Sealing": MATTERS,
    "Cutter": MATTERS,
    "Humidity": MATTERS,
    "Arm": MATTERS,
    "Position": MATTERS,
}
WHY = {
    "Technique": "how the tail is held decides how much of the force goes into bending the webs",
    "Grip separation rate": "the force grows or falls with the speed of the pull",
    "Specimen width": "a force belongs to the width over which it was taken",
    "Averaging rule": "another span of the same curve has another mean",
}


@dataclass(frozen=True)
class Difference:
    """One thing that differs: its label, what each has, and how much it weighs."""

    label: str
    one: str
    other: str
    weight: str
    why: str


def differences(one: Mapping[str, str], other: Mapping[str, str]) -> tuple[Difference, ...]:
    """Everything that differs, the weightiest first and otherwise in the order in which it is told.

    >>> one, other = {"Person": "Runa", "Technique": "A"}, {"Person": "Timo", "Technique": "C"}
    >>> [found.weight for found in differences(one, other)]
    ['breaks comparison', 'to be noted']
    """
    labels = [*one, *(label for label in other if label not in one)]
    found = [
        Difference(label, one.get(label, "none"), other.get(label, "none"), weight_of(label), WHY.get(label, ""))
        for label in labels
        if one.get(label, "none") != other.get(label, "none")
    ]
    return tuple(sorted(found, key=lambda item: WEIGHTS.index(item.weight)))


def weight_of(label: str) -> str:
    """How much a difference in this weighs.

    >>> weight_of("Technique")
    'breaks comparison'
    """
    return WEIGHT_OF.get(label, NOTE)
