"""The same rules in the database: no script gets past them."""

import pytest
from django.db import transaction

from labrecords.actions import trail
from labrecords.models import Limit, LimitDecision, SealingSetting, SealingWindow
from tests import world as lab
from tests.walls.refused import refused_as
from tests.windows import cast


@pytest.mark.parametrize("changed", [{"label": "lower"}, {"lot": "other"}, {"dwell_s": 2}, {"kind": "corner"}])
def test_a_locked_setting_does_not_change(window, changed):
    with refused_as("setup-locked"), transaction.atomic():
        SealingSetting.objects.filter(window__study=window, number=1).update(**changed)


def test_a_locked_window_is_neither_changed_nor_removed(window):
    for wrong in (
        lambda: SealingWindow.objects.filter(study=window).update(sealer="another"),
        lambda: SealingSetting.objects.filter(window__study=window).delete(),
        lambda: SealingSetting.objects.create(window=window.window, number=9, **cast.setting("over")),
    ):
        with refused_as("setup-locked"), transaction.atomic():
            wrong()


def test_control_the_settings_of_a_draft_change(world):
    draft = lab.plan(world)
    made = SealingWindow.objects.create(study=draft, sealer="bar sealer 2", openings=False)
    row = SealingSetting.objects.create(window=made, number=1, **cast.setting("low"))
    assert SealingSetting.objects.filter(pk=row.pk).update(label="lower") == 1
    assert SealingSetting.objects.filter(pk=row.pk).delete()[0] == 1


def decision(world, limit, by):
    with transaction.atomic():
        made = LimitDecision.objects.create(limit=limit, approved=True, words="Read.", by=by, at=world.at)
        trail.write("limit.decided", subject=f"limit {limit}", by=by, at=world.at, after={"id": made.pk})


def test_a_proposer_s_own_approval_does_not_get_in(world, window):
    limit = cast.proposed(world, window)
    with refused_as("same-person"):
        decision(world, limit, world.edda)
    decision(world, limit, world.sefa)


def used(world, limit, **changed):
    given = {"kind": "process", "side": "lower", "value": limit.value, "unit": limit.unit, "origin": "derived"}
    study = lab.plan(world)
    study.limits.all().delete()
    with transaction.atomic():
        return Limit.objects.create(study=study, derived=limit, origin_words="x", **given | changed)


@pytest.mark.parametrize("changed", [{"value": 1}, {"side": "upper"}, {"unit": "N/15mm"}])
def test_a_derived_limit_stands_in_a_plan_as_it_was_approved(world, window, changed):
    limit = cast.proposed(world, window)
    with refused_as("limit-not-in-force"):
        used(world, limit)
    cast.approved(world, limit)
    with refused_as("limit-not-in-force"):
        used(world, limit, **changed)
    with refused_as("requirement-derived"):
        used(world, limit, kind="requirement")
    used(world, limit)
