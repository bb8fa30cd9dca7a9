"""What the review page points at first."""

import json
import re

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext
from django.urls import reverse

from labrecords.actions import corrections, voids
from labrecords.actions.refusals import Refused
from labrecords.models import Entry, Event, Study
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
    for strip, typed in zip(world.specimens, ("1.52", "1.52", "1.50", "1.52"), strict=True):
        cast.enter(world, specimen=strip, typed=typed)
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


def test_what_was_confirmed_or_typed_again_is_named(world):
    study = loaded.planned(world, [cast.GROUPS[0] | {"packs": 8}], limits=cast.LIMITS)
    loaded.received(world, study, ["L1"])
    run = cast.open_run(world, study=study)
    strips = list(study.specimens.order_by("label"))
    for strip, typed in zip(strips, ("1.52", "1.40", "1.45", "1.50", "1.50", "1.50"), strict=False):
        cast.enter(world, specimen=strip, run=run, typed=typed)
    seventh = strips[6]
    with pytest.raises(Refused, match=r"Is 14\.8 lbf/in ten times too large"):
        cast.enter(world, specimen=seventh, run=run, typed="14.8", confirmed=("odd-trace",))
    assert study.specimens.filter(results__isnull=False).count() == 6
    cast.enter(world, specimen=seventh, run=run, typed="14.8", confirmed=("factor-of-ten", "odd-trace"))
    assert Entry.objects.get(result__specimen=seventh).noticed == ["factor-of-ten"]
    body = Event.objects.filter(act="result.kept").latest("id").body
    assert json.loads(body)["after"]["noticed"] == ["factor-of-ten"]
    assert looks(study) == {
        "About ten times the others or a tenth, and confirmed": (seventh.label,),
        "The same value typed three times running": (strips[5].label,),
        "Marked": (seventh.label,),  # above the capacity of the load cell, too
    }


def test_a_value_that_waits_takes_no_part_and_is_not_told_of(world):
    study = loaded.planned(world, [cast.GROUPS[0] | {"packs": 8}])
    loaded.received(world, study, ["L1"])
    warm = cast.open_run(world, study=study, room_c=29.0)
    strips = list(study.specimens.order_by("label"))
    for strip, typed in zip(strips, ("1.52", "1.40", "1.45", "1.50", "1.50"), strict=False):
        cast.enter(world, specimen=strip, run=warm, typed=typed)  # held: the room was too warm
    cast.enter(world, specimen=strips[5], run=warm, typed="14.8")  # five that wait are none
    assert {tuple(entry.noticed) for entry in Entry.objects.filter(result__run=warm)} == {()}
    assert set(looks(study)) == {"Kept under a deviation"}


def test_in_a_validation_study_only_ones_own_values_are_the_others(world):
    from labrecords.queries import facts

    for strip in world.specimens:
        cast.enter(world, specimen=strip, typed="1.5")
    first = world.specimens[0]
    everybodys = facts._others(world.run, first, own=False)
    world.run.person = world.timo
    assert len(everybodys.strengths) == 4
    assert facts._others(world.run, first, own=True).strengths == ()


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
