"""The page's figure is plain JSON with the numbers that were given."""

import json
from dataclasses import replace

import pytest

from labrecords.charts.palette import LIGHT
from labrecords.charts.plotly_figure import spec
from labrecords.charts.values import GroupValues, individual_values

from .cast import figures, lots

NAMES = ["values", "overlay", "probability"]


@pytest.mark.parametrize("name", NAMES)
def test_spec_survives_json_unchanged(name):
    made = spec(figures()[name])
    assert set(made) == {"data", "layout", "label"}
    assert json.loads(json.dumps(made, allow_nan=False)) == made


def test_markers_have_the_values_that_were_given():
    markers = [one for one in spec(figures()["values"])["data"] if one["mode"] == "markers"]
    drawn = {code: y for one in markers for code, y in zip(one["ids"], one["y"], strict=True)}
    assert drawn == {code: y for lot in lots() for code, y in zip(lot.codes, lot.values, strict=True)}


@pytest.mark.parametrize("name", NAMES)
def test_every_series_has_the_numbers_of_the_figure(name):
    figure = figures()[name]
    made = [(tuple(one["x"]), tuple(one["y"])) for one in spec(figure)["data"]]
    assert made[: len(figure.lines)] == [(line.x, line.y) for line in figure.lines]
    markers = made[len(figure.lines) : len(figure.lines) + len(figure.points)]
    assert markers == [(points.x, points.y) for points in figure.points]


@pytest.mark.parametrize("name", NAMES)
def test_every_colour_has_a_name_that_the_page_can_theme(name):
    made = spec(figures()[name])
    layout = made["layout"]
    named = [one["meta"]["colour"] for one in made["data"]]
    for kind in ("shapes", "annotations"):
        assert len(layout["meta"][kind]) == len(layout[kind])
        named += [word for words in layout["meta"][kind] for word in words.split()]
    assert set(named) <= set(LIGHT)


def test_labels_from_records_are_text_and_not_markup():
    hostile = '<a href="https://example.org">Lot</a> & <b>'
    group = GroupValues(hostile, (7.0, 8.0), (hostile, "S-2"), ("AP", "AP"))
    made = json.dumps(spec(individual_values([group], unit="N", decimals=1)))
    assert "&lt;a href=" in made
    for text in ("<a", "<b>"):
        assert text not in made.replace(json.dumps([hostile, "S-2"]), "")


def test_limit_labels_carry_kind_value_and_unit():
    notes = [note["text"] for note in spec(figures()["values"])["layout"]["annotations"]]
    assert "requirement<br>≥ 5.00 N/15 mm" in notes
    assert "alert limit<br>≤ 11.00 N/15 mm" in notes


def test_number_that_is_not_finite_never_reaches_the_page():
    figure = figures()["values"]
    with pytest.raises(ValueError, match="not finite"):
        replace(figure, limits=(replace(figure.limits[0], value=float("inf")),))
