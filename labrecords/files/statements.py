"""What the header lines of a trace file state about the test, by general words of the trade."""

import re
from collections.abc import Iterable

from labrecords.rules import labels

LONGEST = 400  # characters of a header line that are looked at
MOST = 400  # header lines that are looked at

_NUMBER = r"[0-9]+(?:[.,][0-9]+)?|[.,][0-9]+"
_GROUPED = re.compile(r"[1-9][0-9]{0,2},[0-9]{3}")  # 1,234 may be 1.234 or 1234: taken as not stated
_LENGTH = r"mm|cm|inches|inch|in"
_RATE_UNIT = rf"(?P<length>{_LENGTH})\s*(?:/|per\s)\s*(?P<time>minutes?|min|seconds?|sec|s)\b"
_RATES = tuple(
    re.compile(text, re.IGNORECASE)
    for text in (
        rf"(?P<number>{_NUMBER})\s*{_RATE_UNIT}",
        rf"{_RATE_UNIT}\W*?(?P<number>{_NUMBER})(?![\w.,])",
    )
)
_WIDTHS = tuple(
    re.compile(text, re.IGNORECASE)
    for text in (
        rf"(?P<number>{_NUMBER})\s*(?P<length>{_LENGTH})\b(?!\s*(?:/|per))",
        rf"\b(?P<length>{_LENGTH})\b(?!\s*(?:/|per))\W*?(?P<number>{_NUMBER})(?![\w.,])",
    )
)
_TECHNIQUE = re.compile(r"\btechnique\b\W*([abc])\b", re.IGNORECASE)
_DATE = re.compile(r"\b[0-9]{4}-[0-9]{2}-[0-9]{2}(?:[T ][0-9]{2}:[0-9]{2}(?::[0-9]{2})?)?")
_OTHER_DATE = re.compile(r"\bdate\b[^0-9]{0,20}([0-9]{1,2}[./-][0-9]{1,2}[./-][0-9]{2,4})", re.IGNORECASE)
_NAME = re.compile(
    r"\b(?:specimen|sample)(?:\s+(?:id|code|no|nr|number|name|label)\b\.?)?\s*[:=;,|\t]+\s*([^:;|\t]*[^:;|\t\s,])",
    re.IGNORECASE,
)
# Speeds of other movements, and rates that are no speeds.
_OTHER_RATES = re.compile(r"sampl|acqui|data rate|return|approach|preload|pre-load|jog", re.IGNORECASE)
_WORDS_OF_A_HEADER = re.compile(
    r"\b(?:specimen|sample|test|technique|rate|speed|width|date|operator|force|load|displacement|extension|travel|"
    r"position|time|lot|trace|curve|peak|max|min|mean|average|result|comment|remark|note)",
    re.IGNORECASE,
)


def statements(lines: Iterable[str]) -> dict[str, str]:
    """Rate, width, technique, date and specimen as stated; the first statement of each counts.

    >>> statements(["Specimen: SP-000123-N", "Speed;12;in/min", "Specimen width (mm),15"])
    {'specimen': 'SP-000123-N', 'rate': '12 in/min', 'width': '15 mm'}
    """
    found: dict[str, str] = {}
    for line in list(lines)[:MOST]:
        for key, value in _of_line(line[:LONGEST]).items():
            found.setdefault(key, value)
    return found


def all_rates(lines: Iterable[str]) -> tuple[str, ...]:
    """Every different rate stated, so that two that disagree can be pointed out."""
    rates = (_rate(_flat(line[:LONGEST])) for line in list(lines)[:MOST])
    return tuple(dict.fromkeys(rate for rate in rates if rate))


def has_header_words(line: str) -> bool:
    """Whether a line can be the head of a block: a word of the trade, or a label code."""
    return bool(_WORDS_OF_A_HEADER.search(line[:LONGEST]) or labels.find(line[:LONGEST]))


def specimen_name(line: str) -> str | None:
    """Label code in a line, or what stands after the word specimen or sample."""
    if codes := labels.find(line, "SP"):
        return codes[0].text
    match = _NAME.search(line)
    return match.group(1).strip(' "') if match else None


def _of_line(line: str) -> dict[str, str]:
    flat = _flat(line)
    found = {
        "specimen": specimen_name(line),
        "rate": _rate(flat),
        "width": _width(flat),
        "technique": _technique(flat),
        "date": _date(line),
    }
    return {key: value for key, value in found.items() if value}


def _flat(line: str) -> str:
    """The line with separators as blanks; a comma between digits stays, as it may be a decimal sign."""
    return re.sub(r"(?<![0-9]),|,(?![0-9])|[\t;|:=\"]+", " ", line)


def _rate(line: str) -> str | None:
    if not re.search(r"\b(?:rate|speed|velocity)\b", line, re.IGNORECASE) or _OTHER_RATES.search(line):
        return None
    for pattern in _RATES:
        if (match := pattern.search(line)) and not _GROUPED.fullmatch(match["number"]):
            return f"{_point(match['number'])} {_length(match['length'])}/{_time(match['time'])}"
    return None


def _width(line: str) -> str | None:
    if not re.search(r"\bwidth\b", line, re.IGNORECASE) or re.search(r"\bseal width\b", line, re.IGNORECASE):
        return None
    for pattern in _WIDTHS:
        if (match := pattern.search(line)) and not _GROUPED.fullmatch(match["number"]):
            return f"{_point(match['number'])} {_length(match['length'])}"
    return None


def _technique(line: str) -> str | None:
    if match := _TECHNIQUE.search(line):
        return match.group(1).upper()
    if re.search(r"\b(?:technique|tail)\b.*\bunsupported\b", line, re.IGNORECASE):
        return "A"
    return None


def _date(line: str) -> str | None:
    if match := _DATE.search(line):
        return match.group()
    match = _OTHER_DATE.search(line)
    return match.group(1) if match else None


def _point(number: str) -> str:
    return ("0" if number[0] in ".," else "") + number.replace(",", ".")


def _length(text: str) -> str:
    return "in" if text.casefold().startswith("in") else text.casefold()


def _time(text: str) -> str:
    return "min" if text.casefold().startswith("min") else "s"
