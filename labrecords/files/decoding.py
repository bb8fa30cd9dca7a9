"""From the bytes of a file to its lines of text; what is not plain text is refused here."""

import codecs
import re
from collections.abc import Sequence
from dataclasses import dataclass

from .problems import FileProblem

CAP = 20_000_000
LONGEST_LINE = 20_000
MOST_LINES = 1_000_000

_KNOWN = {
    b"PK\x03\x04": "a spreadsheet workbook or zip archive",
    b"\xd0\xcf\x11\xe0": "an old spreadsheet workbook",
    b"%PDF": "a PDF",
    b"\x89PNG": "a picture",
    b"\xff\xd8\xff": "a picture",
    b"GIF8": "a picture",
    b"\x1f\x8b": "a compressed file",
    b"BZh": "a compressed file",
    b"7z\xbc\xaf": "a compressed file",
    b"\xfd7zXZ": "a compressed file",
    b"\x7fELF": "a program",
    b"SQLite format 3": "a database",
}
_BOMS = {codecs.BOM_UTF8: "utf-8", codecs.BOM_UTF16_LE: "utf-16-le", codecs.BOM_UTF16_BE: "utf-16-be"}
_MANY_RETURNS = re.compile(r"(?<!\r)\r+\n")
_CONTROLS = re.compile(r"[\x00-\x08\x0b\x0e-\x1f\x7f]")
_REORDERING = re.compile("[\u200e\u200f\u202a-\u202e\u2066-\u2069]")
# What a header in Windows' western encoding can hold beside letters; anything else means another encoding.
_WESTERN = frozenset("\u00a0°±²³µ·×÷½¼¾§‘’“”–—…")
# Blanks that group digits or hold a unit to its number, the true minus, and form feeds of old print-outs.
_PLAIN = str.maketrans({"\u00a0": " ", "\u202f": " ", "\u2009": " ", "\f": " ", "\u2212": "-", "\ufeff": None})


@dataclass(frozen=True)
class Text:
    """Lines of a file without their ends, and the encoding they were found in."""

    lines: tuple[str, ...]
    encoding: str


def decode(data: bytes, *, cap: int = CAP) -> Text:
    """Lines of a trace file.

    UTF-8 with or without mark, UTF-16 with mark, else Windows' western encoding if every character of it is
    one that a header would hold; the caller says so. Raises FileProblem.
    """
    _refuse_by_size(data, cap)
    _refuse_known(data)
    _refuse_long_lines(_split_bytes(data), most=4 * LONGEST_LINE)  # before any slow work on the text
    _refuse_many_lines(data)
    text, encoding = _text(data)
    _refuse_controls(text)
    lines = _split(text.rstrip("\x1a"))
    _refuse_long_lines(lines)
    if not text.isascii() or "\f" in text:
        lines = [line.translate(_PLAIN) for line in lines]
    return Text(tuple(lines), encoding)


def _refuse_by_size(data: bytes, cap: int) -> None:
    if len(data) > cap:
        raise FileProblem(
            "too-large",
            f"The file is {len(data) / 1e6:.1f} MB; a trace file is at most {cap / 1e6:g} MB. "
            "Export fewer specimens into one file, or at a lower sampling rate.",
        )
    if not data.strip():
        raise FileProblem("empty", "The file is empty. Export it again from the tester.")


def _refuse_known(data: bytes) -> None:
    for start, what in _KNOWN.items():
        if data.startswith(start):
            raise FileProblem("binary", f"The file is {what}, not text. Export the trace as delimited text (CSV).")


def _refuse_many_lines(data: bytes) -> None:
    count = data.count(b"\n") + data.count(b"\r")
    if count > 2 * MOST_LINES:  # a line may end in two bytes
        raise FileProblem(
            "too-large",
            f"The file has more than {MOST_LINES} lines. Export fewer specimens into one file.",
        )


def _text(data: bytes) -> tuple[str, str]:
    if data.startswith((codecs.BOM_UTF32_LE, codecs.BOM_UTF32_BE)):
        raise FileProblem("encoding", "The file is text in UTF-32. Export it as UTF-8.")
    for mark, encoding in _BOMS.items():
        if data.startswith(mark):
            return _strict(data[len(mark) :], encoding), encoding
    if b"\x00" in data:
        line = data[: data.index(b"\x00")].count(b"\n") + 1
        raise FileProblem(
            "binary",
            f"Line {line} holds NUL bytes, so the file is not plain text. Export the trace as CSV in UTF-8.",
            line,
        )
    try:
        return data.decode("utf-8"), "utf-8"
    except UnicodeDecodeError as error:
        return _western(data, error), "cp1252"


def _strict(data: bytes, encoding: str) -> str:
    try:
        return data.decode(encoding)
    except UnicodeDecodeError as error:
        raise FileProblem(
            "encoding",
            f"The file starts as {encoding.upper()} text but is damaged after byte {error.start}. Export it again.",
        ) from error


def _western(data: bytes, error: UnicodeDecodeError) -> str:
    try:
        text = data.decode("cp1252")
    except UnicodeDecodeError:
        text = ""
    if not text or any(not (c.isascii() or c.isalpha() or c in _WESTERN) for c in text):
        line = data[: error.start].count(b"\n") + 1
        raise FileProblem(
            "encoding", f"Line {line} holds bytes that are not text in UTF-8. Export the file as UTF-8.", line
        )
    return text


def _refuse_controls(text: str) -> None:
    if not text.strip():
        raise FileProblem("empty", "The file holds only blanks. Export it again from the tester.")
    if found := _CONTROLS.search(text.rstrip("\x1a")):
        line = _line_of(text, found.start())
        raise FileProblem(
            "binary",
            f"Line {line} holds control characters, so the file is not plain text. Export it as CSV.",
            line,
        )
    if found := _REORDERING.search(text):
        line = _line_of(text, found.start())
        raise FileProblem(
            "encoding",
            f"Line {line} holds hidden characters that change the direction of reading. "
            "Remove them at the source and export the file again.",
            line,
        )


def _line_of(text: str, place: int) -> int:
    return len(_split(text[:place]))


def _split_bytes(data: bytes) -> list[bytes]:
    return data.replace(b"\r\n", b"\n").replace(b"\r", b"\n").split(b"\n")


def _split(text: str) -> list[str]:
    """Lines, whatever ends them; a file that went through two programs has CR CR LF."""
    if "\r\r\n" in text:
        text = _MANY_RETURNS.sub("\n", text)
    return text.replace("\r\n", "\n").replace("\r", "\n").split("\n")


def _refuse_long_lines(lines: Sequence[str | bytes], *, most: int = LONGEST_LINE) -> None:
    longest = max(map(len, lines))
    if longest > most:
        number = next(number for number, line in enumerate(lines, start=1) if len(line) == longest)
        raise FileProblem(
            "too-wide",
            f"Line {number} is {longest} characters long; a row of a trace has at most {LONGEST_LINE}. "
            "Export one specimen, or fewer, into one file.",
            number,
        )
