"""Good files of many shapes: each is found out without help and read to the same numbers."""

import numpy as np
import pytest

from labrecords.files.reader import read
from labrecords.files.sniff import sniff
from labrecords.rules.labels import label

from .shapes import HEAD, body, force, good, lines, travel

A, B, C = (label("SP", number) for number in (1, 2, 3))
LBF = 4.4482216152605  # 1 lbf in newton, exact by definition (NIST SP 811, appendix B)

SINGLE = {
    "comma": f"{HEAD}\n{body()}",
    "comma with a final line end": f"{HEAD}\n{body()}\n",
    "comma, blanks around": f"Displacement (mm) , Force (N)\n{body('{x:.2f} , {f:.3f}')}",
    "units in their own row": f"Displacement,Force\nmm,N\n{body()}",
    "units in brackets in their own row": f"Displacement,Force\n[mm],[N]\n{body()}",
    "header lines": f"Specimen: {A}\nTechnique: A\n\n{HEAD}\n{body()}",
    "header lines without a blank": f"Operator,B. Arlen\nWidth,15 mm\nRate (mm/min),300\n{HEAD}\n{body()}",
    "numbers in the header": f"Width,Rate\n15,300\n{HEAD}\n{body()}",
    "semicolon, decimal comma": f"Weg [mm];Kraft [N]\n{body('{x:.2f};{f:.3f}', comma=True)}",
    "semicolon, decimal point": f"Extension (mm);Load (N)\n{body('{x:.2f};{f:.3f}')}",
    "semicolon at the ends": f"Extension (mm);Load (N);\n{body('{x:.2f};{f:.3f};', comma=True)}",
    "tab": f"Travel mm\tLoad N\n{body('{x:.2f}{tab}{f:.3f}')}",
    "tab, decimal comma": f"Travel_mm\tLoad_N\n{body('{x:.2f}{tab}{f:.3f}', comma=True)}",
    "vertical bar": f"Position / mm|Force / N\n{body('{x:.2f}|{f:.3f}')}",
    "blanks": f"Displacement (mm)   Force (N)\n{body('{x:9.2f} {f:9.3f}')}",
    "blanks, decimal comma": f"Displacement (mm)   Force (N)\n{body('{x:9.2f} {f:9.3f}', comma=True)}",
    "blanks, comment signs": f"# made by hand\n# disp (mm) force (N)\n{body('{x:.2f} {f:.3f}')}",
    "blanks, short names": f"disp_mm load_N\n{body('{x:.2f} {f:.3f}')}",
    "quoted": '"Displacement (mm)","Force (N)"\n' + body('"{x:.2f}","{f:.3f}"'),
    "quoted, decimal comma": '"Displacement (mm)","Force (N)"\n' + body('"{x:.2f}","{f:.3f}"', comma=True),
    "force first": f"Load (N),Extension (mm)\n{body('{f:.3f},{x:.2f}')}",
    "time too": f"Time (s),Displacement (mm),Force (N)\n{body('{t:.3f},{x:.2f},{f:.3f}')}",
    "a column of words": f"State,Displacement (mm),Force (N)\n{body('ok,{x:.2f},{f:.3f}')}",
    "other columns": f"Time (s),Extension (mm),Load (N),Strain (%)\n{body('{t:.3f},{x:.2f},{f:.3f},0.1')}",
    "an unnamed first column": f",Displacement (mm),Force (N)\n{body('1,{x:.2f},{f:.3f}')}",
    "exponents": f"{HEAD}\n{body('{x:.5e},{f:.5E}')}",
    "plus signs": f"{HEAD}\n{body('{x:+.2f},{f:+.3f}')}",
    "true minus": f"{HEAD}\n{body()}".replace("-", "\u2212"),
    "a table of results above": f"Specimen,Peak (N)\n1,2.5\n2,2.7\n\nTrace\n{HEAD}\n{body()}",
    "a foot": f"{HEAD}\n{body()}\nEnd of test\n",
    "a foot after a blank line": f"{HEAD}\n{body()}\n\nPeak,1.450\n",
    "blank lines at the ends": f"\n\n{HEAD}\n{body()}\n\n\n",
    "a stray blank line": "\n".join([HEAD, *lines()[:5], "", *lines()[5:]]),
    "a row of separators alone": f"{HEAD}\n{body()}\n,\n",
    "double spacing": "\n\n".join([HEAD, *lines()]),
    "a drawn line under the names": f"{HEAD}\n-----------------,---------\n{body()}",
    "end-of-file mark of old systems": f"{HEAD}\n{body()}\n\x1a",
    "form feed": f"Report\n\f\n{HEAD}\n{body()}",
}


@pytest.mark.parametrize("text", SINGLE.values(), ids=SINGLE)
def test_one_specimen(text):
    data = text.encode()
    found = sniff(data)
    (segment,) = read(data, found.layout, name="trace.csv").segments
    np.testing.assert_array_equal(segment.displacement_mm, travel())
    np.testing.assert_array_equal(segment.force_n, force())
    assert found.uncertain == ()
    assert (segment.rows, segment.dropped, segment.backward, segment.name) == (40, 0, 0, segment.name)
    assert data.decode().split("\n")[segment.first_line - 1].strip('" ').startswith(found.preview[0][0])


ENCODINGS = ["utf-8", "utf-8-sig", "utf-16"]


@pytest.mark.parametrize("encoding", [*ENCODINGS, "utf-16-be with mark"])
@pytest.mark.parametrize("ends", ["\n", "\r\n", "\r", "\r\r\n"])
def test_encodings_and_line_ends(encoding, ends):
    text = f"Operator: Zoë\n{HEAD}\n{body()}\n".replace("\n", ends)
    data = b"\xfe\xff" + text.encode("utf-16-be") if encoding not in ENCODINGS else text.encode(encoding)
    found = sniff(data)
    (segment,) = read(data, found.layout, name="trace.csv").segments
    np.testing.assert_array_equal(segment.force_n, force())
    assert found.uncertain == ()
    assert segment.first_line == 3


def test_line_ends_mixed_in_one_file():
    data = good().replace(b"\n", b"\r\n", 9).replace(b"0.90,", b"0.90,", 1)
    found = sniff(data)
    np.testing.assert_array_equal(read(data, found.layout, name="x").segments[0].force_n, force())


def test_a_hundred_thousand_returns_at_the_end_are_blank_lines():
    data = good() + b"\r" * 100_000 + b"End\r\r\n"
    assert read(data, sniff(data).layout, name="x").segments[0].rows == 40


@pytest.mark.parametrize(
    ("said", "factor"),
    [
        ("N", 1.0),
        ("newton", 1.0),
        ("cN", 0.01),
        ("mN", 0.001),
        ("kN", 1000.0),
        ("lbf", LBF),
        ("gf", 0.00980665),  # standard gravity, exact (NIST SP 811, appendix B)
        ("kgf", 9.80665),
        ("ozf", LBF / 16),
    ],
)
def test_units_of_force(said, factor):
    data = f"Displacement (mm),Load [{said}]\n{body()}".encode()
    (segment,) = read(data, sniff(data).layout, name="x").segments
    np.testing.assert_allclose(segment.force_n, force() * factor, rtol=1e-15)


@pytest.mark.parametrize(("said", "factor"), [("mm", 1), ("cm", 10), ("in", 25.4), ("inch", 25.4), ("m", 1000)])
def test_units_of_displacement(said, factor):
    data = f"Displacement ({said}),Force (N)\n{body()}".encode()
    (segment,) = read(data, sniff(data).layout, name="x").segments
    np.testing.assert_allclose(segment.displacement_mm, travel() * factor, rtol=1e-15)


@pytest.mark.parametrize(("said", "factor"), [("s", 1), ("sec", 1), ("min", 60), ("ms", 0.001)])
def test_units_of_time(said, factor):
    data = f"Time ({said}),Displacement (mm),Force (N)\n{body('{t:.3f},{x:.2f},{f:.3f}')}".encode()
    (segment,) = read(data, sniff(data).layout, name="x").segments
    np.testing.assert_allclose(segment.time_s, np.round(travel() / 5, 3) * factor, rtol=1e-15)


def test_a_unit_of_mass_is_taken_for_its_force_and_said_aloud():
    data = f"Displacement (mm),Load (lbs)\n{body()}".encode()
    found = sniff(data)
    assert found.layout.force_unit == "lbf"
    assert any("“lbs” is a unit of mass" in note for note in found.uncertain)


@pytest.mark.parametrize(("rate", "mm_per_s"), [("300 mm/min", 5.0), ("12 in/min", 5.08), ("5 mm/s", 5.0)])
def test_displacement_from_time_and_a_stated_rate(rate, mm_per_s):
    data = f"Rate: {rate}\nTime (s),Force (N)\n{body('{t:.3f},{f:.3f}')}".encode()
    found = sniff(data)
    assert found.layout.rate == rate
    assert any("displacement is time × the stated rate" in note for note in found.uncertain)
    (segment,) = read(data, found.layout, name="x").segments
    np.testing.assert_allclose(segment.displacement_mm, np.round(travel() / 5, 3) * mm_per_s, rtol=1e-15)
    assert segment.stated["rate"] == rate


def test_a_column_that_might_be_a_trace_is_not_left_out_unsaid():
    data = f"Extension (mm),Peak load (N),Load (N),Strain (%)\n{body('{x:.2f},9.9,{f:.3f},1')}".encode()
    found = sniff(data)
    assert found.uncertain == ("The column “Peak load (N)” is not read. Confirm that it is no trace.",)
    np.testing.assert_array_equal(read(data, found.layout, name="x").segments[0].force_n, force())


@pytest.mark.parametrize(
    ("text", "note"),
    [
        (f"Displacement (mm);{A}\n{body('{x:.2f};{f:.3f}')}", "Columns headed by a specimen's label code"),
        (f"Travel (mm);Position (mm);Force (N)\n{body('{x:.2f};{x:.2f};{f:.3f}')}", "2 columns may hold displacement"),
        (f"s (mm);F (N)\n{body('{x:.2f};{f:.3f}')}", "Column 1 (“s (mm)”) is taken for displacement"),
        (f"Rate 300 mm/min\nSpeed 12 in/min\n{HEAD}\n{body()}", "more than one rate: 300 mm/min, 12 in/min"),
        (f"Travel (mm),Force (N),Travel (in),Force (N)\n{body('{x:.2f},{f:.3f},{x:.2f},{f:.3f}')}", "different units"),
        (body("{x:.2f},{x:.2f},{f:.3f}"), "Choose what each of them holds"),
    ],
)
def test_what_is_not_certain_is_said(text, note):
    assert any(note in sentence for sentence in sniff(text.encode()).uncertain)


def test_the_same_force_in_two_units_is_one_specimen():
    data = f"Extension (mm),Force (N),Force (lbf)\n{body('{x:.2f},{f:.3f},0.1')}".encode()
    found = sniff(data)
    assert [note[:40] for note in found.uncertain] == ["The force columns have different units. "]
    (segment,) = read(data, found.layout, name="x").segments
    np.testing.assert_array_equal(segment.force_n, force())


PAIR = "{x:.2f},{f:.3f},{x:.2f},{f:.3f}"
SEVERAL = {
    "pairs under codes": (f"{A},,{B},\n{HEAD},{HEAD}\n{body(PAIR)}", "columns"),
    "pairs with codes in the names": (
        f"{A} travel (mm),{A} force (N),{B} travel (mm),{B} force (N)\n{body(PAIR)}",
        "columns",
    ),
    "shared displacement": (
        f"Displacement;{A};{B}\nmm;N;N\n{body('{x:.2f};{f:.3f};{f:.3f}', comma=True)}",
        "columns",
    ),
    "shared time and displacement": (
        f"Time (s)\tTravel (mm)\tForce {A} (N)\tForce {B} (N)\n" + body("{t:.3f}\t{x:.2f}\t{f:.3f}\t{f:.3f}"),
        "columns",
    ),
    "blocks after a blank line": (
        f"Technique: A\nSpecimen: {A}\n{HEAD}\n{body()}\n\nSpecimen: {B}\n{HEAD}\n{body()}\n",
        "blocks",
    ),
    "blocks after a header alone": (
        f"Specimen {A}\n{HEAD}\n{body()}\nSpecimen {B}\n{HEAD}\n{body()}",
        "blocks",
    ),
    "blocks with codes alone": (f"{A}\n{HEAD}\n{body()}\n\n{B}\n{body()}", "blocks"),
    "blocks of blanks": (
        f"{A}\nmm N\n{body('{x:.2f} {f:.3f}')}\n{B}\nmm N\n{body('{x:.2f} {f:.3f}')}\n",
        "blocks",
    ),
}


@pytest.mark.parametrize(("text", "arrangement"), SEVERAL.values(), ids=SEVERAL)
def test_several_specimens(text, arrangement):
    data = text.encode()
    found = sniff(data)
    assert found.layout.arrangement == arrangement
    assert found.specimens == 2
    assert any("Confirm." in note for note in found.uncertain)
    first, second = read(data, found.layout, name="batch.csv").segments
    assert (first.index, second.index) == (1, 2)
    assert [[str(code) for code in segment.codes] for segment in (first, second)] == [[A], [B]]
    for segment in (first, second):
        np.testing.assert_array_equal(segment.displacement_mm, travel())
        np.testing.assert_array_equal(segment.force_n, force())


def test_specimens_side_by_side_may_end_at_different_rows():
    rows = [*lines(PAIR)[:25], *lines("{x:.2f},{f:.3f},,")[25:30], *lines("{x:.2f},{f:.3f}")[30:]]
    data = "\n".join([f"{HEAD},{HEAD}", *rows]).encode()
    first, second = read(data, sniff(data).layout, name="x").segments
    assert (first.rows, second.rows) == (40, 25)
    np.testing.assert_array_equal(second.force_n, force(25))


def test_specimens_that_share_displacement_may_end_at_different_rows():
    rows = [*lines("{x:.2f},{f:.3f},{f:.3f}")[:25], *lines("{x:.2f},{f:.3f},")[25:]]
    data = "\n".join([f"Displacement (mm),{A} (N),{B} (N)", *rows]).encode()
    first, second = read(data, sniff(data).layout, name="x").segments
    assert (first.rows, second.rows) == (40, 25)


def test_what_the_first_header_states_holds_for_later_blocks_but_not_its_specimen():
    data = (
        f"Rate: 12 in/min\nTechnique: C\nDate: 2026-03-04\nSpecimen: {A}\n{HEAD}\n{body()}\n\n"
        f"Technique: B\n{HEAD}\n{body()}\n"
    ).encode()
    first, second = read(data, sniff(data).layout, name="x").segments
    assert first.stated == {"rate": "12 in/min", "technique": "C", "date": "2026-03-04", "specimen": A}
    assert second.stated == {"rate": "12 in/min", "technique": "B"}


def test_codes_come_from_header_and_file_name_the_nearest_first():
    data = f"Specimen: {A}\n{HEAD}\n{body()}".encode()
    (segment,) = read(data, sniff(data).layout, name=f"{C}_run.csv").segments
    assert [str(code) for code in segment.codes] == [A, C]
    (segment,) = read(good(), sniff(good()).layout, name=f"{C.lower()}.csv").segments
    assert [str(code) for code in segment.codes] == [C]
    assert segment.name == C.lower()


def test_steps_back_within_the_jitter_are_kept_and_counted():
    data = good(replace={20: "1.85,0.5"})
    (segment,) = read(data, sniff(data).layout, name="x").segments
    assert segment.backward == 1
    assert segment.displacement_mm[20] == 1.85
