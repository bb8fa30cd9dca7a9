"""Layouts as plain data, and layouts remembered for a tester."""

import json
from dataclasses import replace

import pytest

from labrecords.files.layout import Layout, Series
from labrecords.files.reader import read
from labrecords.files.sniff import fits, sniff

from .shapes import HEAD, body, good

SIDE_BY_SIDE = f"{HEAD},{HEAD}\n{body('{x:.2f},{f:.3f},{x:.2f},{f:.3f}')}".encode()


@pytest.mark.parametrize("data", [good(), SIDE_BY_SIDE, body().encode()], ids=["single", "columns", "no headings"])
def test_a_layout_survives_as_json(data):
    layout = sniff(data).layout
    assert Layout.from_json(json.loads(json.dumps(layout.to_json()))) == layout


@pytest.mark.parametrize(
    "change",
    [
        {"delimiter": "x"},
        {"decimal": ";"},
        {"encoding": "rot13"},
        {"arrangement": "heap"},
        {"series": [{"force": -1, "displacement": 0, "time": None}]},
        {"series": [{"force": "1", "displacement": 0, "time": None}]},
        {"series": [{"load": 1}]},
        {"series": 5},
        {"marks": [["force"]]},
        {"another": 1},
    ],
)
def test_what_is_no_layout_is_refused(change):
    plain = sniff(good()).layout.to_json()
    assert Layout.from_json(plain)
    with pytest.raises(ValueError, match=r"\.$|, not "):
        Layout.from_json({**plain, **change})


def test_a_field_that_is_missing_is_refused():
    plain = sniff(good()).layout.to_json()
    del plain["width"]
    with pytest.raises(ValueError, match="has exactly the fields"):
        Layout.from_json(plain)


def test_a_person_s_choice_is_remembered_for_the_next_file():
    bare = body().encode()
    found = sniff(bare)
    assert found.uncertain
    chosen = replace(found.layout, series=(Series(force=1, displacement=0),), force_unit="lbf", displacement_unit="in")
    again = sniff(b"Day 2\n" + bare, remembered=chosen)
    assert again.uncertain == ()
    assert again.layout == replace(chosen, first_data_line=2)
    (segment,) = read(b"Day 2\n" + bare, again.layout, name="x").segments
    assert segment.displacement_mm[1] == 0.1 * 25.4


def test_a_file_with_other_headings_is_not_bent_to_a_remembered_layout():
    chosen = sniff(good()).layout
    other = good(head="Displacement (mm),Force (lbf)")
    assert not fits(chosen, sniff(other).layout)
    assert sniff(other, remembered=chosen).layout == sniff(other).layout
    assert sniff(other, remembered=chosen).layout.force_unit == "lbf"


def test_a_remembered_rate_gives_way_to_the_one_the_file_states():
    rows = body("{t:.3f},{f:.3f}")
    first = f"Time (s),Force (N)\n{rows}".encode()
    chosen = replace(sniff(first).layout, rate="300 mm/min")
    assert sniff(first, remembered=chosen).layout.rate == "300 mm/min"
    stated = f"Rate: 12 in/min\nTime (s),Force (N)\n{rows}".encode()
    assert sniff(stated, remembered=chosen).layout.rate == "12 in/min"


def test_blocks_are_found_anew_in_the_next_file():
    chosen = sniff(good()).layout
    two = good() + b"\n\n" + good()
    again = sniff(two, remembered=chosen)
    assert (again.layout.arrangement, again.specimens) == ("blocks", 2)
    assert sniff(good(), remembered=again.layout).layout.arrangement == "single"
