"""Codes as people type them: a study, a report, a limit, a run, or what has a label."""

import re
from dataclasses import dataclass

from . import labels

SHORTEST = 2  # characters of a word that is looked for
KINDS = {"S": "study", "R": "report", "L": "limit"}
LABEL_KINDS = {"SP": "specimen", "PK": "pack", "LT": "lot"}
_GAP = r"[\s_\-\u2010-\u2013\u2212]*"
_NUMBERED = re.compile(rf"([A-Za-z]){_GAP}(\d{{4}}){_GAP}(\d{{4,6}})(.*)", re.DOTALL)
_RUN = re.compile(r"\s*(?:/|run|,)\s*(?:run\s*)?(\d{1,4})\s*", re.IGNORECASE)


@dataclass(frozen=True)
class Code:
    """What a code is of (study, report, limit, run, specimen, pack, lot or equipment), as it is written; of a run, its
    study's code and its number."""

    kind: str
    text: str
    number: int = 0


def read(text: str) -> Code | None:
    """The one code that a text is, whatever its case and hyphens; None for any other text.

    >>> read("s20260004"), read("S-2026-0004 run 3").number, read("sp 000123 n").text
    (Code(kind='study', text='S-2026-0004', number=0), 3, 'SP-000123-N')
    """
    label = labels.read(text)
    if label is None:
        return _numbered(text.strip())
    return Code(LABEL_KINDS.get(label.kind, "equipment"), label.text)


def _numbered(text: str) -> Code | None:
    match = _NUMBERED.fullmatch(text)
    kind = KINDS.get(match[1].upper()) if match else None
    if match is None or kind is None:
        return None
    code = f"{match[1].upper()}-{match[2]}-{match[3]}"
    if not match[4]:
        return Code(kind, code)
    run = _RUN.fullmatch(match[4])
    return Code("run", code, int(run[1])) if run and kind == "study" else None


def squeezed(text: str) -> str:
    """A text as it is compared with codes: capitals, without hyphens and blanks.

    >>> squeezed("sp-0001 23")
    'SP000123'
    """
    return re.sub(_GAP, "", text).upper()
