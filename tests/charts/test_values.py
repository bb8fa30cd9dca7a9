"""Individual values: what the words beside the figure must not leave out."""

from decimal import Decimal

import pytest
from hypothesis import given
from hypothesis import strategies as st

from labrecords.charts.limits import Limit, Value, beyond, finding, judge
from labrecords.charts.values import GroupValues, individual_values, sideways

from .cast import LIMITS, figures, lots

hundredths = st.integers(300, 700).map(lambda number: Decimal(number) / 100)


def group(values, **more):
    return GroupValues(
        "Lot A", tuple(values), tuple(f"S{n}." for n in range(len(values))), ("AP",) * len(values), **more
    )


@given(st.lists(hundredths, min_size=1, max_size=30), hundredths, st.sampled_from(["lower", "upper"]))
def test_summary_names_every_value_outside_a_limit_and_no_other(values, edge, side):
    figure = individual_values([group(values)], unit="N/15 mm", decimals=2, limits=[Limit(edge, "alert limit", side)])
    told = next(sentence for sentence in figure.summary if "alert limit" in sentence)
    for number, value in enumerate(values):
        outside = value < edge if side == "lower" else value > edge
        assert (f"S{number}. {value:.2f} (Lot A)" in told) is outside


def test_summary_names_marked_values_and_voids():
    told = " ".join(figures()["values"].summary)
    for words in (
        "SB-0 below 0.50 (Lot B)",
        "SB-1 opened before the test (Lot B)",
        "SB-2 above 12.00 (Lot B)",
        "SC-0 4.99 (Lot C)",
        "Not counted (void or set aside): SB-3 3.30.",
        "Tolerance bound of Lot A: 6.10 N/15 mm, 95 % confident that at least 99 % exceed it.",
    ):
        assert words in told


def test_rounding_never_moves_a_value_onto_its_limit():
    assert "SC-3 4.996 (Lot C)" in " ".join(figures()["values"].summary)


def test_title_says_how_many_miss_the_requirement_and_leaves_voids_out():
    assert figures()["values"].title == "4 of 33 values are below the requirement of 5.00 N/15 mm."


def test_title_says_that_all_meet_it():
    figure = individual_values([group([5.0, 6.0])], unit="N/15 mm", decimals=2, limits=[Limit(5.0)])
    assert figure.title == "All 2 values are at or above the requirement of 5.00 N/15 mm."


@pytest.mark.parametrize(
    ("value", "mark", "limit", "answer"),
    [
        (5.0, "", Limit(5.0), "inside"),
        (4.99, "", Limit(5.0), "outside"),
        (5.0, "below-verified", Limit(5.0), "outside"),
        (6.0, "below-verified", Limit(5.0), "open"),
        (0.5, "below-verified", Limit(5.0), "outside"),
        (45.0, "above-capacity", Limit(5.0), "inside"),
        (4.0, "above-capacity", Limit(5.0), "open"),
        (0.0, "opened-before-test", Limit(5.0), "outside"),
        (11.0, "", Limit(11.0, side="upper"), "inside"),
        (11.01, "", Limit(11.0, side="upper"), "outside"),
        (11.0, "above-capacity", Limit(11.0, side="upper"), "outside"),
        (10.0, "above-capacity", Limit(11.0, side="upper"), "open"),
        (0.5, "below-verified", Limit(11.0, side="upper"), "inside"),
        (12.0, "below-verified", Limit(11.0, side="upper"), "open"),
        # 0.1 + 0.2 is not 0.3 in binary; as a decimal that was recorded, 0.3 meets 0.3.
        (0.3, "", Limit(Decimal("0.3")), "inside"),
    ],
)
def test_value_is_judged_as_its_mark_allows(value, mark, limit, answer):
    assert judge(Value("S-1", value, mark=mark), limit=limit) == answer


def test_value_that_cannot_be_judged_is_named_and_not_called_good():
    values = [Value("S-1", 6.0, "Lot A", "below-verified"), Value("S-2", 7.0, "Lot A")]
    said = beyond(values, limit=Limit(5.0), unit="N/15 mm", decimals=2)
    assert said[0] == "1 of 2 values cannot be held against the requirement of 5.00 N/15 mm."
    assert said[1] == "Not judged, for their marks: S-1 below 6.00 (Lot A)."


def test_one_value_is_spoken_of_as_one():
    said = finding([Value("S-1", 6.0)], limit=Limit(5.0), unit="N/15 mm", decimals=2)
    assert said == "The one value is at or above the requirement of 5.00 N/15 mm."


def test_label_spells_the_unit_and_stays_short():
    label = figures()["values"].label
    assert "newtons per 15 millimetres" in label
    assert len(label) <= 250


def test_every_specimen_is_drawn_once_and_has_its_row():
    figure = figures()["values"]
    drawn = sorted(code for points in figure.points for code in points.codes)
    assert drawn == sorted(figure.table.row_ids) == sorted(code for lot in lots() for code in lot.codes)


def test_limits_and_bounds_lie_within_the_axis():
    figure = individual_values([group([7.0, 8.0])], unit="N", decimals=1, limits=[Limit(1.5)])
    assert figure.y.low < 1.5 < 8.0 < figure.y.high


def test_mean_is_drawn_where_it_was_given_and_only_there():
    ticks = next(line for line in figures()["values"].lines if line.name == "mean")
    assert [height for height in ticks.y if height is not None] == [7.735, 7.735, 5.712, 5.712]


@pytest.mark.parametrize(("size", "boxes"), [(19, 0), (20, 1)])
def test_box_only_from_twenty_values_on(size, boxes):
    # From twenty values on: common practice, no source.
    figure = individual_values([group([float(n) for n in range(size)])], unit="N", decimals=1)
    assert sum(line.name == "middle half" for line in figure.lines) == boxes


@given(st.text(min_size=1))
def test_sideways_place_comes_from_the_code_alone(code):
    assert -0.22 <= sideways(code) == sideways(code) <= 0.22


def test_sideways_places_differ_between_specimens():
    assert len({sideways(f"SP-{n}") for n in range(50)}) == 50


def test_lists_that_do_not_fit_are_refused():
    with pytest.raises(ValueError, match="Lot A"):
        GroupValues("Lot A", (1.0, 2.0), ("S-1",), ("AP", "AP"))


def test_figure_without_a_counted_value_is_refused():
    with pytest.raises(ValueError, match="no value to draw"):
        individual_values([group([7.0], voids=(True,))], unit="N", decimals=1, limits=LIMITS)
