"""A trace looked at by another rule: beside the locked numbers, agreeing with a computation by hand, and never kept."""

import json
import re
from dataclasses import asdict, replace

import numpy as np
import pytest
from django.urls import reverse

from labrecords.models import Event
from labrecords.queries import traces
from labrecords.reports import looks
from tests import world as cast
from tests.pages.test_matrix import record
from tests.walls.rows import trace_choice


@pytest.fixture
def world(laboratory):
    cast.enter(laboratory, typed="", unit="", trace=trace_choice(laboratory))
    return laboratory


@pytest.fixture
def curve(world):
    (found,) = traces.curves(world.study)
    return found


def by_hand(travel, force, threshold, span):
    """Ends of the central span, and the mean and largest force there: numpy alone, on a fine grid with every reading.

    Straight lines between readings, as the method of the page states; the trapezoid rule is exact on them.
    """
    level = threshold * force.max()
    above = np.flatnonzero(force > level)
    first, last = above[0], above[-1]
    start = np.interp(level, force[first - 1 : first + 1], travel[first - 1 : first + 1])
    end = np.interp(-level, -force[last : last + 2], travel[last : last + 2])
    low, high = start + (1 - span) / 2 * (end - start), end - (1 - span) / 2 * (end - start)
    inside = travel[(travel > low) & (travel < high)]
    x = np.concatenate([[low], inside, [high]])
    y = np.concatenate([[np.interp(low, travel, force)], force[(travel > low) & (travel < high)]])
    y = np.concatenate([y, [np.interp(high, travel, force)]])
    mean = np.sum((y[1:] + y[:-1]) / 2 * np.diff(x)) / (high - low)
    return low, high, mean, y.max()


def ask(client, world, person="edda", **asked):
    client.force_login(world.people[person])
    return client.get(reverse("specimen", args=[world.specimens[0].label]), asked)


def test_the_locked_rule_gives_the_recorded_numbers_to_the_last_digit(client, world, curve):
    setup = world.study.setup
    found = looks.reduced_otherwise(
        curve, threshold_fraction=setup.threshold_fraction, span_fraction=setup.span_fraction
    )
    assert asdict(found).items() <= curve.reduction.items()  # as it was kept, to the last digit
    answer = ask(client, world, threshold="20", span="80")
    locked, tried = answer.context["look"]["figure"]["table"].rows
    assert locked[1:] == tried[1:]
    assert "as locked." in answer.context["look"]["figure"]["title"]


@pytest.mark.parametrize(("threshold", "span"), [(20, 60), (20, 100), (50, 80), (35, 12.5)])
def test_another_rule_agrees_with_a_computation_by_hand(client, world, curve, threshold, span):
    low, high, mean, largest = by_hand(
        np.asarray(curve.displacement_mm), np.asarray(curve.force_n), threshold / 100, span / 100
    )
    locked, tried = ask(client, world, threshold=threshold, span=span).context["look"]["figure"]["table"].rows
    assert tried[1:3] == (f"{threshold:g}", f"{span:g}")
    ends = [float(end) for end in tried[3].split(" to ")]
    assert ends == pytest.approx([low, high], abs=6e-4)
    assert [float(tried[4]), float(tried[5])] == pytest.approx([mean, largest], abs=6e-7)
    assert float(tried[6]) == pytest.approx(max(curve.force_n), abs=6e-7)
    assert locked[4] == f"{curve.reduction['mean_force_n']:.6f}"
    assert tried[3] != locked[3]


def test_both_spans_are_drawn_and_it_says_that_it_is_only_a_look(client, world, curve):
    answer = ask(client, world, span="50")
    text = answer.content.decode()
    assert "Only a look: the recorded numbers follow the locked set-up" in text
    assert "nothing of this is kept" in text
    figure = answer.context["look"]["figure"]
    low, high, *_ = by_hand(np.asarray(curve.displacement_mm), np.asarray(curve.force_n), 0.2, 0.5)
    spec = json.loads(figure["spec_json"])
    (ends,) = [trace for trace in spec["data"] if trace.get("name") == "ends of the span tried"]
    assert [ends["x"][0], ends["x"][-1]] == pytest.approx([low, high])
    band = [shape for shape in spec["layout"]["shapes"] if shape["type"] == "rect"]
    assert band[0]["x0"] == pytest.approx(curve.reduction["analysed_from_mm"])
    assert len(figure["summary"]) == 2


def test_nothing_is_written(client, world):
    client.force_login(world.edda)
    before, events = record(), Event.objects.count()
    for asked in ({"span": "50"}, {"threshold": "40", "span": "90"}, {"span": "900"}):
        client.get(reverse("specimen", args=[world.specimens[0].label]), asked)
    assert (record(), Event.objects.count()) == (before, events)


@pytest.mark.parametrize(
    ("asked", "field", "words"),
    [
        ({"span": "0"}, "span", "This is a number above 0."),
        ({"span": "100.1"}, "span", "This is at most 100 %."),
        ({"threshold": "100"}, "threshold", "This is a number below 100 %."),
        ({"threshold": "-5"}, "threshold", "This is a number above 0."),
        ({"span": "wide"}, "span", "'wide' is not a number"),
        ({"span": ""}, "span", "Fill this in."),
    ],
)
def test_what_is_out_of_range_is_said_beside_its_field(client, world, asked, field, words):
    answer = ask(client, world, **asked)
    assert answer.status_code == 422
    form = answer.context["look"]["form"]
    assert list(form.errors) == [field]
    assert words in form.errors[field][0]
    assert answer.context["look"]["figure"] is None
    assert "There is nothing to show yet. Change this and ask again:" in answer.content.decode()
    assert re.search(rf'<input[^>]*name="{field}"[^>]*value="{re.escape(asked[field])}"', answer.content.decode()) or (
        asked[field] == ""
    )


def test_what_leaves_nothing_to_analyse_is_said_beside_the_threshold(client, world, monkeypatch):
    """A trace that stood still at its peak has no length above a threshold near it."""
    step = traces.curves

    def standing_still(*given, **named):
        for curve in step(*given, **named):
            still = np.where(np.asarray(curve.force_n) >= 0.5 * max(curve.force_n), 10.0, 9.0)
            after = np.arange(still.size) > np.flatnonzero(still == 10.0)[-1]
            yield replace(curve, displacement_mm=np.where(after, 10.0, np.maximum.accumulate(still)))

    monkeypatch.setattr(traces, "curves", standing_still)
    answer = ask(client, world, threshold="60")
    assert answer.status_code == 422
    assert "leaves nothing of the trace to analyse" in answer.content.decode()


def test_a_value_that_is_withheld_is_not_looked_at_otherwise(client, laboratory):
    warm = cast.open_run(laboratory, room_c=30.0)
    cast.enter(laboratory, run=warm, typed="", unit="", trace=trace_choice(laboratory))
    assert ask(client, laboratory, "edda", span="50").context["look"] is None
    assert ask(client, laboratory, "runa", span="50").context["look"]["figure"] is not None


def test_a_strip_that_did_not_peel_has_no_average_whatever_the_span(client, laboratory):
    cast.enter(laboratory, typed="", unit="", trace=trace_choice(laboratory), modes=("BR",))
    figure = ask(client, laboratory, "edda", span="50").context["look"]["figure"]
    assert [row[4] for row in figure["table"].rows] == ["none", "none"]


def test_a_result_without_a_trace_offers_nothing(client, laboratory):
    cast.enter(laboratory, typed="1.25")
    assert ask(client, laboratory, span="50").context["look"] is None
