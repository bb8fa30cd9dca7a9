"""A figure that could not be drawn, told apart or read aloud is refused."""

import doctest
import importlib
import itertools
import pkgutil
from dataclasses import replace

import pytest
from hypothesis import given
from hypothesis import strategies as st

import labrecords.charts
from labrecords.charts.figure import Axis, Figure, Line, Points, Table, spread
from labrecords.charts.palette import light

from .cast import figures

PLAIN = Figure(
    id="plain",
    title="One value.",
    subtitle="",
    x=Axis("Lot", 0, 0.0, 1.0),
    y=Axis("Force, N", 1, 0.0, 1.0),
    label="Dot plot of one value.",
    summary=("One value.",),
    table=Table("Values", ("Specimen",), (("S-1",),), ("S-1",)),
)
DOT = Points("a", (0.5,), (0.5,), ("S-1",), ("S-1",), "circle", "ink")


@pytest.mark.parametrize(
    ("change", "reason"),
    [
        ({"id": "Not an id"}, "lower-case"),
        ({"title": ""}, "needs a title"),
        ({"label": ""}, "needs a label"),
        ({"summary": ()}, "needs a summary"),
        ({"label": "x" * 251}, "at most 250"),
        ({"y": Axis("Force, N", 1, 1.0, 1.0)}, "low end below"),
        ({"points": (replace(DOT, symbol="blob"),)}, "Symbol"),
        ({"points": (replace(DOT, y=(0.5, 0.6)),)}, "as many x as y"),
        ({"points": (replace(DOT, y=(float("nan"),)),)}, "not finite"),
        ({"lines": (Line("l", (0.0,), (0.0, 1.0), "ink"),)}, "as many x as y"),
        ({"lines": (Line("l", (0.0,), (0.0,), "ink", dash="wavy"),)}, "Dash"),
    ],
)
def test_unfit_figure_is_refused_with_its_reason(change, reason):
    assert replace(PLAIN, points=(DOT,)).points == (DOT,)
    with pytest.raises(ValueError, match=reason):
        replace(PLAIN, **change)


@pytest.mark.parametrize(("rows", "ids"), [((("a", "b"),), ("S-1",)), ((("a",),), ())])
def test_table_whose_rows_do_not_fit_is_refused(rows, ids):
    with pytest.raises(ValueError, match=r"The table has|Every row"):
        Table("Values", ("Specimen",), rows, ids)


@pytest.mark.parametrize("name", ["values", "overlay", "probability"])
def test_series_in_the_key_differ_in_shape_or_dash_so_that_grey_will_do(name):
    figure = figures()[name]
    shapes = [points.symbol for points in figure.points if points.key]
    dashes = [(line.dash, line.width_pt) for line in figure.lines if line.key]
    assert len(shapes) == len(set(shapes))
    assert len(dashes) == len(set(dashes))
    assert shapes


def test_points_outside_a_limit_are_filled_and_only_they():
    for points in figures()["values"].points:
        assert points.filled is (points.colour == "stop")


def test_limits_of_three_kinds_have_three_dashes():
    assert {line.dash for line in figures()["values"].limits} == {"solid", "dash", "dot"}


@given(st.lists(st.floats(-100, 100), max_size=8), st.floats(0.1, 20))
def test_spread_labels_never_overlap_and_keep_their_order(places, gap):
    moved = spread(tuple(places), gap=gap)
    by_place = [height for _, height in sorted(zip(places, moved, strict=True))]
    assert all(after - before >= gap * 0.999 for before, after in itertools.pairwise(by_place))


def test_labels_far_apart_stay_where_they_belong():
    assert spread((1.0, 5.0), gap=1.0) == (1.0, 5.0)


def test_unknown_colour_is_refused():
    with pytest.raises(ValueError, match="beige"):
        light("beige")


def test_examples_in_the_charts_are_true():
    names = [module.name for module in pkgutil.iter_modules(labrecords.charts.__path__)]
    results = [doctest.testmod(importlib.import_module(f"labrecords.charts.{name}")) for name in names]
    assert sum(result.attempted for result in results) >= 10
    assert sum(result.failed for result in results) == 0
