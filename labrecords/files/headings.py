"""Headings of columns: what they say a column holds, and in which unit, by general words of the trade."""

import re
from dataclasses import dataclass

from labrecords.rules import labels

_WORDS = {
    "force": "force load kraft fuerza forza",
    "displacement": "displacement extension elongation travel position stroke distance separation crosshead "
    "disp displ ext pos weg traverse",
    "time": "time elapsed zeit temps tiempo tempo",
}
_ROLE_OF_WORD = {word: role for role, words in _WORDS.items() for word in words.split()}
# A column headed with one of these holds something computed or set, not the trace.
_OTHER = frozenset(
    {
        "max",
        "maximum",
        "peak",
        "min",
        "mean",
        "average",
        "avg",
        "rate",
        "speed",
        "velocity",
        "stress",
        "strain",
    }
    | {"strength", "energy", "work", "width", "temperature", "humidity"}
)

_SPELLINGS = {
    "force": {
        "N": "n newton newtons",
        "cN": "cn centinewton",
        "mN": "millinewton",
        "kN": "kn kilonewton",
        "lbf": "lbf lb-f lb lbs pound pounds pound-force",
        "ozf": "ozf oz",
        "gf": "gf g-f g gram grams gram-force",
        "kgf": "kgf kg-f kg kp kilogram kilograms",
    },
    "displacement": {
        "mm": "mm millimetre millimetres millimeter millimeters",
        "cm": "cm centimetre centimetres centimeter centimeters",
        "m": "m metre metres meter meters",
        "in": 'in inch inches in. "',
        "µm": "µm μm um",
    },
    "time": {
        "s": "s sec secs second seconds sec.",
        "min": "min mins minute minutes min.",
        "ms": "ms msec millisecond milliseconds",
    },
}
_UNIT_OF_SPELLING = {
    spelling: (role, unit)
    for role, units in _SPELLINGS.items()
    for unit, spellings in units.items()
    for spelling in spellings.split()
}
UNITS = {role: tuple(units) for role, units in _SPELLINGS.items()}
# Units of mass that people write for the force of that mass; said aloud when they are taken so.
MASSES = frozenset({"lb", "lbs", "pound", "pounds", "oz", "g", "gram", "grams", "kg", "kilogram", "kilograms"})

LONGEST = 200  # characters of a heading that are looked at

_BRACKETS = re.compile(r"[(\[{<]([^()\[\]{}<>]*)[)\]}>]")
_AFTER_SIGN = re.compile(r"(.*?)\s*[/,:]\s*(\S+)\s*")
_LAST_WORD = re.compile(r"(.*\S)[\s_]+(\S+)\s*")
_CAMEL = re.compile(r"(?<=[a-z])(?=[A-Z])")


@dataclass(frozen=True)
class Heading:
    """What is written over a column.

    text : as written; role : displacement, force, time or None; unit : known unit or None; said : the unit as
    written; by_words : the role stands in words rather than following from the unit.
    """

    text: str
    role: str | None
    unit: str | None
    said: str
    by_words: bool = True

    @property
    def mark(self) -> tuple[str | None, str | None]:
        """Role and unit as said: two tables with the same marks are read in the same way."""
        return self.role, self.unit or self.said or None


def heading(text: str, unit_text: str = "") -> Heading:
    """Heading of a column from its name, and from the cell of a separate row of units if there is one.

    >>> heading("Force (N)").mark, heading("Grip travel", "[in]").mark
    (('force', 'N'), ('displacement', 'in'))
    """
    text = text[:LONGEST]
    name, said = _parted(labels.without(text).strip())
    said = bare(unit_text) or said
    unit_role, unit = unit_of(said)
    roles = _roles(name)
    if not roles:
        role = None if _words(name) & _OTHER else unit_role
        return Heading(text, role, unit if role else None, said, by_words=False)
    role = unit_role if unit_role in roles else roles[0]
    return Heading(text, role, unit if role == unit_role else None, said)


def unit_of(text: str) -> tuple[str | None, str | None]:
    """Role and unit of a unit as written, or (None, None).

    >>> unit_of("lbs"), unit_of("mN"), unit_of("MN")
    (('force', 'lbf'), ('force', 'mN'), (None, None))
    """
    if text == "mN":  # beside meganewton, only the case of the letters tells
        return "force", "mN"
    return _UNIT_OF_SPELLING.get(text.strip().casefold(), (None, None))


def is_per_width(said: str) -> bool:
    """Whether a unit as written is a force per width, such as N/15 mm.

    >>> is_per_width("lbf/in"), is_per_width("N")
    (True, False)
    """
    force, _, width = said.partition("/")
    return bool(width) and unit_of(force)[0] == "force"


def bare(cell: str) -> str:
    """A unit cell without its brackets.

    >>> bare("[lbf]")
    'lbf'
    """
    match = _BRACKETS.fullmatch(cell.strip())
    return match.group(1).strip() if match else cell.strip()


def has_role_word(text: str) -> bool:
    """Whether any word in the text names a force, a displacement or a time."""
    return bool(_roles(text))


def _parted(text: str) -> tuple[str, str]:
    """Name and unit as written in one cell."""
    brackets = list(_BRACKETS.finditer(text))
    if brackets:
        units = [found for found in brackets if unit_of(found.group(1))[1]]
        chosen = (units or brackets)[-1]
        return text[: chosen.start()] + " " + text[chosen.end() :], chosen.group(1).strip()
    for pattern in (_AFTER_SIGN, _LAST_WORD):
        match = pattern.fullmatch(text)
        if match and unit_of(match.group(2))[0] in _roles(match.group(1)):
            return match.group(1), match.group(2)
    return text, ""


def _roles(text: str) -> list[str]:
    words = _split_words(text)
    if _OTHER.intersection(words):
        return []
    return [_ROLE_OF_WORD[word] for word in words if word in _ROLE_OF_WORD]


def _words(text: str) -> frozenset[str]:
    return frozenset(_split_words(text))


def _split_words(text: str) -> list[str]:
    return re.findall(r"[^\W\d_]+", _CAMEL.sub(" ", text).casefold())
