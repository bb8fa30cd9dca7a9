"""The demo's traces: they say what was asked of them when they are reduced as real ones are."""

import numpy as np
import pytest

from labrecords.files.reader import read
from labrecords.files.sniff import sniff
from labrecords.management.demo.peel import as_text, peel_trace
from labrecords.rules.labels import label
from labrecords.stats.traces import clean_trace, measured_rate, reduce_trace

USUAL = {
    "mean_force_n": 5.0,
    "peel_travel_mm": 20.0,
    "cell_capacity_n": 50.0,
    "rate_mm_min": 300.0,
    "sampling_hz": 100.0,
}


def reduced(trace):
    clean = clean_trace(trace.displacement_mm, trace.force_n)
    return reduce_trace(clean.displacement_mm, clean.force_n)


@pytest.mark.parametrize("mean", [1.5, 5.0, 12.0])
@pytest.mark.parametrize("seed", range(5))
def test_the_average_is_the_one_asked_for(mean, seed):
    result = reduced(peel_trace(seed=seed, **{**USUAL, "mean_force_n": mean}))
    assert result.mean_force_n == pytest.approx(mean, rel=0.03)
    assert 1.03 * mean < result.peak_force_n < 1.5 * mean
    assert not result.start_open
    assert not result.end_open


def noise(capacity):
    traces = [peel_trace(seed=seed, **{**USUAL, "cell_capacity_n": capacity}) for seed in range(20)]
    return np.mean([reduced(trace).noise_n for trace in traces])


def test_noise_grows_with_the_capacity_of_the_cell():
    assert noise(500.0) / noise(50.0) == pytest.approx(10, rel=0.1)


def test_the_rate_and_the_sampling_are_the_ones_asked_for():
    trace = peel_trace(seed=1, **{**USUAL, "rate_mm_min": 279.4, "sampling_hz": 40.0})
    assert measured_rate(trace.displacement_mm, trace.time_s) == pytest.approx(279.4, rel=1e-4)
    np.testing.assert_allclose(np.diff(trace.time_s), 1 / 40, rtol=1e-9)


def test_the_same_seed_gives_the_same_trace():
    first, again, other = (peel_trace(seed=seed, **USUAL).force_n for seed in (7, 7, 8))
    np.testing.assert_array_equal(first, again)
    assert not np.array_equal(first, other)


def test_a_tear_is_one_peak_and_a_sudden_drop_after_short_travel():
    tear, peel = (peel_trace(seed=3, kind=kind, **USUAL) for kind in ("tear", "peel"))
    peak = int(tear.force_n.argmax())
    assert tear.force_n[peak] == pytest.approx(5.0, rel=0.03)
    assert abs(tear.force_n[peak + 2]) < 0.1
    assert reduced(tear).end_mm - reduced(tear).start_mm < 0.4 * (reduced(peel).end_mm - reduced(peel).start_mm)


def test_a_slip_has_sudden_drops_that_a_peel_has_not():
    slip, peel = (peel_trace(seed=3, kind=kind, **USUAL) for kind in ("slip", "peel"))
    middle = slice(100, 350)
    assert np.diff(slip.force_n[middle]).min() < -1.0
    assert np.diff(peel.force_n[middle]).min() > -1.0


@pytest.mark.parametrize("unit", ["N", "lbf"])
@pytest.mark.parametrize("layout", ["comma", "semicolon", "side-by-side"])
def test_files_are_found_out_and_read_back(layout, unit):
    traces = [peel_trace(seed=seed, kind=kind, **USUAL) for seed, kind in enumerate(["peel", "tear", "slip"])]
    codes = [label("SP", number) for number in (11, 12, 13)]
    data = as_text(traces, codes=codes, rate="300 mm/min", technique="A", width="15 mm", unit=unit, layout=layout)
    segments = read(data.encode(), sniff(data.encode()).layout, name="batch.txt").segments
    assert [[str(code) for code in segment.codes] for segment in segments] == [[code] for code in codes]
    for segment, trace in zip(segments, traces, strict=True):
        assert segment.stated["rate"] == "300 mm/min"
        assert (segment.stated["technique"], segment.stated["width"]) == ("A", "15 mm")
        np.testing.assert_allclose(segment.displacement_mm, trace.displacement_mm, atol=1e-9)
        np.testing.assert_allclose(segment.force_n, trace.force_n, atol=5e-4)
