"""Sheets of labels as PDF: a QR code of the code without hyphens, and beside it what people read."""

import io
import json
from collections.abc import Sequence
from itertools import groupby
from pathlib import Path
from typing import Any

import segno

from labrecords.queries.labels import Face
from labrecords.rules.label_sheet import Sheet
from labrecords.rules.scanner_check import ALPHABET

from .typeset import fonts

_SOURCE = Path(__file__).with_name("labels.typ")
_LONGEST = 60  # characters of a line: what is longer would be cut off anyway


def pdf(faces: Sequence[Face], sheet: Sheet, *, left_empty: int, title: str) -> bytes:
    """The labels on their sheets, with the first `left_empty` places of the first sheet left empty."""
    import typst

    laid = {
        "title": title,
        "page": [sheet.width, sheet.height],
        "label": sheet.label,
        "pages": _pages(faces, sheet, left_empty),
    }
    files = {"main.typ": _SOURCE.read_bytes(), "labels.json": json.dumps(laid, sort_keys=True).encode()}
    files |= {f"{face.encoded}.svg": drawing(face.encoded) for face in faces}
    return typst.compile(files, format="pdf", font_paths=fonts(), ignore_system_fonts=True)


def _pages(faces: Sequence[Face], sheet: Sheet, left_empty: int) -> list[list[dict[str, Any]]]:
    placed = [(sheet.place(number), face) for number, face in enumerate(faces, start=left_empty)]
    return [
        [_label(face, left, top) for (_, left, top), face in page]
        for _, page in groupby(placed, key=lambda row: row[0][0])
    ]


def _label(face: Face, left: float, top: float) -> dict[str, Any]:
    lines = [line if len(line) <= _LONGEST else f"{line[: _LONGEST - 1]}…" for line in face.lines if line]
    return {"code": face.code, "image": f"{face.encoded}.svg", "lines": lines, "left": left, "top": top}


def drawing(text: str) -> bytes:
    """A QR code of a label code as SVG, with its quiet zone; a quarter of it may be soiled."""
    out = io.BytesIO()
    segno.make(text, error="q", micro=False).save(out, kind="svg", scale=4, dark="#000", light="#fff", nl=False)
    return out.getvalue()


def alphabet_label() -> str:
    """The label that has every character of label codes, as an address that an image takes."""
    return segno.make(ALPHABET, error="q", micro=False).svg_data_uri(scale=6, border=4, light="#fff")
