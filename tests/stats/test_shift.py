"""One shift of the mean in a series, and the share that a grouping explains."""

import numpy as np
import pytest

from labrecords.stats import shift
from tests.reference import tables

# Flow of the Nile at Aswan, 1871 to 1970, from R 4.2.2's datasets, with R's pooled t at every place. Cobb (Biometrika
# 65, 1978) and many after him put the shift after 1898 (from memory).
NILE = tables.rows("r_shift.csv")[1:]
FLOW = [float(flow) for _, flow, _ in NILE]


def test_the_nile_fell_after_1898():
    found = shift.largest_shift(FLOW)
    assert NILE[found.place - 1][0] == "1898"
    assert found.p_value == 1 / 2000
    assert (found.before, found.after) == pytest.approx((np.mean(FLOW[:28]), np.mean(FLOW[28:])), rel=1e-14)


def test_the_statistic_is_the_largest_of_r_s_pooled_t():
    found = shift.largest_shift(FLOW)
    sizes = {place: float(t) for place, (_, _, t) in enumerate(NILE, start=1) if t}
    assert len(sizes) == 95
    assert found.place == max(sizes, key=sizes.get)
    assert found.statistic == pytest.approx(sizes[found.place], rel=1e-12)


def test_series_without_a_shift_seldom_get_a_small_p():
    """Of 200 series without one, 5 % are below 0.05: 2 to 20 of them, but for one chance in a thousand or so."""
    rng = np.random.default_rng(7)
    below = sum(shift.largest_shift(rng.normal(size=24)).p_value <= 0.05 for _ in range(200))
    assert 1 <= below <= 22


def test_control_series_with_one_do():
    rng = np.random.default_rng(7)
    step = np.repeat([0.0, 2.0], 12)
    below = sum(shift.largest_shift(rng.normal(size=24) + step).p_value <= 0.05 for _ in range(20))
    assert below >= 18


def test_the_years_about_1898_fit_nearly_as_well():
    """From R's t alone: n ln((98 + t of 1898 squared) / (98 + t squared)) is at most qchisq(0.95, 1)."""
    sizes = {place: float(t) for place, (_, _, t) in enumerate(NILE, start=1) if t}
    best = max(sizes.values())
    near = [place for place, t in sizes.items() if 100 * np.log((98 + best**2) / (98 + t**2)) <= 3.8414588]
    found = shift.largest_shift(FLOW)
    assert sorted(found.plausible) == near
    assert found.plausible[0] == found.place


def test_a_clean_step_has_no_residual():
    found = shift.largest_shift([1, 1, 1, 2, 2, 2])
    assert (found.place, found.before, found.after) == (3, 1, 2)


@pytest.mark.parametrize(
    ("values", "said"),
    [([1, 2, 3, 4, 5], "at least 6"), ([2.0] * 6, "must not all be equal"), ([1, 2, 3, 4, 5, np.nan], "finite")],
)
def test_what_cannot_be_looked_at_is_refused(values, said):
    with pytest.raises(ValueError, match=said):
        shift.largest_shift(values)


@pytest.mark.parametrize(
    ("labels", "said"), [(["a", "a", "a"], "2 levels"), (["a", "b", "c"], "2 levels"), (["a", "b"], "as many as")]
)
def test_labels_that_explain_nothing_are_refused(labels, said):
    with pytest.raises(ValueError, match=said):
        shift.explained([1.0, 2.0, 3.0], labels)
