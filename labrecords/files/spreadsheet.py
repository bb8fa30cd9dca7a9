"""Rows as CSV (RFC 4180, UTF-8) that a spreadsheet reads and does not run."""

import base64
import csv
import io
import re
from collections.abc import Iterable, Sequence

# A spreadsheet runs a cell that begins with one of these; numbers keep their sign, texts get an apostrophe.
STARTS_A_FORMULA = ("=", "+", "-", "@", "\t", "\r", "\n")
NUMBER = re.compile(r"[+-]?(?:[0-9]+(?:\.[0-9]*)?|\.[0-9]+)(?:[eE][+-]?[0-9]+)?")


def cell(value: object) -> str:
    """A cell that no spreadsheet runs.

    >>> cell("=1+1"), cell("-12.5")
    ("'=1+1", '-12.5')
    """
    text = "" if value is None else str(value)
    if text.startswith(STARTS_A_FORMULA) and not NUMBER.fullmatch(text):
        return "'" + text
    return text


def written(rows: Iterable[Sequence[object]]) -> bytes:
    """Rows as CSV, every cell made safe for spreadsheets."""
    out = io.StringIO()
    csv.writer(out, lineterminator="\r\n").writerows([cell(value) for value in row] for row in rows)
    return out.getvalue().encode()


# How a page writes numbers, and how a program reads them: a true minus sign, and narrow spaces between thousands.
AS_READ_BY_PROGRAMS = str.maketrans({"\u2212": "-", "\u202f": ""})


def address(columns: Sequence[str], rows: Iterable[Sequence[str]]) -> str:
    """A table as shown on a page, as an address that holds its CSV itself.

    >>> address(["lot", "mean"], [["A", "\u22121.25"]])
    'data:text/csv;charset=utf-8;base64,bG90LG1lYW4NCkEsLTEuMjUNCg=='
    """
    plain = [[text.translate(AS_READ_BY_PROGRAMS) for text in row] for row in rows]
    content = written([columns, *plain])
    return f"data:text/csv;charset=utf-8;base64,{base64.b64encode(content).decode()}"
