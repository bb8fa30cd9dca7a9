"""Protocols: whether a version may be put to the client, be answered, and whether the set-up may be locked on it."""

from collections.abc import Mapping
from dataclasses import dataclass

from .answers import Answer

CLIENT, NOBODY = "client", "nobody"
AGREEMENTS = {
    CLIENT: "the client agrees before the set-up is locked",
    NOBODY: "nobody else is asked",
}


@dataclass(frozen=True)
class Standing:
    """How the newest version of a protocol stands beside the plan."""

    version: int = 0  # 0: none yet
    same: bool = False  # it says what the plan says now
    agreed: bool | None = None  # None: not answered


def check_put(standing: Standing, *, agreement: str) -> list[Answer]:
    """Whether the plan as it stands may be put to the client as the next version."""
    if agreement != CLIENT:
        return [Answer("protocol-not-asked", "By the plan nobody else is asked to agree.")]
    if standing.same and standing.agreed is not False:
        said = "waits for an answer" if standing.agreed is None else "is agreed"
        return [Answer("protocol-unchanged", f"Version {standing.version} says the same, and {said}.")]
    return []


def check_answer(*, version: int, newest: int, answered: bool, draft: bool) -> list[Answer]:
    """Whether a version may be answered."""
    if answered:
        return [Answer("already-decided", f"Version {version} has been answered.")]
    if version != newest:
        return [Answer("protocol-replaced", f"Version {version} was replaced by version {newest}.")]
    return [] if draft else [Answer("protocol-replaced", "The study is no longer a draft.")]


def check_lock(standing: Standing, *, agreement: str) -> list[Answer]:
    """Whether the client agreed to what is about to be locked."""
    if agreement != CLIENT or (standing.same and standing.agreed):
        return []
    return [Answer("protocol-not-agreed", _why_not(standing), {"version": str(standing.version)})]


def _why_not(standing: Standing) -> str:
    if not standing.version:
        return "No version of the protocol has been put to the client."
    if not standing.same:
        return f"The plan is no longer what version {standing.version} of the protocol says."
    if standing.agreed is None:
        return f"Version {standing.version} waits for the client's answer."
    return f"The client did not agree to version {standing.version}."


def changed(before: Mapping[str, str], after: Mapping[str, str]) -> list[tuple[str, str, str]]:
    """What reads otherwise in the later of two versions: name, before, after; "none" where it is missing.

    >>> changed({"Rate": "11 in/min", "Filter": "none"}, {"Rate": "12 in/min", "Filter": "none"})
    [('Rate', '11 in/min', '12 in/min')]
    """
    names = dict.fromkeys([*before, *after])
    rows = ((name, before.get(name, "none"), after.get(name, "none")) for name in names)
    return [row for row in rows if row[1] != row[2]]
