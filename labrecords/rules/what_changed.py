"""What differs between two groups of results, what of it cannot be told apart, and what would separate the suspects."""

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass

from .comparable import WEIGHTS, weight_of

ALL, SOME, NOT = "altogether", "in part", "not at all"
MOST_TESTS = 3
DOUBT = 0.05  # from this p up a shift is no reason to hunt. common practice, no source
# Which short test separates a suspect from the others. common practice, no source
TESTS: dict[str, str] = {
    "Load cell": (
        "Hang one check mass on both cells, then pull strips of one lot on both, in random order, the same person."
    ),
    "Tester": "Pull strips of one lot on both testers with one load cell, in random order, the same person.",
    "Calibration of the cell": "Hang a check mass and lay the reading beside the certificates of before and after.",
    "Tested by": "Have both people pull strips of one lot on one tester in one session, in random order.",
    "Cutter": "Cut strips of one lot on both cutters, measure their widths, and pull them in random order.",
    "Cut by": "Have both people cut strips of one lot, measure their widths, and pull them in random order.",
    "Room": "Pull strips of one lot in the room of before and of after, conditioned alike.",
    "Humidity": "Condition strips of one lot at both humidities, and pull them in random order.",
    "Lot": "Pull kept packs of the earlier lot now, beside packs of the later one, in random order.",
    "Sealing": "Have packs sealed at both settings from one roll of each web, and pull them in random order.",
    "Position": "Cut both positions from the same packs, and compare within each pack.",
    "Arm": "Pull packs of both arms from one lot in one session, in random order.",
    "Time since conditioning": "Pull strips of one lot after both times, the same person and tester.",
}


@dataclass(frozen=True)
class Changed:
    """One factor: its levels on each side, how far they differ, and what else changes in step with it."""

    label: str
    before: tuple[str, ...]
    after: tuple[str, ...]
    how: str
    weight: str


def rank(sides: Sequence[bool], factors: Mapping[str, Sequence[str]]) -> tuple[Changed, ...]:
    """Every factor with what it was on each side: what changed altogether first, the weightier before the lighter.

    `sides` says of each result whether it is of the second group; each factor gives its level for each result.

    >>> found = rank([False, False, True], {"Room": ["23 °C", "23 °C", "23 °C"], "Load cell": ["A", "A", "B"]})
    >>> [(one.label, one.how) for one in found]
    [('Load cell', 'altogether'), ('Room', 'not at all')]
    """
    found = [_changed(label, sides, levels) for label, levels in factors.items()]
    return tuple(sorted(found, key=lambda one: ((ALL, SOME, NOT).index(one.how), WEIGHTS.index(one.weight))))


def _changed(label: str, sides: Sequence[bool], levels: Sequence[str]) -> Changed:
    before = _levels(level for level, second in zip(levels, sides, strict=True) if not second)
    after = _levels(level for level, second in zip(levels, sides, strict=True) if second)
    how = ALL if not set(before) & set(after) else NOT if set(before) == set(after) else SOME
    return Changed(label, before, after, how, weight_of(label))


def _levels(levels: Iterable[str]) -> tuple[str, ...]:
    return tuple(dict.fromkeys(levels))


def inseparable(factors: Mapping[str, Sequence[str]]) -> tuple[tuple[str, ...], ...]:
    """Factors that change in step: whoever knows the level of one knows that of the others. One level is no factor.

    >>> inseparable({"Load cell": ["A", "A", "B"], "Tested by": ["R", "R", "T"], "Lot": ["1", "2", "2"]})
    (('Load cell', 'Tested by'),)
    """
    by_partition: dict[tuple[int, ...], list[str]] = {}
    for label, levels in factors.items():
        order = list(dict.fromkeys(levels))
        if len(order) > 1:
            by_partition.setdefault(tuple(order.index(level) for level in levels), []).append(label)
    return tuple(tuple(labels) for labels in by_partition.values() if len(labels) > 1)


def suspects(ranked: Sequence[Changed]) -> list[str]:
    """What changed altogether between the groups; where nothing did, what changed in part."""
    whole = [one.label for one in ranked if one.how == ALL and one.label in TESTS]
    return whole or [one.label for one in ranked if one.how == SOME and one.label in TESTS]


def tests(labels: Sequence[str]) -> list[str]:
    """The two or three short tests that would separate the suspects, the weightiest first."""
    return [TESTS[label] for label in labels][:MOST_TESTS]


def said(ranked: Sequence[Changed]) -> str:
    """What changed, in a sentence that a person can act on."""
    whole = [one.label.lower() for one in ranked if one.how == ALL and one.label in TESTS]
    if not whole:
        return "Nothing on record changed altogether between the two groups: look at what changed in part, and outside."
    if len(whole) == 1:
        return f"One thing changed altogether between the two groups: {whole[0]}. It is the first to look at."
    listed = ", ".join(whole[:-1]) + f" and {whole[-1]}"
    return f"Between the two groups {listed} changed together: these data cannot tell which of them did it."
