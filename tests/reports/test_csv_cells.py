"""Every CSV: no text in it is run by a spreadsheet, and every number comes back as the very number it was."""

import base64
import csv
import io
import math
import pathlib
from decimal import Decimal

import pytest
from hypothesis import given
from hypothesis import strategies as st

import labrecords
from labrecords.files import spreadsheet

RUN = ("=", "+", "-", "@", "\t", "\r", "\n")
SIGNS = st.sampled_from([*"=+-@\t\r\n\"',;|1.e_ é", "cmd", "nan", "inf"])
TEXTS = st.one_of(st.lists(SIGNS).map("".join), st.text(st.characters(exclude_categories=("Cs",))))


def live(text: str) -> bool:
    """Whether a spreadsheet would run a cell: it begins as a formula does, and is no number (by another reader)."""
    try:
        Decimal(text)
    except ArithmeticError:
        return text.startswith(RUN)
    return text.startswith(RUN) and not (text.isascii() and text[-1].isdigit() and "_" not in text and text[0] in "+-")


def read(written: bytes) -> list[list[str]]:
    return list(csv.reader(io.StringIO(written.decode(), newline="")))


@given(st.lists(st.lists(TEXTS, min_size=1, max_size=4), min_size=1, max_size=4))
def test_no_text_is_run_and_none_is_lost(rows):
    back = read(spreadsheet.written(rows))
    assert not [cell for row in back for cell in row if live(cell)]
    plain = [
        [cell[1:] if cell != text and cell.startswith("'") else cell for cell, text in zip(*pair, strict=True)]
        for pair in zip(back, rows, strict=True)
    ]
    assert plain == rows


@given(st.floats(allow_nan=False, allow_infinity=False))
def test_a_measured_number_comes_back_exactly(value):
    ((cell,),) = read(spreadsheet.written([[repr(value)]]))
    assert math.copysign(1, float(cell)) == math.copysign(1, value)
    assert float(cell) == value


@given(st.decimals(allow_nan=False, allow_infinity=False, places=9, min_value=-(10**9), max_value=10**9))
def test_a_kept_decimal_comes_back_exactly(value):
    ((cell,),) = read(spreadsheet.written([[value]]))
    assert Decimal(cell) == value


@pytest.mark.parametrize("text", ["-12.5", "+3", "-1e-9", "-.5"])
def test_a_number_keeps_its_sign(text):
    assert read(spreadsheet.written([[text]])) == [[text]]


@pytest.mark.parametrize("text", ["-inf", "+nan", "-1_000", "\t1", "-١", "-1+1", "\n=1", "+1-cmd|x"])
def test_what_only_looks_like_a_number_is_text(text):
    assert read(spreadsheet.written([[text]])) == [["'" + text]]


def test_control_an_unescaped_writer_is_caught():
    out = io.StringIO()
    csv.writer(out).writerow(["=1+1", "-12.5", "@x"])
    assert [live(cell) for cell in read(out.getvalue().encode())[0]] == [True, False, True]


def test_the_data_of_a_figure_are_numbers_again_and_are_not_run():
    rows = [["=lot", "\u221212\u202f345.678", "+1.5"], ["A\u202fB, C", "no value", "-x"]]
    head, _, content = spreadsheet.address(["Lot", "Mean", "Change"], rows).partition(",")
    assert head == "data:text/csv;charset=utf-8;base64"
    back = read(base64.b64decode(content))
    assert back == [["Lot", "Mean", "Change"], ["'=lot", "-12345.678", "+1.5"], ["AB, C", "no value", "'-x"]]


def test_there_is_one_writer_of_csv():
    source = pathlib.Path(labrecords.__file__).parent
    writers = {
        path.name
        for path in source.rglob("*.py")
        if any(w in path.read_text() for w in ("csv.writer", "DictWriter", "to_csv("))
    }
    assert writers == {"spreadsheet.py"}
