"""A process limit that comes of a window study: how it is settled, when it may be proposed, approved and used."""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from decimal import ROUND_CEILING, ROUND_FLOOR, Decimal
from fractions import Fraction

from labrecords.stats import units

from .answers import Answer
from .comparable import BREAKS, Difference
from .study_states import IN_REVIEW, RELEASED, REVIEWED

LOWER, UPPER = "lower", "upper"
PROCESS = "process"
PROPOSED_FROM = (IN_REVIEW, REVIEWED, RELEASED)  # the states of a window study whose testing is finished


@dataclass(frozen=True)
class Demand:
    """A requirement: what use demands, set before the window was looked for."""

    side: str
    value: Decimal
    unit: str


def settle(bound: float, *, side: str, margin_percent: Decimal, decimals: int) -> Decimal:
    """The limit that a bound supports: the bound less (or, for an upper limit, plus) the margin, rounded outwards.

    Rounded outwards, a lower limit stays at or below what the window showed, and an upper one at or above.

    >>> settle(1.2386, side="lower", margin_percent=Decimal(5), decimals=2)
    Decimal('1.17')
    """
    share = margin_percent / 100 * (-1 if side == LOWER else 1)
    exact = Decimal(repr(bound)) * (1 + share)
    return exact.quantize(Decimal(1).scaleb(-decimals), rounding=ROUND_FLOOR if side == LOWER else ROUND_CEILING)


def check_proposal(
    *, state: str, side: str, value: Decimal | None, unit: str, demands: Iterable[Demand], rationale: str
) -> list[Answer]:
    """Every reason against proposing a limit; the value is None where the window gives no bound."""
    answers = []
    if state not in PROPOSED_FROM:
        answers.append(Answer("window-not-tested", f"The window study is {state}."))
    if not rationale.strip():
        answers.append(Answer("words-missing", "Why this limit, and with this margin, was not written down."))
    if value is None:
        answers.append(Answer("no-bound", "No acceptable setting has a tolerance bound on this side."))
        return answers
    if value <= 0:
        answers.append(Answer("no-bound", "With this margin nothing is left of the bound."))
    return answers + [_not_cleared(value, unit, demand) for demand in demands if _misses(side, value, unit, demand)]


def _misses(side: str, value: Decimal, unit: str, demand: Demand) -> bool:
    if demand.side != side:
        return False
    demanded = units.exact(demand.value, demand.unit, unit)
    return Fraction(value) < demanded if side == LOWER else Fraction(value) > demanded


def _not_cleared(value: Decimal, unit: str, demand: Demand) -> Answer:
    words = {LOWER: "at least", UPPER: "at most"}[demand.side]
    why = f"The window supports {value} {unit}; the requirement is {words} {demand.value.normalize():f} {demand.unit}."
    return Answer("requirement-not-cleared", why, {"limit": str(value), "requirement": str(demand.value)})


def check_approval(*, state: str, unchanged: bool, same_person: bool, words: str, name: str) -> list[Answer]:
    """Every reason against approving a proposed limit."""
    answers = []
    if same_person:
        answers.append(Answer("same-person", f"{name} proposed this limit."))
    if state not in (REVIEWED, RELEASED):
        answers.append(Answer("window-not-tested", f"The window study is {state}: its results are not accepted yet."))
    if not unchanged:
        answers.append(Answer("content-changed", "The results that count are no longer those of the proposal."))
    if not words.strip():
        answers.append(Answer("words-missing", "What was looked at was not written down."))
    return answers


def check_use(*, name: str, kind: str, in_force: bool, differs: Sequence[Difference]) -> list[Answer]:
    """Every reason against holding a study's results against a derived limit.

    `differs` is what differs between the set-up of the study and that of the window.
    """
    answers = []
    if kind != PROCESS:
        answers.append(Answer("requirement-derived", f"{name} is a process limit, and the plan takes it for another."))
    if not in_force:
        answers.append(Answer("limit-not-in-force", f"{name} is not approved, or a later version took its place."))
    breaks = [item for item in differs if item.weight == BREAKS]
    if breaks:
        said = "; ".join(f"{item.label.lower()}: {item.one} there, {item.other} here" for item in breaks)
        answers.append(Answer("limit-taken-otherwise", f"{name} was derived with {said}."))
    return answers
