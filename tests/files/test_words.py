"""What headings and header lines say, by general words of the trade."""

import doctest
import importlib

import pytest

from labrecords.files.headings import heading
from labrecords.files.statements import all_rates, has_header_words, statements


@pytest.mark.parametrize("module", ["cells", "headings", "packing", "statements"])
def test_examples_in_the_documentation(module):
    result = doctest.testmod(importlib.import_module(f"labrecords.files.{module}"))
    assert result.attempted > 0
    assert result.failed == 0


@pytest.mark.parametrize(
    ("text", "mark"),
    [
        ("Force (N)", ("force", "N")),
        ("FORCE [LBF]", ("force", "lbf")),
        ("Load, N", ("force", "N")),
        ("Force / N", ("force", "N")),
        ("Load_kN", ("force", "kN")),
        ("Force [N] filtered", ("force", "N")),
        ("Force SP_000123_N", ("force", None)),
        ("Force (raw)", ("force", "raw")),
        ("Load time (s)", ("time", "s")),
        ("GripSeparation (mm)", ("displacement", "mm")),
        ('Crosshead (")', ("displacement", "in")),
        ("Extension in inches", ("displacement", "in")),
        ("F [N]", ("force", "N")),
        ("Peak force (N)", (None, "N")),
        ("Strength (N/15 mm)", (None, "N/15 mm")),
        ("Force (N/15 mm)", ("force", "N/15 mm")),
        ("Speed (mm/min)", (None, "mm/min")),
        ("Index", (None, None)),
        ("", (None, None)),
    ],
)
def test_headings(text, mark):
    assert heading(text).mark == mark


@pytest.mark.parametrize(
    ("line", "stated"),
    [
        ("Rate: 300 mm/min", {"rate": "300 mm/min"}),
        ("Test speed;300;mm/min", {"rate": "300 mm/min"}),
        ("Speed (mm/min),300", {"rate": "300 mm/min"}),
        ("Crosshead speed (in/min)\t12.0", {"rate": "12.0 in/min"}),
        ("Grip separation rate = 12,7 mm/s", {"rate": "12.7 mm/s"}),
        ("Rate 11 inches per minute", {"rate": "11 in/min"}),
        ("Sampling rate: 50 Hz", {}),
        ("Return speed: 500 mm/min", {}),
        ("Speed: 1,234 mm/min", {}),
        ("Specimen width: 15 mm", {"width": "15 mm"}),
        ("Width (in),1", {"width": "1 in"}),
        ("Width;25,4;mm", {"width": "25.4 mm"}),
        ("Seal width 10 mm", {}),
        ("Technique: b", {"technique": "B"}),
        ("Tail: unsupported", {"technique": "A"}),
        ("Technique unknown", {}),
        ("Date: 2026-03-04 10:11:12", {"date": "2026-03-04 10:11:12"}),
        ("Date,04/03/2026", {"date": "04/03/2026"}),
        ("Sample ID: P12 left", {"specimen": "P12 left"}),
        ('"Specimen","SP-000123-N"', {"specimen": "SP-000123-N"}),
        ("nothing here", {}),
    ],
)
def test_statements(line, stated):
    assert statements([line]) == stated


def test_the_first_statement_counts_and_others_are_known():
    lines = ["Rate: 300 mm/min", "Speed: 12 in/min", "Rate: 300 mm/min"]
    assert statements(lines) == {"rate": "300 mm/min"}
    assert all_rates(lines) == ("300 mm/min", "12 in/min")


def test_words_that_head_a_block():
    assert has_header_words("Specimen 2")
    assert has_header_words("SP-000123-N")
    assert not has_header_words("abc,def")
