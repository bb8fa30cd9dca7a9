"""Samples as they arrive: what is not as agreed holds the lot, arms are shown, and the report says so."""

from datetime import date, timedelta

import pytest
from django.urls import reverse

from labrecords.actions import arrivals, samples
from labrecords.models import CustodyEvent, Deviation, Discrepancy, DiscrepancyAnswer, Specimen, Study, Treatment
from labrecords.queries import access
from labrecords.queries import samples as lots
from labrecords.reports.findings import findings
from tests import world as cast
from tests.equipment.conftest import refused


@pytest.fixture
def lot(world):
    return world.specimens[0].pack.lot


def find(world, lot, words="Two pouches creased."):
    return arrivals.find_discrepancy(lot=lot, words=words, by=world.runa, at=world.at - timedelta(days=6))


def answer(world, found, **changed):
    told = {
        "proceeds": True,
        "words": "Test the others.",
        "said_by": "Clara Fjell, by letter",
        "said_on": date(2026, 5, 15),
        "disclaimer": "Two pouches were creased.",
        "by": world.edda,
        "at": world.at - timedelta(days=1),
    }
    return arrivals.answer_discrepancy(discrepancy=found, **told | changed)


def test_results_wait_while_the_client_has_not_answered(world, lot):
    find(world, lot)
    assert cast.enter(world).held == ("discrepancy-open",)


@pytest.mark.parametrize(("proceeds", "held"), [(True, ()), (False, ("discrepancy-open",))])
def test_the_answer_lets_them_through_or_does_not(world, lot, proceeds, held):
    answer(world, find(world, lot), proceeds=proceeds, disclaimer="x" if proceeds else "")
    assert cast.enter(world).held == held


def test_a_lot_that_waits_is_not_cut(world):
    world.study = cast.studies.lock(study=cast.plan(world), by=world.edda, at=world.at)
    fresh = samples.receive(
        study=world.study,
        name="L1",
        description="pouches",
        condition="wet",
        sealed_how="x",
        sampled_by="x",
        sampled_on="x",
        place="x",
        received_at=world.at,
        by=world.runa,
        at=world.at,
    )
    arrivals.find_discrepancy(lot=fresh, words="Carton wet.", by=world.runa, at=world.at)
    with refused("lot-waits", Specimen):
        samples.cut(lot=fresh, place="bench", by=world.runa, at=world.at)


def test_the_report_carries_the_disclaimer_and_what_was_found(world, lot):
    answer(world, find(world, lot))
    cast.enter(world)
    found = findings(world.study)
    assert "Lot L1: Two pouches were creased." in found["statements"]
    assert "Two pouches creased." in found["items"][0]["condition"]


def test_refused_answers_change_nothing(world, lot):
    found = find(world, lot)
    with refused("words-missing", DiscrepancyAnswer):
        answer(world, found, disclaimer=" ")
    with refused("in-the-future", DiscrepancyAnswer):
        answer(world, found, said_on=date(2026, 6, 1))
    answer(world, found)
    with refused("state-refused", DiscrepancyAnswer):
        answer(world, found)
    with refused("words-missing", Discrepancy):
        find(world, lot, words=" ")
    with pytest.raises(access.NotAllowed):
        answer(world, found, by=world.runa)


def test_a_cutter_past_its_date_holds_what_was_cut_with_it(world):
    cutter = cast.equipment.register(
        kind="cutter",
        name="Cutter",
        serial="K",
        location="table",
        interval_months=12,
        by=world.magnus,
        at=world.at - timedelta(days=20),
    )
    world.study = cast.studies.lock(study=cast.plan(world), by=world.edda, at=world.at - timedelta(days=8))
    lot = _receive(world)
    made = samples.cut(
        lot=lot, place="bench", cutter=cutter, cutter_check="clean", by=world.runa, at=world.at - timedelta(days=6)
    )
    run = cast.open_run(world)
    assert cast.enter(world, specimen=made[0], run=run).held == ("gauge-overdue",)
    assert Deviation.objects.get().facts["facts"]["item"] == cutter.label


def _receive(world):
    then = world.at - timedelta(days=7)
    texts = dict.fromkeys(("description", "condition", "sealed_how", "sampled_by", "sampled_on", "place"), "x")
    lot = samples.receive(study=world.study, name="L1", received_at=then, by=world.runa, at=then, **texts)
    samples.condition(
        lot=lot, started_at=then, temperature_c=23, humidity_percent=50, place="room", by=world.runa, at=then
    )
    return lot


# --- cutting
def test_the_cutting_map_names_every_strip_by_pack_and_place(world, lot):
    positions, packs = lots.cutting_map(lot)
    assert positions == ["side"]
    assert [pack.number for pack, _ in packs] == [1, 2, 3, 4]
    assert [strip for _, places in packs for strips in places for strip in strips] == world.specimens


def test_remnants_stay_until_the_report_is_released(world, lot):
    with refused("remnants-kept", CustodyEvent):
        discard(world, lot)
    Study.objects.filter(pk=world.study.pk).update(state="in review")
    Study.objects.filter(pk=world.study.pk).update(state="reviewed")
    Study.objects.filter(pk=world.study.pk).update(state="released")
    discard(world, lot)
    with refused("state-refused", CustodyEvent):
        discard(world, lot)


def discard(world, lot):
    return samples.discard_remnants(lot=lot, words="Binned.", by=world.runa, at=world.at)


def test_remnants_are_kept_where_the_cutting_says(world):
    world.study = cast.studies.lock(study=cast.plan(world), by=world.edda, at=world.at - timedelta(days=8))
    lot = _receive(world)
    samples.cut(lot=lot, place="table", remnants="box 3", by=world.runa, at=world.at - timedelta(days=6))
    assert lots.remnants_at(lot) == "box 3"


# --- arms
def treat(world, lot, **changed):
    told = {
        "kind": "aged",
        "arm": "as made",
        "time_point": "",
        "evidence": "chamber record 7",
        "started_on": date(2026, 1, 5),
        "ended_on": date(2026, 2, 20),
        "ageing_c": 55.0,
        "ambient_c": 25.0,
        "q10": 2.0,
        "by": world.runa,
        "at": world.at,
    }
    return arrivals.record_treatment(lot=lot, **told | changed)


def test_ageing_is_computed(world, lot):
    # ASTM F1980: 46 days at 55 °C stand for 368 days at 25 °C with Q10 2
    assert treat(world, lot).simulated_days == pytest.approx(368)


@pytest.mark.parametrize(
    ("code", "changed"),
    [
        ("not-in-plan", {"arm": "sterilised"}),
        ("in-the-future", {"ended_on": date(2026, 6, 1)}),
        ("ageing-incomplete", {"q10": None}),
        ("ageing-incomplete", {"ageing_c": 20.0}),
    ],
)
def test_refused_treatments_change_nothing(world, lot, code, changed):
    with refused(code, Treatment):
        treat(world, lot, **changed)


def test_a_strip_pulled_outside_its_window_is_held(world, lot):
    treat(world, lot, pull_from=date(2026, 5, 21), pull_until=date(2026, 5, 25))
    assert cast.enter(world).held == ("outside-pull-window",)


# --- the pages
def test_the_lots_page_takes_what_was_found_and_what_the_client_said(client, world, lot):
    client.force_login(world.runa)
    url = reverse("find-discrepancy", args=[lot.label])
    assert client.post(url, {"discrepancy-words": ""}).status_code == 422
    assert client.post(url, {"discrepancy-words": "Carton wet."}).status_code == 302
    found = Discrepancy.objects.get()
    assert "Waits for the client" in client.get(reverse("lot", args=[lot.label])).content.decode()
    client.force_login(world.edda)
    url = reverse("answer-discrepancy", args=[found.pk])
    sent = {"proceeds": "yes", "words": "Go on.", "said_by": "Clara", "said_on": "2026-05-19", "disclaimer": ""}
    answer = client.post(url, sent)
    assert answer.status_code == 422
    assert "the report says what was not as agreed" in answer.content.decode()
    assert client.post(url, sent | {"disclaimer": "The carton was wet."}).status_code == 302
    assert found.answer.disclaimer == "The carton was wet."


def test_dates_reversed_are_said_and_nothing_is_kept(client, world, monkeypatch):
    monkeypatch.setattr(cast, "GROUPS", [cast.GROUPS[0] | {"arm": "aged", "time_point": "1 year"}])
    world.study = cast.studies.lock(study=cast.plan(world), by=world.edda, at=world.at - timedelta(days=8))
    lot = _receive(world)
    client.force_login(world.runa)
    sent = {
        "group": "aged | 1 year",
        "kind": "aged",
        "evidence": "record 7",
        "started_on": "2026-02-20",
        "ended_on": "2026-01-05",
    }
    sent = {f"treatment-{name}": value for name, value in sent.items()}
    answer = client.post(reverse("treat-lot", args=[lot.label]), sent)
    assert answer.status_code == 422
    page = answer.content.decode()
    assert "It ends before it begins" in page
    assert "Ageing needs it" in page
    assert 'value="record 7"' in page
    assert not Treatment.objects.exists()
    right = sent | {
        "treatment-started_on": "2026-01-05",
        "treatment-ended_on": "2026-02-20",
        "treatment-ageing_c": "55",
        "treatment-ambient_c": "25",
        "treatment-q10": "2",
    }
    assert client.post(reverse("treat-lot", args=[lot.label]), right).status_code == 302
    assert Treatment.objects.get().time_point == "1 year"


def test_cutting_with_a_cutter_asks_what_was_looked_at(client, world, monkeypatch):
    cutter = cast.equipment.register(
        kind="cutter", name="Cutter", serial="K", location="table", by=world.magnus, at=world.at
    )
    world.study = cast.studies.lock(study=cast.plan(world), by=world.edda, at=world.at - timedelta(days=8))
    lot = _receive(world)
    client.force_login(world.runa)
    url = reverse("cut-lot", args=[lot.label])
    sent = {"cut-place": "table", "cut-cutter": cutter.label}
    assert client.post(url, sent).status_code == 422
    assert not Specimen.objects.filter(pack__lot=lot).exists()
    assert client.post(url, sent | {"cut-cutter_check": "Blade clean."}).status_code == 302
    assert {made.cutter for made in Specimen.objects.filter(pack__lot=lot)} == {cutter}
