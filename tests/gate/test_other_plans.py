"""Results in studies that are planned another way than the usual one."""

from decimal import Decimal

import pytest

from labrecords.queries import numbers
from labrecords.reports.findings import findings
from tests import world as cast


def test_a_measured_width_is_the_specimens_own(db, monkeypatch):
    monkeypatch.setattr(cast, "SETUP", cast.SETUP | {"width_measured": True})
    world = cast.build()
    kept = cast.enter(world, typed="6.00", unit="N", width_mm=Decimal("12.7"))
    # 6 N over half an inch: twice 6 N/in
    assert float(kept.result.strength) == pytest.approx(2 * 6 / 4.4482216152605, rel=1e-9)


def test_the_tolerance_rule_holds_each_limit_against_the_bound_of_its_side(db, monkeypatch):
    monkeypatch.setattr(cast, "STUDY", cast.STUDY | {"decision_rule": "tolerance bound"})
    upper = cast.LIMITS[0] | {"side": "upper", "value": Decimal("1.75")}
    monkeypatch.setattr(cast, "LIMITS", [*cast.LIMITS, upper])
    world = cast.build()
    for specimen, typed in zip(world.specimens, ("1.2", "1.4", "1.6", "1.8"), strict=True):
        cast.enter(world, specimen=specimen, typed=typed)
    (group,) = numbers.study_numbers(world.study)
    low, high = group.verdicts
    assert (low.limit.side, low.outside, low.met) == ("lower", 0, False)  # the bound is 0.17
    assert (high.limit.side, high.outside, high.met) == ("upper", 1, False)  # and 2.83
    assert (group.bound.value, group.upper_bound.value) == pytest.approx((0.1719, 2.8281), abs=1e-4)


def test_an_upper_limit_is_told_wherever_a_lower_one_is(db, client, monkeypatch):
    monkeypatch.setattr(cast, "LIMITS", [cast.LIMITS[0] | {"side": "upper", "value": Decimal("1.75")}])
    world = cast.build()
    for specimen, typed in zip(world.specimens, ("1.2", "1.4", "1.6", "1.8"), strict=True):
        cast.enter(world, specimen=specimen, typed=typed)
    summary = " ".join(findings(world.study)["summary"])
    assert "95 % of the seals of L1, as made, side are weaker than 2.83 lbf/in" in summary
    client.force_login(world.edda)
    page = client.get(f"/studies/{world.study.code}/").content.decode()
    assert ">Above limit</th>" in page
    assert ">Below limit</th>" not in page  # there is no lower limit
    assert "above a limit 1." in page
    assert '<td class="number">2.83</td>' in page
