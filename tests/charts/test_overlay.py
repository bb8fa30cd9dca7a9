"""The overlay shows what was computed, and names what is odd."""

from dataclasses import replace

import numpy as np
import pytest

from labrecords.charts.overlay import trace_overlay

from .cast import trace, traces


def heights(figure, name):
    return [y for line in figure.lines if line.name == name for y in line.y if y is not None]


def test_every_peak_is_ringed_and_drawn_in_the_trace():
    given = traces()
    figure = trace_overlay(given)
    ringed = {code: y for points in figure.points for code, y in zip(points.codes, points.y, strict=True)}
    drawn = {y for line in figure.lines for y in line.y}
    assert ringed == {one.code: one.peak_n for one in given}
    assert set(ringed.values()) <= drawn


def test_drawn_trace_never_leaves_what_was_recorded():
    one = trace("ST-1", height=9, samples=20001)
    figure = trace_overlay([one])
    inside = heights(figure, "ST-1")
    assert max(inside) == one.peak_n
    assert len(inside) < 2000
    assert set(inside) <= set(np.asarray(one.force_n).tolist())


def test_span_of_the_chosen_trace_is_shaded_with_its_edges_named():
    (span,) = trace_overlay(traces(), chosen="ST-3").spans
    assert (span.low, span.high, span.low_label, span.high_label) == (4.0, 32.0, "4.0 mm", "32.0 mm")


def test_no_span_is_shaded_when_the_traces_have_different_ones():
    mixed = [trace("ST-0", height=8), trace("ST-1", height=8, span=(5.0, 30.0))]
    figure = trace_overlay(mixed)
    assert figure.spans == ()
    assert "each trace has its own" in figure.subtitle


def test_average_is_drawn_only_inside_the_span():
    one = trace("ST-1", height=9)
    (average,) = (line for line in trace_overlay([one]).lines if line.name == "average over the span")
    assert (average.x, average.y) == ((4.0, 32.0, None), (one.mean_n, one.mean_n, None))


def test_one_trace_says_what_was_averaged():
    one = replace(trace("ST-1", height=9), mean_n=8.97, analysed_points=1204)
    told = trace_overlay([one]).summary
    assert "Average force 8.97 N, of 1,204 points between 4.0 and 32.0 mm." in told


def test_summary_names_odd_traces_and_only_those():
    plain = trace("ST-1", height=9)
    odd = [
        replace(plain, code="ST-2", peak_mm=39.0),
        replace(plain, code="ST-3", analysed_from_mm=None, analysed_to_mm=None, mean_n=None),
        replace(plain, code="ST-4", mean_n=None),
        trace("ST-5", height=9, samples=41),
        replace(plain, code="ST-6", voided=True),
    ]
    told = trace_overlay([plain, *odd]).summary
    for code, words in (
        ("ST-2", "Peak outside the analysed span"),
        ("ST-3", "No span analysed"),
        ("ST-4", "No average reported"),
        ("ST-5", "Short file"),
        ("ST-6", "Not counted (void or set aside)"),
    ):
        assert [sentence.split(":")[0] for sentence in told if code in sentence] == [words]
    assert not any("ST-1" in sentence for sentence in told)


def test_voided_peak_does_not_set_the_range():
    given = [trace("ST-0", height=8), trace("ST-1", height=9), trace("ST-2", height=20, voided=True)]
    low, high = (f"{one.peak_n:.2f}" for one in given[:2])
    assert trace_overlay(given).title == f"The 2 traces peak between {low} and {high} N."


def test_several_lots_can_share_axes():
    one = trace_overlay([trace("ST-0", height=8)], force_high_n=30, travel_high_mm=60)
    other = trace_overlay([trace("ST-1", height=20)], force_high_n=30, travel_high_mm=60)
    assert (one.x.high, one.y.high) == (other.x.high, other.y.high)


def test_nothing_to_draw_and_unknown_choice_are_refused():
    with pytest.raises(ValueError, match="no trace"):
        trace_overlay([])
    with pytest.raises(ValueError, match="ST-99"):
        trace_overlay(traces(), chosen="ST-99")
