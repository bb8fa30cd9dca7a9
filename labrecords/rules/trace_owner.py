"""Whose a trace file is that came by itself: of the one study whose specimens it names, or nobody's yet."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass


@dataclass(frozen=True)
class Owner:
    """The code of the study, or None and why it is not known."""

    study: str | None
    why: str = ""


def owner(named: Sequence[str], studies: Mapping[str, str]) -> Owner:
    """Whose a file is that names these specimens; `studies` has the study's code of those that there are.

    >>> owner(["SP-000123-N"], {"SP-000123-N": "S-2026-0004"})
    Owner(study='S-2026-0004', why='')
    """
    if not named:
        return Owner(None, "Neither the file nor its name has the code of a specimen.")
    unknown = [label for label in named if label not in studies]
    if unknown:
        return Owner(None, f"There is no specimen {', '.join(unknown)}.")
    found = sorted({studies[label] for label in named})
    if len(found) > 1:
        return Owner(None, f"It names specimens of several studies: {', '.join(found)}.")
    return Owner(found[0])
