"""Who pulls which strip, and when: drawn by chance, so that no habit of the bench hides behind a person.

Everything is put in the order of SHA-256 of the seed and a name, which anybody can do again by any program.
"""

import hashlib
from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass

from .answers import Answer
from .facts import Validation
from .validation_plan import NESTED


@dataclass(frozen=True)
class Place:
    """A strip dealt to a person, and its number among that person's strips."""

    strip: str
    person: str
    number: int


def draw(
    seed: str, *, design: str, groups: Iterable[Mapping[str, Sequence[str]]], people: Sequence[str]
) -> list[Place]:
    """Deal the strips of every group to the people, and put each one's strips in an order.

    `groups` holds for each group the labels of its strips by the label of their pack. Nested, packs are dealt as they
    are; crossed, the strips of each pack go round, so that a pack with a multiple of the people gives each as many.

    >>> strips = {"PK-1": ["SP-1", "SP-2"], "PK-2": ["SP-3", "SP-4"]}
    >>> [(place.strip, place.person) for place in draw("7", design="crossed", groups=[strips], people=["Ann", "Bo"])]
    [('SP-4', 'Ann'), ('SP-1', 'Ann'), ('SP-3', 'Bo'), ('SP-2', 'Bo')]
    """
    dealt: dict[str, list[str]] = {person: [] for person in sorted(people)}
    for packs in groups:
        for strip, person in _dealt(seed, design, packs, people):
            dealt[person].append(strip)
    return [
        Place(strip, person, number)
        for person, strips in dealt.items()
        for number, strip in enumerate(_mixed(f"{seed} order", strips), start=1)
    ]


def _dealt(
    seed: str, design: str, packs: Mapping[str, Sequence[str]], people: Sequence[str]
) -> Iterator[tuple[str, str]]:
    mixed = _mixed(seed, packs)
    if design == NESTED:
        for pack, person in zip(mixed, _rounds(seed, mixed, people), strict=True):
            yield from ((strip, person) for strip in packs[pack])
        return
    strips = [strip for pack in mixed for strip in _mixed(seed, packs[pack])]
    yield from zip(strips, _rounds(seed, strips, people), strict=True)


def _rounds(seed: str, things: Sequence[str], people: Sequence[str]) -> list[str]:
    """A person for each thing: everybody once, in an order of its own, before anybody again."""
    first = range(0, len(things), len(people))
    rounds = (_mixed(f"{seed} {things[start]}", people) for start in first)
    return [person for people in rounds for person in people][: len(things)]


def _mixed(seed: str, names: Iterable[str]) -> list[str]:
    return sorted(names, key=lambda name: hashlib.sha256(f"{seed} {name}".encode()).digest())


def check_drawn(validation: Validation | None) -> list[Answer]:
    """A validation study is pulled in its drawn order, so the order is there first."""
    if validation is None or validation.drawn:
        return []
    return [Answer("order-not-drawn", "It has not been drawn who pulls which strip, and when.")]


def check_order(validation: Validation | None, *, person: str) -> list[Answer]:
    """Whether a strip is pulled by the person, and at the place, that were drawn."""
    if validation is None or not validation.drawn:
        return []
    if validation.dealt_to != person:
        why = f"The strip was dealt to {validation.dealt_to or 'nobody'}, and {person} pulled it."
        return [Answer("not-as-drawn", why)]
    if validation.ahead:
        count = f"{validation.ahead} strip" + ("s" if validation.ahead > 1 else "")
        return [Answer("not-as-drawn", f"{count} of {person} should have been pulled before it.")]
    return []
