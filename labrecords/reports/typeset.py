"""The report's PDF: set in memory, tagged, archival, the same bytes for the same input."""

import hashlib
import json
import re
from collections.abc import Mapping
from datetime import date
from pathlib import Path, PurePosixPath
from typing import Any

from labrecords.charts.fonts import measured

from . import check_code, shape

STANDARDS = (
    "a-3a",
    "ua-1",
)  # archival with attachments, and accessible; refused together by no version so far
_HERE = Path(__file__).parent
_FONTS = _HERE.parents[1] / "static" / "fonts" / "ttf"
_SOURCES = {"main.typ": "report.typ", "parts.typ": "parts.typ"}
_KINDS = {".csv": "text/csv", ".json": "application/json", ".txt": "text/plain", ".svg": "image/svg+xml"}
_MONTHS = ("Jan", "Feb", "Mar", "Apr", "May", "Jun", "Jul", "Aug", "Sep", "Oct", "Nov", "Dec")


def pdf(
    content: Mapping[str, Any],
    figures: Mapping[str, bytes],
    *,
    attachments: Mapping[str, bytes] | None = None,
    check: str = "",
) -> bytes:
    """Set a report and give the bytes of its PDF (PDF/A-3a and PDF/UA-1 at once).

    `content` has the shape that `shape.check` asks for; `figures` maps the names in it to SVG bytes;
    `attachments` maps file names to the bytes carried inside the PDF; `check` is the address at which its reader
    may ask whether it still holds, drawn as a QR code. Every text is data: nothing in it is read as a command.
    Raises ValueError when something is missing or cannot be printed.
    """
    import typst

    shape.check(content)
    files = _files(content, figures, attachments or {}, check)
    try:
        return typst.compile(
            files,
            format="pdf",
            pdf_standards=list(STANDARDS),
            font_paths=fonts(),
            ignore_system_fonts=True,
        )
    except typst.TypstError as error:
        raise ValueError(_advice(str(error))) from error


def _advice(error: str) -> str:
    if "could not be displayed" in error:
        folder = _FONTS.relative_to(_HERE.parents[1]).as_posix()
        return f"No font at hand has a sign of this report: put one into {folder} that has it. ({error})"
    return f"The report could not be set: {error}"


def _files(
    content: Mapping[str, Any], figures: Mapping[str, bytes], attachments: Mapping[str, bytes], check: str
) -> dict[str, bytes]:
    names = [figure["name"] for figure in content["figures"]]
    lacking = [name for name in names if name not in figures]
    if lacking:
        raise ValueError(f"The drawing of figure {', '.join(lacking)} is missing: draw it first.")
    about = {"date": _day(str(content["issued_on"])), "attached": _attached(attachments), "check": check}
    files = {name: (_HERE / source).read_bytes() for name, source in _SOURCES.items()}
    files |= {"content.json": _json(content), "about.json": _json(about)}
    files |= {"check.svg": check_code.drawing(check)} if check else {}
    # Numbered, not named: a name out of a record never becomes a path.
    files |= {f"figure-{number}.svg": figures[name] for number, name in enumerate(names)}
    return files | {f"attached-{number}": attachments[name] for number, name in enumerate(sorted(attachments))}


def _json(value: Any) -> bytes:
    return json.dumps(value, ensure_ascii=False, allow_nan=False, sort_keys=True).encode()


def _attached(attachments: Mapping[str, bytes]) -> list[dict[str, str]]:
    return [_attachment(name, attachments[name]) for name in sorted(attachments)]


def _attachment(name: str, body: bytes) -> dict[str, str]:
    if not re.fullmatch(r"[A-Za-z0-9][A-Za-z0-9._-]*", name):
        raise ValueError(f"The attachment {name!r} needs a name of letters, digits, dots and hyphens.")
    kind = _KINDS.get(PurePosixPath(name).suffix, "application/octet-stream")
    return {"name": name, "kind": kind, "sha256": hashlib.sha256(body).hexdigest()}


def _day(text: str) -> list[int]:
    """Read the date of issue, "2026-11-25" or "25 Nov 2026": the archive format wants it as a date.

    >>> _day("25 Nov 2026")
    [2026, 11, 25]
    """
    found = re.fullmatch(r"(\d{1,2}) ([A-Z][a-z]{2})[a-z]* (\d{4})", text)
    try:
        day = date(int(found[3]), _MONTHS.index(found[2]) + 1, int(found[1])) if found else date.fromisoformat(text)
    except ValueError:
        raise ValueError(f"issued_on is {text!r}: write it as 2026-11-25 or 25 Nov 2026.") from None
    return [day.year, day.month, day.day]


def fonts() -> list[str]:
    """The report's own fonts, and the figures' for the signs that these lack: the same on every machine."""
    own = [_FONTS] if _FONTS.is_dir() else []
    return [str(place) for place in (*own, *measured())]
