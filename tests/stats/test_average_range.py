"""A gauge study by averages and ranges."""

import pandas as pd
import pytest
from hypothesis import given
from hypothesis import strategies as st

from labrecords.stats.average_range import average_and_range
from tests.stats.test_components import study


def test_an_operator_effect_smaller_than_the_noise_is_none():
    table = study(sds=(0.0, 1.0, 0.0, 0.5), seed=3)
    found = average_and_range(table)
    assert found.operator_sd == 0
    assert found.grr_sd == found.repeatability_sd


def test_a_poor_gauge_tells_no_categories_apart():
    assert average_and_range(study(sds=(2.0, 0.01, 0.0, 1.0), seed=1)).distinct_categories == 0


@given(st.integers(0, 500), st.floats(-50, 50), st.floats(0.01, 100))
def test_moved_and_stretched_values_move_and_stretch_the_answer(seed, shift, factor):
    table = study(seed=seed)
    other = table.assign(value=shift + factor * table["value"])
    plain, moved = average_and_range(table), average_and_range(other)
    assert moved.grr_sd == pytest.approx(factor * plain.grr_sd, rel=1e-6)
    assert moved.percent_study == pytest.approx(plain.percent_study, rel=1e-6, abs=1e-6)


@given(st.randoms())
def test_the_order_of_the_rows_does_not_matter(random):
    table = study(seed=4)
    order = list(table.index)
    random.shuffle(order)
    # labels are taken as they first come, so only the sum over operators may differ in its last digit
    assert average_and_range(table.loc[order]).grr_sd == pytest.approx(average_and_range(table).grr_sd, rel=1e-12)


@pytest.mark.parametrize(
    ("table", "words"),
    [
        (study().iloc[:-1], "equally often"),
        (study(parts=1), "at least 2 parts"),
        (study(operators=1), "at least 2 operators"),
        (study(sds=(0.5, 1.0, 0.1, 0.0)), "repeats that differ"),
        (pd.DataFrame({"part": ["a"], "value": [1.0]}), "operator"),
    ],
)
def test_what_cannot_be_judged_is_said(table, words):
    with pytest.raises(ValueError, match=words):
        average_and_range(table)
