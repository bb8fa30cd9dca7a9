"""Bad files: each is refused with one code, one sentence, and the line, and nothing of it is read."""

import codecs
import os
from dataclasses import replace

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from labrecords.files.layout import Series
from labrecords.files.problems import CODES, FileProblem
from labrecords.files.reader import read
from labrecords.files.sniff import sniff

from .shapes import HEAD, body, good, lines

GOOD_LAYOUT = sniff(good()).layout


def problem_of(data, *, layout=None, **options):
    """The problem of a file, sniffed first unless a layout is given."""
    with pytest.raises(FileProblem) as caught:
        read(data, layout or sniff(data, **options).layout, name="trace.csv", **options)
    problem = caught.value
    assert problem.code in CODES
    assert problem.sentence == str(problem)
    assert problem.sentence.endswith(".")
    assert len(problem.sentence) < 300
    if problem.line is not None:
        assert str(problem.line) in problem.sentence
    return problem


class Unreadable(bytes):
    """Bytes that must not be looked into."""

    def decode(self, *args, **kwargs):
        raise AssertionError("decoded")

    split = strip = startswith = replace = decode


def test_a_file_of_50_mb_is_refused_before_it_is_looked_into():
    huge = Unreadable(50_000_000)
    problem = problem_of(huge)
    assert (problem.code, problem.line) == ("too-large", None)
    assert "50.0 MB" in problem.sentence
    assert problem_of(huge, layout=GOOD_LAYOUT).code == "too-large"
    with pytest.raises(AssertionError, match="decoded"):  # a small one is looked into
        sniff(Unreadable(good()))


def test_the_cap_is_a_parameter():
    assert problem_of(good(), cap=100).code == "too-large"
    assert sniff(good(), cap=len(good())).layout == GOOD_LAYOUT


BROKEN_ROWS = {
    "text": ("2.00,abc", "not-a-number", ["column 2", "“abc”"]),
    "text in the first column": ("abc,2.00", "not-a-number", ["column 1", "“abc”"]),
    "only text": ("abc,def", "not-a-number", ["column 1", "“abc”"]),
    "formula": ("2.00,=1+1", "not-a-number", ["column 2", "“=1+1”"]),
    "formula of a command": ("2.00,@SUM(A1)", "not-a-number", ["“@SUM(A1)”"]),
    "true": ("2.00,TRUE", "not-a-number", ["“TRUE”"]),
    "hexadecimal": ("2.00,0x10", "not-a-number", ["“0x10”"]),
    "underscore": ("2.00,1_0", "not-a-number", ["“1_0”"]),
    "other digits": ("2.00,١٢", "not-a-number", ["“١٢”"]),
    "unit in the cell": ("2.00,1.5 N", "not-a-number", ["“1.5 N”"]),
    "two points": ("2.00,1.5.2", "not-a-number", ["“1.5.2”", "without grouping"]),
    "grouping": ('2.00,"1,234"', "not-a-number", ["“1,234”", "without grouping"]),
    "open quote": ('2.00,"1.5', "not-a-number", ["quotation mark"]),
    "nan": ("2.00,nan", "not-finite", ["column 2", "“nan”"]),
    "NaN in both": ("NaN,NaN", "not-finite", ["column 1", "“NaN”"]),
    "infinity": ("2.00,-inf", "not-finite", ["“-inf”"]),
    "word of a spreadsheet": ("2.00,#N/A", "not-finite", ["“#N/A”"]),
    "dash": ("2.00,-", "not-finite", ["“-”"]),
    "overload": ("2.00,OVERLOAD", "not-finite", ["“OVERLOAD”"]),
    "huge exponent": ("2.00,1e999", "not-finite", ["“1e999”"]),
    "large exponent": ("2.00,1e300", "out-of-range", ["1e300 N"]),
    "large displacement": ("2e7,1.0", "out-of-range", ["2e7 mm"]),
    "quoted words": ('"2.00","a, b"', "not-a-number", ["“a, b”"]),
    "a missing cell": ("2.00,", "ragged", ["one number"]),
    "a short row": ("2.00", "ragged", ["one number"]),
    "a long row": ("2.00,1,5", "ragged", ["more cells than the 2 columns"]),
    "falling": ("1.84,1.0", "goes-backwards", ["goes back by 0.06 mm"]),
    "back to the start": ("0.00,1.0", "goes-backwards", ["goes back by 1.9 mm"]),
}


@pytest.mark.parametrize(("text", "code", "words"), BROKEN_ROWS.values(), ids=BROKEN_ROWS)
def test_a_broken_row_names_its_line(text, code, words):
    problem = problem_of(good(replace={20: text}))
    assert (problem.code, problem.line) == (code, 22)
    for word in ["22", *words]:
        assert word in problem.sentence


@pytest.mark.parametrize("text", ["abc,1.0", "0.00,abc", "abc,def", "0.00,=A1", "0.00,"])
@pytest.mark.parametrize("row", [0, 1, 5, 38, 39])
def test_a_broken_row_is_never_taken_for_a_header_or_a_foot(text, row):
    problem = problem_of(good(replace={row: text}))
    assert problem.line == row + 2
    assert problem.code in ("not-a-number", "ragged")


def test_a_broken_row_above_rows_without_headings_is_not_dropped():
    rows = lines()
    data = "\n".join(["x1,0.5", *rows]).encode()
    assert (problem_of(data).code, problem_of(data).line) == ("not-a-number", 1)


@pytest.mark.parametrize("row", [0, 1, 5, 9, 39])
def test_a_broken_row_is_found_where_there_are_no_headings(row):
    rows = lines()
    rows[row] = "0.1,abc"
    problem = problem_of("\n".join(rows).encode())
    assert (problem.code, problem.line) == ("not-a-number", row + 1)


def test_a_broken_row_beside_a_blank_line_is_not_lost():
    rows = lines()
    for text in ("2.0,abc", "nan,1.0", "2.0,"):
        for put in ([text, ""], ["", text]):
            problem = problem_of("\n".join([HEAD, *rows[:20], *put, *rows[21:]]).encode())
            assert problem.line in (22, 23), text


def test_an_empty_cell_is_named_beside_a_column_with_blanks():
    rows = lines("{x:.2f}, {f:.3f} ,1")
    rows[20] = "2.00, ,1"
    problem = problem_of("\n".join([f"{HEAD},Count", *rows]).encode())
    assert (problem.code, problem.line) == ("ragged", 22)
    assert "column 2: a number is missing" in problem.sentence


def test_one_bad_row_in_the_second_specimen_refuses_the_file():
    for text in (
        f"{HEAD}\n{body()}\n\n{HEAD}\n" + "\n".join([*lines()[:30], "3.00,oops", *lines()[31:]]),
        f"{HEAD}\n{body()}\n\n{HEAD}\n" + "\n".join([*lines()[:30], "3.00,nan", *lines()[31:]]),
    ):
        assert problem_of(text.encode()).line == 2 + 40 + 2 + 30
    pairs = lines("{x:.2f},{f:.3f},{x:.2f},{f:.3f}")
    pairs[30] = "3.00,1.0,3.00,"
    problem = problem_of("\n".join([f"{HEAD},{HEAD}", *pairs]).encode())
    assert (problem.code, problem.line) == ("ragged", 32)
    assert "column 4" in problem.sentence


def test_a_displacement_without_its_force_is_a_gap():
    rows = [*lines("{x:.2f},{f:.3f},{x:.2f},{f:.3f}")[:30], *lines("{x:.2f},{f:.3f},{x:.2f},")[30:]]
    problem = problem_of("\n".join([f"{HEAD},{HEAD}", *rows]).encode())
    assert (problem.code, problem.line) == ("ragged", 32)


def test_time_that_falls():
    rows = lines("{t:.3f},{x:.2f},{f:.3f}")
    rows[20] = rows[20].replace("0.400", "0.350")
    problem = problem_of("\n".join(["Time (s),Displacement (mm),Force (N)", *rows]).encode())
    assert (problem.code, problem.line) == ("goes-backwards", 22)
    assert "time goes back by 0.03 s" in problem.sentence


WHOLE = {
    "empty": (b"", "empty", None),
    "blanks": (b" \r\n\t\n", "empty", None),
    "mark alone": (codecs.BOM_UTF8 + b"\n", "empty", None),
    "only a header": (HEAD.encode() + b"\n", "no-table", None),
    "prose": (b"The test was made on Monday.\nIt went well.\n", "no-table", None),
    "one row": (HEAD.encode() + b"\n1.0,2.0\n", "no-table", None),
    "five rows": ("\n".join([HEAD, *lines()[:5]]).encode(), "too-short", 2),
    "bytes of every value": (bytes(range(256)) * 20, "binary", 1),
    "zip": (b"PK\x03\x04" + good(), "binary", None),
    "pdf": (b"%PDF-1.7\n" + good(), "binary", None),
    "picture": (b"\x89PNG\r\n\x1a\n" + good(), "binary", None),
    "NUL in the middle": (good(replace={20: "2.00,\x00"}), "binary", 22),
    "NUL at the end": (good() + b"\x00", "binary", 41),
    "NUL in UTF-16": (
        codecs.BOM_UTF16_LE + good(replace={20: "2.0,\x00"}).decode().encode("utf-16-le"),
        "binary",
        22,
    ),
    "bell": (good(replace={20: "2.00,\x07"}), "binary", 22),
    "UTF-16 without mark": (good().decode().encode("utf-16-le"), "binary", 1),
    "UTF-16 cut short": (codecs.BOM_UTF16_LE + good().decode().encode("utf-16-le")[:-1], "encoding", None),
    "UTF-32": (codecs.BOM_UTF32_LE + good().decode().encode("utf-32-le"), "encoding", None),
    "overlong slash": (b"Test \xc0\xaf\n" + good(), "encoding", 1),
    "bytes of no encoding": (b"Operator \x81\x8d\n" + good(), "encoding", 1),
    "reversed reading": ("Sample \u202e1\n".encode() + good(), "encoding", 1),
    "blank lines by the million": (good() + b"\n" * 5_000_000, "too-large", None),
    "a cell of 10 MB": (good(replace={20: "2.00," + "9" * 10_000_000}), "too-wide", 22),
    "a title of 10 MB": (b"x" * 10_000_000 + b"\n" + good(), "too-wide", 1),
    "3,000 columns": (("\n".join([",".join(["1.5"] * 3000)] * 20)).encode(), "too-wide", 1),
    "comma for both": (
        f"{HEAD}\n".encode() + b"\n".join(b"%d,5,%d,25" % (n, n) for n in range(30)),
        "ambiguous-decimal",
        2,
    ),
    "comma for some": (
        f"{HEAD}\n".encode() + b"\n".join(b"%d,%d,25" % (n, n) for n in range(30)),
        "ambiguous-decimal",
        2,
    ),
    "force per width": (good(head="Displacement (mm),Force (N/15 mm)"), "unit-unknown", None),
    "unknown unit": (good(head="Displacement (mm),Force (dyn)"), "unit-unknown", None),
    "no unit": (good(head="Displacement (mm),Force"), "unit-unknown", None),
    "no headings": (body().encode(), "unit-unknown", None),
    "no force": (good(head="Displacement (mm),Humidity (%)"), "columns-unknown", None),
    "no displacement": (good(head="Index,Force (N)"), "columns-unknown", None),
    "no rate": (good(head="Time (s),Force (N)"), "rate-unknown", None),
}


@pytest.mark.parametrize(("data", "code", "line"), WHOLE.values(), ids=WHOLE)
def test_whole_files(data, code, line):
    problem = problem_of(data)
    assert (problem.code, problem.line) == (code, line)


def test_the_second_table_must_be_headed_as_the_first():
    data = f"{HEAD}\n{body()}\n\nDisplacement (mm),Force (lbf)\n{body()}".encode()
    problem = problem_of(data)
    assert (problem.code, problem.line) == ("columns-unknown", 44)


def test_the_rows_of_the_second_table_must_be_as_wide():
    data = f"{HEAD},Time (s)\n{body('{x:.2f},{f:.3f},{t:.3f}')}\n\nSpecimen 2\n{body()}".encode()
    problem = problem_of(data)
    assert (problem.code, problem.line) == ("ragged", 44)


def test_pairs_in_two_units_are_not_read_in_one():
    pairs = body("{x:.2f},{f:.3f},{x:.2f},{f:.3f}")
    data = f"Travel (mm),Force (N),Travel (in),Force (N)\n{pairs}".encode()
    layout = sniff(data).layout
    assert problem_of(data).code == "unit-unknown"
    assert problem_of(data, layout=replace(layout, displacement_unit="mm")).code == "unit-differs"


def test_windows_western_text_is_read_only_when_said():
    data = "Bediener: Jörg, 23 °C\n".encode("cp1252") + good()
    found = sniff(data)
    assert found.layout.encoding == "cp1252"
    assert any("not UTF-8" in note for note in found.uncertain)
    assert read(data, found.layout, name="x").segments[0].rows == 40
    assert problem_of(data, layout=replace(found.layout, encoding="utf-8")).code == "encoding"


@pytest.mark.parametrize(("number", "doubtful"), [("1,234", True), ("12,345", True), ("0,234", False), ("1,23", False)])
def test_a_comma_before_three_digits_is_asked_about(number, doubtful):
    text = "\n".join(f"{row};{number}" for row in range(20))
    found = sniff(f"Travel (mm);Force (N)\n{text}".encode())
    assert any("Check: is" in note for note in found.uncertain) is doubtful
    assert found.layout.decimal == ","


def test_grouping_and_decimals_together_are_no_numbers():
    text = "\n".join(f"{row},5;1.234,5" for row in range(20))
    problem = problem_of(f"Travel (mm);Force (N)\n{text}".encode())
    assert (problem.code, problem.line) == ("not-a-number", 2)
    assert "“1.234,5” is not a number. Export the numbers without grouping" in problem.sentence


def test_another_layout_is_refused_rather_than_bent():
    data = good()
    assert problem_of(data, layout=replace(GOOD_LAYOUT, first_data_line=3)).code == "table-moved"
    assert problem_of(b"Note\n" + data, layout=GOOD_LAYOUT).code == "table-moved"
    assert problem_of(good(head="Force (N),Displacement (mm)"), layout=GOOD_LAYOUT).code == "columns-unknown"
    assert problem_of(good(head="Displacement (mm),Force (lbf)"), layout=GOOD_LAYOUT).code == "columns-unknown"
    assert problem_of(data, layout=replace(GOOD_LAYOUT, force_unit="lbf")).code == "unit-differs"
    assert problem_of(data, layout=replace(GOOD_LAYOUT, force_unit="pony")).code == "unit-unknown"
    assert problem_of(data, layout=replace(GOOD_LAYOUT, series=())).code == "columns-unknown"
    beyond = (Series(force=2, displacement=0),)
    assert problem_of(data, layout=replace(GOOD_LAYOUT, series=beyond)).code == "columns-unknown"
    two = f"{HEAD}\n{body()}\n\n{HEAD}\n{body()}".encode()
    assert problem_of(two, layout=GOOD_LAYOUT).code == "columns-unknown"
    assert read(data, GOOD_LAYOUT, name="x").segments[0].rows == 40


def test_a_rate_that_the_file_contradicts():
    data = f"Rate: 300 mm/min\nTime (s),Force (N)\n{body('{t:.3f},{f:.3f}')}".encode()
    layout = sniff(data).layout
    problem = problem_of(data, layout=replace(layout, rate="12 in/min"))
    assert problem.code == "rate-unknown"
    assert "300 mm/min" in problem.sentence
    for rate in ("fast", "300", "0 mm/min", "300 N"):
        assert problem_of(data, layout=replace(layout, rate=rate)).code == "rate-unknown"


@settings(max_examples=150, deadline=None)
@given(st.binary(max_size=400))
def test_any_bytes_are_read_or_refused_plainly(data):
    try:
        layout = sniff(data).layout
        read(data, layout, name="x")
    except FileProblem as problem:
        assert problem.code in CODES  # noqa: PT017 - either answer is right, any other exception is not


@settings(max_examples=200, deadline=None, suppress_health_check=[HealthCheck.too_slow])
@given(place=st.integers(0, len(good()) - 1), put=st.binary(min_size=0, max_size=3), take=st.integers(0, 4))
def test_a_damaged_file_is_refused_or_keeps_its_rows(place, put, take):
    data = good()[:place] + put + good()[place + take :]
    try:
        segments = read(data, sniff(data).layout, name="x").segments
    except FileProblem as problem:
        assert problem.code in CODES  # noqa: PT017 - either answer is right, any other exception is not
    else:
        # Joining or adding a line end may change the number of rows by the one that was hit, never by more.
        assert abs(sum(segment.rows for segment in segments) - 40) <= 4


def test_random_bytes_are_binary():
    assert problem_of(os.urandom(5000)).code in ("binary", "encoding")
