"""What the review page points at first."""

import re

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext
from django.urls import reverse

from labrecords.actions import corrections, voids
from labrecords.models import Study
from labrecords.queries import risk
from tests import loaded
from tests import world as cast
from tests.budgets import cast as budgets


@pytest.fixture
def world(laboratory):
    return laboratory


def looks(study) -> dict[str, tuple[str, ...]]:
    return {look.words: look.labels for look in risk.of(Study.objects.get(pk=study.pk))}


def test_where_all_went_by_itself_there_is_nothing(client, world):
    for strip in world.specimens:
        cast.enter(world, specimen=strip, typed="1.52")
    assert looks(world.study) == {}
    client.force_login(world.sefa)
    text = client.get(reverse("review-study", args=[world.study.code])).content.decode()
    assert "Nothing lies near a limit" in text


def test_what_did_not_is_named_with_its_strips(client, world):
    first, second, third, fourth = (strip.label for strip in world.specimens)
    for strip, typed in zip(world.specimens, ("1.03", "0.97", "1.52", "1.40"), strict=True):
        cast.enter(world, specimen=strip, typed=typed, entered_by=world.edda if typed == "1.40" else None)
    asked = {"reason": "typing", "words": "w", "typed": "1.53", "unit": "lbf/in", "modes": ("AP",)}
    corrections.ask(specimen=world.specimens[2], by=world.runa, at=world.at, **asked)
    voids.void(specimen=world.specimens[3], cause="cut", words="Nicked.", by=world.magnus, at=world.at)
    assert looks(world.study) == {
        "Near the limit at least 1 lbf/in": (first, second),
        "Corrected after it was kept": (third,),
        "Void": (fourth,),
        "Entered by somebody else than pulled it": (fourth,),
    }
    client.force_login(world.sefa)
    text = re.sub(r"\s+", " ", client.get(reverse("review-study", args=[world.study.code])).content.decode())
    assert "<dt>Near the limit at least 1 lbf/in</dt>" in text
    assert reverse("specimen", args=[first]) in text


def test_the_uncertainty_says_how_near_is_near(world):
    budgets.approved(world)  # a tenth of the limit
    study = loaded.planned(world, cast.GROUPS, limits=cast.LIMITS)
    loaded.received(world, study, ["L1"])
    loaded.entered(world, study, {"L1": ["1.09", "1.11", "1.52", "1.40"]})
    assert len(looks(study)["Near the limit at least 1 lbf/in"]) == 1


def test_the_number_of_queries_does_not_grow(world):
    counts = []
    for lots in (1, 3):
        groups = [cast.GROUPS[0] | {"lot": f"L{place}"} for place in range(lots)]
        study = loaded.planned(world, groups, limits=cast.LIMITS)
        loaded.received(world, study, [group["lot"] for group in groups])
        loaded.entered(world, study, {group["lot"]: ["1.03"] * 4 for group in groups})
        study = Study.objects.get(pk=study.pk)
        with CaptureQueriesContext(connection) as caught:
            risk.of(study)
        counts.append(len(caught))
    assert counts[0] == counts[1]
