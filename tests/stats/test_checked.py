import numpy as np
import pytest

from labrecords.stats import checked


@pytest.mark.parametrize(
    ("data", "sentence"),
    [
        ([1, float("nan")], r"speeds must be finite numbers .* got nan at position 2\."),
        ([float("-inf"), 1], r"speeds must be finite numbers .* got -inf at position 1\."),
        (
            [1, 2e100],
            r"speeds must be finite numbers no larger than 1e\+100 in size; got 2e\+100 at position 2\.",
        ),
        ([1], r"speeds must hold at least 2 numbers; got 1\."),
        ([[1, 2]], r"speeds must be one-dimensional; got 2 dimensions\."),
        (7, r"speeds must be one-dimensional; got 0 dimensions\."),
        (["fast"], r"speeds must be a list of numbers; got \['fast'\]\."),
        (["1", "2"], r"speeds must be a list of numbers; got \['1', '2'\]\."),
        ([True, False], r"speeds must be a list of numbers; got \[True, False\]\."),
        ([1, 2j], r"speeds must be a list of numbers; got "),
        ([[1], [1, 2]], r"speeds must be a list of numbers; got "),
        (np.array(["2024-01-01"], dtype="M8[D]"), r"speeds must be a list of numbers; got "),
        ([1, None], r"speeds must be finite numbers"),
    ],
)
def test_array_refuses(data, sentence):
    with pytest.raises(ValueError, match=sentence):
        checked.array(data, name="speeds", at_least=2)


def test_array_takes_any_sequence_of_numbers():
    assert checked.array((1, 2)).dtype == np.float64
    assert checked.array([], at_least=0).size == 0


def test_numbers_of_the_largest_size_are_taken_however_many():
    assert checked.array(np.full(1000, -1e100)).size == 1000


def test_spread_refuses_equal_values():
    with pytest.raises(ValueError, match=r"values must not all be equal; got 3 times 0\.1\."):
        checked.spread([0.1, 0.1, 0.1])
    with pytest.raises(ValueError, match=r"values must not all be equal"):
        checked.spread([0, 1e-170])  # its square is 0
    assert checked.spread([0.1, 0.1 + 1e-16]).size == 2


@pytest.mark.parametrize("value", ["0.5", b"0.5", True, None, 1 + 2j, [1]])
def test_numbers_refuse_other_types(value):
    for check in (checked.finite, checked.positive, checked.fraction):
        with pytest.raises(ValueError, match=r"share must be .*; got "):
            check(value, name="share")


@pytest.mark.parametrize("value", [float("nan"), float("inf"), 10**400])
def test_finite_refuses_what_is_not(value):
    with pytest.raises(ValueError, match=r"share must be a finite number; got "):
        checked.finite(value, name="share")


@pytest.mark.parametrize("value", [0, 1, -0.1, 95, float("nan")])
def test_fraction_refuses_the_outside(value):
    with pytest.raises(ValueError, match=r"share must be between 0 and 1, both left out; got "):
        checked.fraction(value, name="share")


def test_limits_of_size():
    with pytest.raises(ValueError, match=r"width must be above 0; got 0\."):
        checked.positive(0, name="width")
    with pytest.raises(ValueError, match=r"df must be 1 or more; got 0\.5\."):
        checked.at_least(0.5, 1, name="df")
    assert checked.at_least(1, 1, name="df") == 1.0


@pytest.mark.parametrize(
    ("value", "sentence"),
    [
        (1, r"n must be at least 2; got 1\."),
        (2.0, r"n must be a whole number; got 2\.0\."),
        ("2", r"n must be a whole number; got '2'\."),
        (10**10, r"n must be at most 1000000000; got more\."),
    ],
)
def test_count_refuses(value, sentence):
    with pytest.raises(ValueError, match=sentence):
        checked.count(value, name="n", at_least=2)


def test_count_takes_numpy_integers():
    assert checked.count(np.int64(5), name="n") == 5


@pytest.mark.parametrize("value", ["cubic", None, ["normal"]])
def test_choice_refuses(value):
    with pytest.raises(ValueError, match=r"model must be one of normal, lognormal; got "):
        checked.choice(value, name="model", options=("normal", "lognormal"))


def test_same_length_refuses():
    with pytest.raises(ValueError, match=r"a and b must be equally long; got 2 and 3\."):
        checked.same_length(np.ones(2), np.ones(3), names=("a", "b"))
