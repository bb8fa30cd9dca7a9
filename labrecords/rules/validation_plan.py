"""Whether the plan of a validation study says enough before it is locked."""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass

from .answers import Answer

CROSSED, NESTED = "crossed", "nested"
DESIGNS = {
    CROSSED: "crossed: the strips of each pack are dealt out among all",
    NESTED: "nested: each pack goes to one person as a whole",
}
REPEATABILITY, INTERMEDIATE, LIMIT_SHARE, MODES = "repeatability", "intermediate", "limit share", "modes"
KINDS = {
    REPEATABILITY: "repeatability standard deviation, of the mean",
    INTERMEDIATE: "intermediate precision standard deviation, of the mean",
    LIMIT_SHARE: "three intermediate precision standard deviations, of the way from the mean to the nearest limit",
    MODES: "failure modes alike between each person and the others",
}
AT_LEAST = frozenset({MODES})  # of all others the criterion is a most

FEWEST_PEOPLE = 3  # who must agree for a method to be validated; h, k and a spread between people need as many
FEWEST_GROUP = 2  # against whom somebody new is held
FEWEST_EACH = 2  # strips, or packs, that each person pulls of each material


@dataclass(frozen=True)
class Dealt:
    """A group of the plan as it is to be dealt out: its name, its packs and its strips a pack."""

    name: str
    packs: int
    strips_a_pack: int


@dataclass(frozen=True)
class Participant:
    """Somebody who is to pull strips: whether they join a group, and whether they hold an authorisation today."""

    name: str
    joins: bool
    authorised: bool


def check_validation(
    *, design: str, people: Sequence[Participant], groups: Sequence[Dealt], criteria: int, limits: int, shares: bool
) -> list[Answer]:
    """Every reason against locking a validation study.

    `criteria` counts what must be met besides the margin; `shares` tells that one of them is a share of the way to a
    limit, of which the plan has `limits`.
    """
    said = [*_people(people), *(line for group in groups for line in _dealing(design, group, len(people)))]
    if not criteria and not any(person.joins for person in people):
        said.append("Nothing must be met but the margin: a method's precision needs a criterion set beforehand.")
    if shares and not limits:
        said.append("A criterion is a share of the way to a limit, and the plan has no limit.")
    return [Answer("validation-incomplete", why) for why in said]


def _people(people: Sequence[Participant]) -> Iterator[str]:
    group = [person for person in people if not person.joins]
    joining = [person for person in people if person.joins]
    if not joining and len(group) < FEWEST_PEOPLE:
        yield f"The plan names {len(group)} to pull; a method is validated with {FEWEST_PEOPLE} people or more."
    if joining and len(group) < FEWEST_GROUP:
        yield f"Whoever joins is held against {FEWEST_GROUP} people or more; the plan names {len(group)}."
    for person in group if joining else ():
        if not person.authorised:
            yield f"{person.name} is not authorised for this technique, so nobody can be held against them."


def _dealing(design: str, group: Dealt, people: int) -> Iterator[str]:
    if not people:
        return
    strips = group.packs * group.strips_a_pack
    count, what = (group.packs, "packs") if design == NESTED else (strips, "strips")
    if count % people or count // people < FEWEST_EACH:
        yield (
            f"{group.name}: {count} {what} among {people} people. Each gets as many as the others, {FEWEST_EACH} or "
            "more."
        )
