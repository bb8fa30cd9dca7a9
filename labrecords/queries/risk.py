"""What a reviewer looks at first: values near a limit, and everything that did not go by itself."""

from collections.abc import Iterator
from dataclasses import dataclass
from decimal import Decimal

from labrecords.models import Entry, Study
from labrecords.rules.risk import near

from . import corrections, numbers, reports, values

NOTICED = {
    "factor-of-ten": "About ten times the others or a tenth, and confirmed",
    "unusual-value": "Far from the others, and confirmed",
    "odd-trace": "The trace looked odd, and was confirmed",
    "same-value-again": "The same value typed three times running",
}
MARKS = ("not-as-drawn", "below-verified", "above-verified", "above-capacity", "opened-before-test")


@dataclass(frozen=True)
class Look:
    """One thing to look at, in words, with the labels of the specimens it is about."""

    words: str
    labels: tuple[str, ...]


def of(study: Study) -> list[Look]:
    """Everything to look at first in a study, in a fixed number of queries; empty where all went by itself."""
    lines = [line for group in numbers.study_numbers(study) for line in group.lines]
    found = [
        *_near(study, lines),
        *_noticed(study, lines),
        _look("Corrected after it was kept", [one.result.specimen.label for one in corrections.made_in(study)]),
        _look("A correction waits", [one.result.specimen.label for one in corrections.waiting(study)]),
        _look("Kept under a deviation", [one.result.specimen.label for one in reports.deviations(study)]),
        _look("Void", [line.specimen.label for line in lines if line.void]),
        _look("Marked", [line.specimen.label for line in lines if line.counts and _marked(line)]),
        _look("Entered by somebody else than pulled it", [line.specimen.label for line in lines if _by_others(line)]),
    ]
    return [look for look in found if look.labels]


def _look(words: str, labels: list[str]) -> Look:
    return Look(words, tuple(sorted(set(labels))))


def _near(study: Study, lines) -> Iterator[Look]:
    share = Decimal(repr(study.budget.share)) if study.budget else None
    for limit, value in values.limits(study):
        labels = [
            line.specimen.label
            for line in lines
            if line.strength is not None and near(line.strength, limit=value, share=share)
        ]
        yield _look(f"Near the limit {limit.get_side_display()} {limit.value.normalize():f} {limit.unit}", labels)


def _noticed(study: Study, lines) -> Iterator[Look]:
    """What was confirmed or noted as it was entered; nothing of a result that waits for a decision."""
    counting = {line.specimen.label for line in lines if line.counts}
    entries = Entry.objects.filter(result__specimen__study=study).exclude(noticed=[])
    found = list(entries.values_list("result__specimen__label", "noticed"))
    for code, words in NOTICED.items():
        yield _look(words, [label for label, noticed in found if code in noticed and label in counting])


def _marked(line) -> bool:
    return any(mark in MARKS for mark in line.result.marks)


def _by_others(line) -> bool:
    return line.result is not None and line.result.entered_by_id != line.result.tested_by_id
