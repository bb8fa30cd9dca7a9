"""The analyses through the interface: what others computed is read there with every digit."""

import re

import pytest
from django.test import Client

from labrecords.actions import people
from tests import loaded
from tests.pages import test_changes
from tests.reference import tables
from tests.windows import cast
from tests.windows.test_pages import groups_of_r


@pytest.fixture
def world(laboratory):
    return laboratory


def read(world, study, what, status=200):
    token = people.give_token(person=world.edda, label=what, by=world.magnus, at=world.at)
    answer = Client(headers={"Authorization": f"Token {token}"}).get(f"/api/studies/{study.code}/{what}/")
    assert answer.status_code == status
    return answer.json()


def test_r_s_many_to_one_answers(world):
    """R 4.2.2, multcomp 1.4-22, on the constructed set in tests/reference/data/r_comparisons_groups.csv."""
    study = cast.made(world, groups_of_r(), setup={"decimals": 3})
    (place,) = read(world, study, "window")["places"]
    answers = dict(tables.rows("r_comparisons.csv")[1:])
    rows = {row["setting"]: row for row in place["against_nominal"]}
    assert rows.keys() == {"low", "high", "over"}
    for name, row in rows.items():
        half = (row["interval"]["high"] - row["interval"]["low"]) / 2
        assert half == pytest.approx(
            float(answers[f"dunnett:groups:{name}:half"]), rel=1e-3
        )  # R integrates at random points
        assert row["p_value"] == pytest.approx(float(answers[f"dunnett:groups:{name}:p_value"]), rel=1e-2)
    assert place["why_not"] == ""


def test_nist_s_certified_analysis_of_variance(world):
    """NIST StRD SiRstv; the fourteen digits of the certificate, as far as doubles hold them."""
    study = test_changes.made(
        world, test_changes.SIRSTV, setup={"unit": "gf/in", "decimals": 4, "expected_weak_n": 1.5}
    )
    loaded.entered(world, study, test_changes.SIRSTV, unit="gf/in")
    found = read(world, study, "changes")
    (lot,) = (row for row in found["explained"] if row["factor"] == "Lot")
    assert lot["f_statistic"] == pytest.approx(1.18046237440255, rel=1e-12)
    assert lot["r_squared"] == pytest.approx(1.90999039051129e-1, rel=1e-12)
    assert (lot["levels"], found["n"]) == (5, 25)


def test_a_window_without_results_has_no_numbers(world):
    lots = ["low", "nominal", "high"]
    study = loaded.planned(world, [cast.group(lot, 3) for lot in lots], window=cast.window(lots))
    (place,) = read(world, study, "window")["places"]
    assert [row["mean"] for row in place["settings"]] == [None] * 3
    assert place["against_nominal"] == []
    assert re.match("low has fewer than two packs", place["why_not"])
    changed = read(world, study, "changes")
    assert (changed["n"], changed["shift"], changed["difference"]) == (0, None, None)


def test_a_study_that_looks_for_no_window_has_none(world):
    assert read(world, world.study, "window", status=404)["code"] == "not-found"
