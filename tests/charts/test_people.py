"""Figures of people beside one another: h and k, means by material, sources of scatter.

The glucose data of ASTM E691, annex, are checked elsewhere; here is what is drawn of numbers that are given.
"""

import pytest

from labrecords.charts.consistency import MATERIALS, Bar, consistency
from labrecords.charts.interaction import Value, interaction
from labrecords.charts.plotly_figure import spec
from labrecords.charts.scatter_parts import Source, scatter_parts
from labrecords.charts.svg import svg

BARS = [Bar("Ada", "L1", 1.2, False), Bar("Bea", "L1", -2.1, True), Bar("Ada", "L2", 0.4, False)]
VALUES = [
    Value(person, material, base + shift + step / 100)
    for person, shift in (("Ada", 0.0), ("Bea", 0.1))
    for material, base in (("L2", 2.0), ("L1", 1.0))
    for step in range(3)
]
SOURCES = [Source("Repeatability", 0.3, 0.2, 0.5, 90.0), Source("Between", 0.1, None, None, 10.0)]
TOTAL = Source("All together", 0.32, 0.2, 0.6, 100.0)


def test_a_bar_begins_at_zero_and_ends_at_its_value():
    drawn = consistency(BARS, kind="h", critical=1.9)
    assert [line.y for line in drawn.lines] == [(0.0, 1.2), (0.0, -2.1), (0.0, 0.4)]
    assert [limit.value for limit in drawn.limits] == [1.9, -1.9]
    assert drawn.title == "Bea (L1) reads apart from the others."
    assert [text for _, text in drawn.x.ticks] == ["Ada", "Bea"]
    assert drawn.y.low < -2.1
    assert [(points.name, points.filled) for points in drawn.points] == [
        ("L1", False),
        ("L1, beyond the level", True),
        ("L2", False),
    ]


def test_the_other_order_has_the_same_bars_in_other_places():
    first, second = (consistency(BARS, kind="h", critical=1.9, by=by) for by in ("person", MATERIALS))
    assert [text for _, text in second.x.ticks] == ["L1", "L2"]
    assert [line.y for line in first.lines] == [line.y for line in second.lines]
    assert [line.x for line in first.lines] != [line.x for line in second.lines]
    assert first.table == second.table


def test_k_has_one_level_and_starts_at_zero():
    drawn = consistency([Bar("Ada", "L1", 0.8, False)], kind="k", critical=1.6)
    assert (drawn.y.low, [limit.value for limit in drawn.limits]) == (0.0, [1.6])
    assert drawn.title == "Nobody's k is beyond what chance seldom gives."


def test_means_are_joined_in_the_order_of_the_materials_means():
    drawn = interaction(VALUES, unit="lbf/in", decimals=3, said="No interaction is shown.")
    assert [text for _, text in drawn.x.ticks] == ["L1", "L2"]
    ada, bea = drawn.lines
    assert ada.y == pytest.approx((1.01, 2.01))
    assert bea.y == pytest.approx((1.11, 2.11))
    assert (ada.end_label, bea.end_label, ada.dash != bea.dash) == ("Ada", "Bea", True)
    assert sum(len(points.x) for points in drawn.points) == len(VALUES)


@pytest.mark.parametrize("values", [VALUES[:3], [row for row in VALUES if row.person == "Ada"]])
def test_one_material_or_one_person_is_not_drawn(values):
    with pytest.raises(ValueError, match="leave this figure out"):
        interaction(values, unit="lbf/in", decimals=3, said="x")


def test_the_title_names_the_largest_source_and_not_the_sum():
    drawn = scatter_parts([*SOURCES, TOTAL], unit="lbf/in", decimals=3, confidence=0.95, total="All together")
    assert drawn.title == "Most scatter comes from: repeatability (90 % of the variance)."
    assert [text for _, text in drawn.y.ticks] == ["Repeatability", "Between", "All together"]
    assert [place for place, _ in drawn.y.ticks] == [3.0, 2.0, 1.0]
    assert len(drawn.lines) == 2  # one interval is not known
    assert drawn.table.rows[1] == ("Between", "0.100", "not known", "not known", "10.0")


@pytest.mark.parametrize(
    "drawn",
    [
        consistency(BARS, kind="h", critical=1.9),
        interaction(VALUES, unit="lbf/in", decimals=3, said="No interaction is shown."),
        scatter_parts([*SOURCES, TOTAL], unit="lbf/in", decimals=3, confidence=0.95, total="All together"),
    ],
    ids=lambda drawn: drawn.id,
)
def test_each_is_drawn_on_page_and_paper(drawn):
    assert spec(drawn)["data"]
    assert svg(drawn).startswith(b"<?xml")
    assert len(drawn.summary) >= 2


@pytest.mark.parametrize(
    "draw",
    [
        lambda: consistency([], kind="h", critical=1.9),
        lambda: scatter_parts([], unit="lbf/in", decimals=3, confidence=0.95, total=""),
    ],
)
def test_nothing_is_not_drawn(draw):
    with pytest.raises(ValueError, match="leave this figure out"):
        draw()
