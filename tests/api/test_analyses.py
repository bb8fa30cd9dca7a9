"""The analyses through the interface: what others computed is read there with every digit."""

import re
from decimal import Decimal

import pytest
from django.test import Client

from labrecords.actions import people
from tests import loaded
from tests import world as lab
from tests.pages import test_changes
from tests.reference import tables
from tests.stats.test_comparisons import SLEEP
from tests.windows import cast
from tests.windows.test_pages import groups_of_r


@pytest.fixture
def world(laboratory):
    return laboratory


def read(world, study, what, status=200):
    return read_address(world, f"/api/studies/{study.code}/{what}/", status=status)


def read_address(world, address, status=200):
    token = people.give_token(person=world.edda, label="own", by=world.magnus, at=world.at)
    answer = Client(headers={"Authorization": f"Token {token}"}).get(address)
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


# Student's ten pairs as two independent groups, as R's documentation of t.test shows them: Welch's t -1.8608 with
# 17.776 degrees of freedom, p 0.07939, interval -3.3654832 to 0.2054832, from memory. Five is added to each value.
def test_r_s_welch_example_is_read_off_the_comparison(world):
    made = []
    for row in SLEEP:
        study = loaded.planned(world, [cast.group("L", 10)])
        loaded.received(world, study, ["L"])
        loaded.entered(world, study, {"L": [str(Decimal(str(value)) + 5) for value in row]})
        made.append(study)
    found = read_address(world, f"/api/comparison/?one={made[0].code}/1&other={made[1].code}/1")
    assert (found["agree"], found["ratio"], found["why_not"]) == (True, None, "")
    assert found["means"]["p_value"] == pytest.approx(0.07939, abs=5e-6)
    interval = found["means"]["interval"]
    assert (interval["low"], interval["high"]) == pytest.approx((-3.3654832, 0.2054832), abs=5e-8)


def test_groups_taken_two_ways_have_no_numbers_to_be_read(world):
    lab.authorise(world.runa, world.method, by=world.magnus, at=world.at, technique="C")
    made = []
    for technique, values in (("A", ["1.2", "1.3", "1.25"]), ("C", ["2.5", "2.4", "2.6"])):
        study = loaded.planned(world, [cast.group("L", 3)], setup={"technique": technique})
        loaded.received(world, study, ["L"])
        loaded.entered(world, study, {"L": values}, technique=technique)
        made.append(study)
    found = read_address(world, f"/api/comparison/?one={made[0].code}/1&other={made[1].code}/1")
    assert (found["agree"], found["means"], found["spreads"]) == (False, None, None)
    assert (found["differs"][0]["label"], found["differs"][0]["weight"]) == ("Technique", "breaks comparison")
    assert found["ratio"]["ratio"] == pytest.approx(1.25 / 2.5, rel=1e-12)
    read_address(world, "/api/comparison/?one=S-2026-9999/1&other=x", status=404)
