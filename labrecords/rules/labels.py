"""Label codes of specimens and equipment: what a scanner reads and what a person types."""

import re
from dataclasses import dataclass

from stdnum.iso7064 import mod_37_36

KINDS = {
    "SP": "specimen",
    "PK": "pack",
    "LT": "lot",
    "TS": "tester",
    "LC": "load cell",
    "WG": "width gauge",
    "SC": "strip cutter",
    "RS": "room sensor",
    "CM": "check mass",
    "RF": "reference strips",
    "PB": "person's badge",
}
DIGITS = 6
MOST = 999_999_999

# People and word processors write more than one dash; file names often carry an underscore for it.
_GAP = r"[ _\-\u2010-\u2013\u2212]{0,3}"
_CODE = re.compile(rf"(?<![^\W_])([A-Za-z]{{2}}){_GAP}([0-9]{{6,9}}){_GAP}([0-9A-Za-z])(?![^\W_])")


class LabelProblem(ValueError):
    """A text that is not a label code; its message is a sentence to show."""


@dataclass(frozen=True)
class Label:
    """A label code: its kind (a key of KINDS), its number, and the text people read."""

    kind: str
    number: int
    text: str

    @property
    def encoded(self) -> str:
        """The same code as it stands in the bar code, without hyphens.

        >>> parse(label("SP", 123)).encoded
        'SP000123N'
        """
        return self.text.replace("-", "")

    def __str__(self) -> str:
        return self.text


def label(kind: str, number: int) -> str:
    """Label code with its check character (ISO 7064 mod 37,36 over prefix and digits).

    >>> label("SP", 123)
    'SP-000123-N'
    """
    if kind not in KINDS:
        raise LabelProblem(_unknown(kind))
    if not 0 < number <= MOST:
        raise LabelProblem(f"A label number lies between 1 and {MOST}; {number} does not.")
    digits = f"{number:0{DIGITS}d}"
    return f"{kind}-{digits}-{mod_37_36.calc_check_digit(kind + digits)}"


def parse(text: str) -> Label:
    """Label of a scanned or typed text, whatever its case, blanks and hyphens.

    >>> parse(" sp 000123 n ")
    Label(kind='SP', number=123, text='SP-000123-N')
    """
    match = _CODE.fullmatch(text.strip())
    if match is None:
        raise LabelProblem(f"“{_short(text)}” is not a label code. A code looks like {label('SP', 123)}.")
    kind, digits, check = (part.upper() for part in match.groups())
    if kind not in KINDS:
        raise LabelProblem(_unknown(kind))
    found = _canonical(kind, digits, check)
    if found is None:
        raise LabelProblem(
            f"Read the label again: the last character of “{_short(text)}” does not fit the others, "
            "so at least one character was misread."
        )
    return found


def read(text: str) -> Label | None:
    """The label that a text is, as `parse`; None for any other text.

    >>> read("sp 000123 n").text, read("a pouch")
    ('SP-000123-N', None)
    """
    try:
        return parse(text)
    except LabelProblem:
        return None


def find(text: str, kind: str | None = None) -> tuple[Label, ...]:
    """All valid label codes inside a longer text such as a file name, each once, in their order.

    >>> [str(found) for found in find("run 7 SP-000123-N_repeat.csv")]
    ['SP-000123-N']
    """
    if kind is not None and kind not in KINDS:
        raise LabelProblem(_unknown(kind))
    found = (_canonical(*(part.upper() for part in match.groups())) for match in _CODE.finditer(text))
    wanted = (one for one in found if one is not None and kind in (None, one.kind))
    return tuple(dict.fromkeys(wanted))


def without(text: str) -> str:
    """The text with its valid label codes taken out, so that the rest of a heading can be read as words.

    >>> without("Force SP_000123_N (lbf)")
    'Force  (lbf)'
    """
    return _CODE.sub(lambda match: "" if find(match.group()) else match.group(), text)


def _canonical(kind: str, digits: str, check: str) -> Label | None:
    """The label, if it is exactly one that `label` would have printed."""
    number = int(digits)
    if kind not in KINDS or number == 0:
        return None
    text = label(kind, number)
    return Label(kind, number, text) if text == f"{kind}-{digits}-{check}" else None


def _unknown(kind: str) -> str:
    known = ", ".join(f"{code} ({name})" for code, name in KINDS.items())
    return f"“{_short(kind)}” is not a kind of label. The kinds are {known}. Check which label was read."


def _short(text: str) -> str:
    return text if len(text) <= 40 else text[:39] + "…"
