"""How many packs answer a question, in a sentence that may be printed."""

import pytest

from labrecords.rules import sizing


@pytest.mark.parametrize(("failures", "n"), [(0, 59), (1, 93), (2, 124)])
def test_packs_that_pass_or_fail(failures, n):
    """59, 93 and 124 packs for 95 % reliability at 95 % confidence, by the exact binomial: from memory."""
    found = sizing.attributes(reliability=0.95, confidence=0.95, failures=failures)
    assert (found.n, found.of) == (n, "packs")
    assert f"{n} packs" in found.words
    assert ("none fails" if failures == 0 else f"at most {failures} fail") in found.words


def test_packs_for_a_bound():
    found = sizing.bound(distance=0.3, sd=0.1, coverage=0.95, confidence=0.95, chance=0.9, unit="N/15 mm")
    assert found.n == 19  # the worked example of labrecords.stats.bound_size.for_bound
    assert "0.3 N/15 mm from mean to limit" in found.words
    assert "95 % coverage and 95 % confidence" in found.words


def test_packs_for_a_mean():
    """By hand: with n 18, t(0.975, 17) is 2.110 (Student's t table), and 2.110 x 0.1 / sqrt(18) is 0.0497."""
    found = sizing.mean(sd=0.1, half_width=0.05, confidence=0.95, unit="lbf/in")
    assert found.n == 18
    assert "reaches 0.0497 lbf/in to either side; 0.05 lbf/in is enough" in found.words


def test_packs_for_two_means_alike():
    told = {"sd": 0.1, "margin": 0.1, "true_difference": 0.0, "confidence": 0.95, "chance": 0.9, "unit": "lbf/in"}
    found = sizing.equivalence(**told)
    assert f"{found.n} packs in each of two groups" in found.words
    assert "two one-sided tests at 5 % show them alike within 0.1 lbf/in" in found.words
    assert sizing.equivalence(**told | {"true_difference": 0.05}).n > found.n


@pytest.mark.parametrize(("technicians", "lots", "strips"), [(6, 1, 6), (5, 3, 3), (27, 1, 2)])
def test_strips_for_a_validation(technicians, lots, strips):
    """27 degrees of freedom are needed: see tests/stats/test_bound_size.py. 6 x (6 - 1) is 30; 15 x (3 - 1) is 30."""
    found = sizing.validation(technicians=technicians, lots=lots, ratio=1.3, confidence=0.95)
    assert found.n == strips
    assert f"{technicians * lots * (strips - 1)} degrees of freedom, 27 are needed" in found.words
