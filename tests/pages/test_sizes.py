"""Sample sizes: against R, and through the page into a plan and its report."""

import re

import pytest
from django.urls import reverse

from labrecords.stats import bound_size
from tests.reference import tables

ROWS = tables.rows("r_bound_size.csv")[1:]


@pytest.fixture
def world(laboratory):
    return laboratory


@pytest.mark.parametrize("row", [row for row in ROWS if row[0] == "bound"])
def test_r_gives_the_same_size_for_a_bound(row):
    """R 4.2.2, pt and qt of the non-central t; they are good to about ten digits."""
    away, coverage, confidence, chance, n, achieved = map(float, row[1:])
    found = bound_size.for_bound(distance=away * 0.1, sd=0.1, coverage=coverage, confidence=confidence, chance=chance)
    assert found.n == n
    assert found.power_achieved == pytest.approx(achieved, rel=1e-8)


@pytest.mark.parametrize("row", [row for row in ROWS if row[0] == "sd"])
def test_r_gives_the_same_degrees_of_freedom(row):
    confidence, ratio, df, reached = map(float, row[3:])
    found = bound_size.for_sd(ratio=ratio, confidence=confidence)
    assert found.df == df
    assert found.ratio_achieved == pytest.approx(reached, rel=1e-12)


@pytest.mark.parametrize(
    ("given", "said"),
    [({"coverage": 0.4}, "coverage must be 0.5"), ({"distance": 0.16}, "distance over sd must be above 1.64")],
)
def test_a_bound_that_no_number_brings_there_is_refused(given, said):
    plan = {"distance": 0.3, "sd": 0.1, "coverage": 0.95, "confidence": 0.95, "chance": 0.9}
    with pytest.raises(ValueError, match=said):
        bound_size.for_bound(**plan | given)


@pytest.mark.parametrize(("given", "said"), [({"ratio": 1}, "above 1"), ({"confidence": 0.4}, "0.5 or more")])
def test_a_ratio_that_cannot_be_is_refused(given, said):
    with pytest.raises(ValueError, match=said):
        bound_size.for_sd(**{"ratio": 1.3, "confidence": 0.95} | given)


# The usual answers: NIST e-Handbook 7.2.4.1 and common tables of success runs, from memory; the others from R above
# and from the worked examples of the functions.
ASKED = {
    "attributes": ({"reliability": "0.95", "confidence": "0.95", "failures": "0"}, "59 packs"),
    "bound": (
        {"distance": "0.3", "sd": "0.1", "unit": "lbf/in", "coverage": "0.95", "confidence": "0.95", "chance": "0.9"},
        "19 packs a group",
    ),
    "mean": ({"sd": "0.1", "half_width": "0.05", "unit": "lbf/in", "confidence": "0.95"}, "18 packs"),
    "equivalence": (
        {"sd": "1", "margin": "1", "true_difference": "0", "unit": "lbf/in", "confidence": "0.95", "chance": "0.9"},
        "23 packs in each of the two groups",
    ),
    # 27 degrees of freedom (R): five technicians, one lot, 6 strips and one more
    "validation": ({"technicians": "5", "lots": "1", "ratio": "1.3", "confidence": "0.95"}, "7 strips of each lot"),
}


@pytest.mark.parametrize("kind", ASKED)
def test_the_page_answers_and_its_words_go_into_a_plan(client, world, kind):
    given, said = ASKED[kind]
    client.force_login(world.edda)
    page = client.get(reverse("sizes"), given | {"kind": kind})
    text = page.content.decode()
    assert page.status_code == 200
    assert said in text
    taken = re.search(r'href="([^"]*rationale=[^"]*)"', text)[1]
    plan = client.get(taken.replace("&amp;", "&")).content.decode()
    assert page.context["found"].words.split(":")[0] in plan


def test_two_failures_of_ninety_nine_per_cent(client, world):
    """628 for 95 % confidence, 99 % reliability and two failures: by the binomial sum, as any table prints it."""
    client.force_login(world.edda)
    given = {"kind": "attributes", "reliability": "0.99", "confidence": "0.95", "failures": "2"}
    assert "628 packs" in client.get(reverse("sizes"), given).content.decode()


def test_what_no_number_of_packs_does_is_said_and_nothing_typed_is_lost(client, world):
    client.force_login(world.edda)
    answer = client.get(reverse("sizes"), ASKED["bound"][0] | {"kind": "bound", "distance": "0.15"})
    assert answer.status_code == 422
    assert "No number of packs does it as asked" in answer.content.decode()
    assert 'value="0.15"' in answer.content.decode()


@pytest.mark.parametrize("value", ["0", "1", "1.2", "most"])
def test_a_share_is_between_nothing_and_all(client, world, value):
    client.force_login(world.edda)
    answer = client.get(reverse("sizes"), ASKED["attributes"][0] | {"kind": "attributes", "confidence": value})
    assert answer.status_code == 422


def test_an_unknown_question_is_the_first(client, world):
    client.force_login(world.edda)
    assert "Every pack, or all but a few, passes" in client.get(reverse("sizes"), {"kind": "x"}).content.decode()
