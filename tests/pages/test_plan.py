"""Planning and locking through the pages."""

import pytest
from django.urls import reverse

from labrecords.models import Signature, Study
from tests import world as cast


@pytest.fixture
def world(laboratory):
    return laboratory


def filled(world, **changed):
    setup = {f"setup-{name}": str(value) for name, value in cast.SETUP.items() if name != "width_measured"}
    for name in ("setup-threshold_fraction", "setup-span_fraction"):
        del setup[name]
    data = {
        "study-project": str(world.project.pk),
        **{f"study-{name}": str(value) for name, value in cast.STUDY.items()},
        **setup,
        "setup-method_version": str(world.method.pk),
        "groups-TOTAL_FORMS": "2",
        "groups-INITIAL_FORMS": "0",
        "groups-0-lot": "L7",
        "groups-0-arm": "as made",
        "groups-0-position": "side",
        "groups-0-packs": "10",
        "groups-0-specimens_per_pack": "1",
        "settings-TOTAL_FORMS": "0",
        "settings-INITIAL_FORMS": "0",
        "limits-TOTAL_FORMS": "1",
        "limits-INITIAL_FORMS": "0",
        "limits-0-kind": "requirement",
        "limits-0-side": "lower",
        "limits-0-value": "1.00",
        "limits-0-unit": "lbf/in",
        "limits-0-origin": "unknown",
    }
    return data | changed


def plan(client, world, **changed):
    client.force_login(world.edda)
    return client.post(reverse("new-study"), filled(world, **changed))


def test_a_plan_is_kept_as_a_draft_and_locked(client, world):
    answer = plan(client, world)
    assert answer.status_code == 302, answer.content.decode()[:3000]
    study = Study.objects.order_by("-code").first()
    page = client.get(answer.url).content.decode()
    assert "Origin unknown" in page
    answer = client.post(reverse("lock-study", args=[study.code]))
    assert answer.status_code == 302
    study.refresh_from_db()
    assert study.state == "locked"
    assert study.mark in client.get(answer.url).content.decode()


def test_a_field_left_out_is_named_and_nothing_typed_is_lost(client, world):
    before = Study.objects.count()
    answer = plan(client, world, **{"study-title": "", "study-purpose": "A question of its own"})
    page = answer.content.decode()
    assert answer.status_code == 422
    assert "Fill this in." in page
    assert "A question of its own" in page
    assert 'value="L7"' in page
    assert Study.objects.count() == before


def test_more_rows_lose_nothing(client, world):
    page = plan(client, world, more="groups").content.decode()
    assert 'name="groups-4-lot"' in page
    assert 'value="L7"' in page
    assert "Fill this in." not in page


def test_a_rate_outside_the_method_is_refused_when_locking(client, world):
    plan(client, world, **{"setup-rate": "20"})
    study = Study.objects.order_by("-code").first()
    page = client.get(reverse("study", args=[study.code])).content.decode()
    assert "outside the method" in page
    answer = client.post(reverse("lock-study", args=[study.code]))
    assert answer.status_code == 409
    study.refresh_from_db()
    assert (study.state, study.mark) == ("draft", "")


def test_a_locked_plan_cannot_be_changed(client, world):
    client.force_login(world.edda)
    answer = client.post(reverse("plan-study", args=[world.study.code]), filled(world))
    assert answer.status_code == 409
    assert "setup-locked" in answer.content.decode()
    assert world.study.groups.get().lot == "L1"


def test_an_amendment_is_signed_and_opens_a_linked_successor(client, world):
    client.force_login(world.edda)
    url = reverse("amend-study", args=[world.study.code])
    wrong = client.post(url, {"reason": "The client asks for technique C.", "password": "not this one at all"})
    assert wrong.status_code == 422
    assert Signature.objects.count() == 0
    client.post(url, {"reason": "The client asks for technique C.", "password": cast.PASSWORD})
    successor = Study.objects.get(predecessor=world.study)
    assert successor.state == "draft"
    assert successor.setup.technique == "A"
    assert Signature.objects.get().signer == world.edda


def test_a_technician_does_not_plan(client, world):
    client.force_login(world.runa)
    assert client.get(reverse("new-study")).status_code == 403


@pytest.mark.parametrize("rows", ["", "many", "-3", "9" * 40])
def test_a_count_of_rows_that_is_none_does_no_harm(client, world, rows):
    answer = plan(client, world, more="groups", **{"groups-TOTAL_FORMS": rows})
    assert answer.status_code == 200


def test_a_blank_limit_row_is_left_out(client, world):
    blank = {"limits-0-value": "", "limits-0-origin": "drawing"}
    assert plan(client, world, **blank).status_code == 302
    assert Study.objects.order_by("-code").first().limits.count() == 0


def test_a_limit_of_unknown_origin_is_marked_at_the_bench_and_in_review(client, world):
    from tests import loaded

    limits = [cast.LIMITS[0] | {"origin": "unknown", "origin_words": ""}]
    study = loaded.planned(world, cast.GROUPS, limits=limits)
    loaded.received(world, study, ["L1"])
    run = cast.open_run(world, study=study)
    for person, name, argument in ((world.runa, "run", run.pk), (world.sefa, "review-study", study.code)):
        client.force_login(person)
        text = client.get(reverse(name, args=[argument])).content.decode()
        assert "Origin unknown: requirement at least 1 lbf/in" in text
        assert "has been shown to clear a custom" in text


def test_control_a_limit_with_an_origin_is_not_marked(client, world):
    from tests import loaded

    study = loaded.planned(world, cast.GROUPS, limits=cast.LIMITS)
    client.force_login(world.sefa)
    assert "Origin unknown" not in client.get(reverse("review-study", args=[study.code])).content.decode()
