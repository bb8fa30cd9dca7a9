"""Two groups side by side: a difference only where the set-up marks agree, and never a factor."""

import re
from dataclasses import replace
from datetime import timedelta
from decimal import Decimal

import pytest
from django.urls import reverse
from scipy import stats

from labrecords.actions import clients, studies
from labrecords.queries import comparing
from tests import world as cast

FIRST, SECOND = ("1.20", "1.40", "1.60", "1.80"), ("1.30", "1.35", "1.55", "1.50")


@pytest.fixture
def world(laboratory):
    return laboratory


def pull(world, values, **reading):
    for specimen, typed in zip(world.specimens, values, strict=True):
        cast.enter(world, specimen=specimen, typed=typed, **reading)


def another(world, **setup):
    """Another study of the same client, with another set-up if one is given, and a run of its own."""
    made = replace(world)
    technique = setup.get("technique", "A")
    if technique != "A":
        cast.authorise(world.runa, world.method, by=world.magnus, at=world.at, technique=technique)
    made.study = studies.lock(study=cast.plan(world, **setup), by=world.edda, at=world.at - timedelta(days=8))
    made.specimens = cast.receive(made)
    made.run = cast.open_run(made)
    return made


def names(*worlds):
    return {field: f"{one.study.code}/1" for field, one in zip(("one", "other"), worlds, strict=True)}


def test_groups_taken_one_way_are_compared(world):
    pull(world, FIRST)
    other = another(world)
    pull(other, SECOND)
    found = comparing.compare(**names(world, other))
    assert found.agree
    # scipy's own Welch test on the same values
    expected = stats.ttest_ind([float(v) for v in FIRST], [float(v) for v in SECOND], equal_var=False)
    assert found.means.statistic == pytest.approx(expected.statistic, rel=1e-9)
    assert found.means.p_value == pytest.approx(expected.pvalue, rel=1e-9)
    assert found.ratio is None
    assert {item.label for item in found.differs} == set()


def test_another_technique_is_shown_as_a_ratio_and_neither_pooled_nor_tested(client, world):
    pull(world, FIRST)
    other = another(world, technique="C")
    pull(other, ("2.60", "2.80", "3.00", "3.20"), technique="C")
    found = comparing.compare(**names(world, other))
    assert (found.means, found.spreads) == (None, None)
    assert found.ratio.ratio == pytest.approx(1.5 / 2.9)
    assert found.differs[0].label == "Technique"
    client.force_login(world.edda)
    page = client.get(reverse("compare"), names(world, other)).content.decode()
    assert "Not comparable" in page
    assert "No factor converts one into the other" in page
    assert "0.52 times the second" in page
    assert "Difference of the means" not in page


def test_another_rate_gives_no_ratio_either(world):
    pull(world, FIRST)
    other = another(world, rate=Decimal("10"))
    pull(other, SECOND, rate=Decimal("10"))
    found = comparing.compare(**names(world, other))
    assert (found.means, found.ratio) == (None, None)
    assert [item.label for item in found.differs if item.weight == "breaks comparison"] == ["Grip separation rate"]


def test_values_that_are_not_known_give_a_sentence(client, world):
    for specimen, typed in zip(world.specimens[:3], FIRST, strict=False):
        cast.enter(world, specimen=specimen, typed=typed)
    cast.enter(world, specimen=world.specimens[3], opened=True, typed="", unit="", modes=())
    other = another(world)
    pull(other, SECOND)
    found = comparing.compare(**names(world, other))
    assert found.means is None
    assert "could not be measured" in found.why_not


@pytest.mark.parametrize(("values", "words"), [(("1.2",), "fewer than two packs"), (("1.2",) * 4, "do not allow it")])
def test_too_little_to_compare_is_said(client, world, values, words):
    for specimen, typed in zip(world.specimens, values, strict=False):
        cast.enter(world, specimen=specimen, typed=typed)
    other = another(world)
    pull(other, ("1.3",) * 4)
    client.force_login(world.edda)
    page = client.get(reverse("compare"), names(world, other)).content.decode()
    assert words in page


def test_a_group_is_not_compared_with_itself_and_an_unknown_one_is_refused(client, world):
    pull(world, FIRST)
    client.force_login(world.edda)
    same = names(world, world)
    assert client.get(reverse("compare"), same).status_code == 422
    assert client.get(reverse("compare"), same | {"other": "S-1999-0001/1"}).status_code == 422
    assert client.get(reverse("compare")).status_code == 200


def test_a_value_that_waits_is_in_no_number(world):
    pull(world, FIRST)
    other = another(world)
    warm = cast.open_run(other, room_c=27.0)
    for specimen, typed in zip(other.specimens, SECOND, strict=True):
        cast.enter(other, specimen=specimen, typed=typed, run=warm)
    found = comparing.compare(**names(world, other))
    assert found.other.packs == ()
    assert "fewer than two packs" in found.why_not


def for_client(client, world, **asked):
    client.force_login(world.edda)
    return client.get(reverse("compare-for-client"), asked)


def test_the_page_for_the_client_says_why_the_numbers_differ(client, world):
    pull(world, FIRST)
    other = another(world, technique="C")
    pull(other, SECOND, technique="C")
    assert "As a page for the client" in client_page(client, world, other)
    page = re.sub(r"\s+", " ", for_client(client, world, **names(world, other)).content.decode())
    assert "For Fjell Instruments, from Tern Peel Laboratory, " in page
    assert "both sets of numbers are right" in page
    assert "the numbers are not compared, and none is turned into the other" in page
    assert "It is no factor" in page
    assert "how the tail is held decides how much of the force goes into bending the webs" in page
    assert "does not show that a pack is tight" in page


def client_page(client, world, other):
    client.force_login(world.edda)
    return client.get(reverse("compare"), names(world, other)).content.decode()


def test_no_page_for_a_client_shows_another_s_numbers(client, world):
    pull(world, FIRST)
    project = clients.add_project(
        client=world.otto.client, code="BR-01", title="Tray", by=world.edda, at=world.at - timedelta(days=10)
    )
    other = another(replace(world, project=project))
    pull(other, SECOND)
    answer = for_client(client, world, **names(world, other))
    assert answer.status_code == 409
    text = answer.content.decode()
    assert "Not shown: two clients" in text
    assert "Brand Implants" not in text
    assert not any(value in text for value in SECOND)


def test_a_group_that_is_not_there_is_not_found(client, world):
    assert for_client(client, world, one="S-1999-0001/1", other="S-1999-0001/2").status_code == 404
