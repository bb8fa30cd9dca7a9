"""Look-back, and the nonconforming work that comes of it."""

from datetime import date

import pytest
from django.urls import reverse

from labrecords.actions import calibrations, nonconforming, review, runs
from labrecords.models import Nonconformity, NonconformityStep, Refusal, Result, Review, Study, StudyHold
from labrecords.queries import access, look_back
from labrecords.reports.findings import findings, findings_sha256
from tests import world as cast
from tests.equipment.conftest import refused

FORCES = ["1", "2", "4", "7", "10", "20", "40", "50"]


def found_out(world, *, off=-0.03, performed_on=date(2026, 5, 20), item=None):
    """A calibration that found the cell out, adjusted it, and left it right."""
    return calibrations.record(
        equipment=item or world.cell,
        certificate="C-300",
        provider="Nordlys Calibration",
        performed_on=performed_on,
        due_on=date(2027, 5, 20),
        passed=True,
        rule="E4",
        as_found=[[force, str(float(force) * (1 + off))] for force in FORCES],
        as_left=[[force, force] for force in FORCES],
        by=world.magnus,
        at=world.at,
    )


def test_every_result_since_the_last_good_calibration_is_found(world):
    for specimen, typed in zip(world.specimens, ("1.02", "1.52", "0.98", "1.20"), strict=True):
        cast.enter(world, specimen=specimen, typed=typed)
    looked = look_back.since_last_good(found_out(world))
    assert looked.since == date(2026, 1, 10)
    (touched,) = looked.studies
    assert (looked.results, looked.changeable, looked.clients) == (4, 2, ["Fjell Instruments"])
    # the limit is 1.00 lbf/in, the error 3 %: 1.02 and 0.98 lie within reach of it
    assert [row.could_change for row in touched.results] == [True, False, True, False]
    assert [row.margin_percent for row in touched.results] == pytest.approx([2.0, 52.0, -2.0, 20.0])
    assert touched.lots == ["L1"]


def test_results_from_before_and_after_are_not(world):
    cast.enter(world)
    assert look_back.since_last_good(found_out(world, performed_on=date(2026, 5, 19))).results == 0
    cast.calibrate(world.people, world.tester, world.at, performed_on=date(2026, 5, 20))
    later = found_out(world, item=world.tester)
    assert look_back.since_last_good(later).results == 1  # of the same day: which came first is not known


def test_another_items_results_are_not(world):
    cast.enter(world)
    spare = cast.add_equipment(world.people, "cell", "Cell 60 N", 60.0, world.at)
    assert look_back.since_last_good(found_out(world, item=spare)).results == 0


def test_a_value_that_waits_is_not_told(world):
    warm = cast.open_run(world, room_c=27.0)
    cast.enter(world, run=warm, typed="1.01")
    (touched,) = look_back.since_last_good(found_out(world)).studies
    (row,) = touched.results
    assert (row.strength, row.margin_percent, row.could_change) == (None, None, False)


def test_queries_do_not_grow_with_the_results(world, django_assert_num_queries):
    from django.db import connection
    from django.test.utils import CaptureQueriesContext

    made = found_out(world)
    cast.enter(world)
    with CaptureQueriesContext(connection) as one:
        look_back.since_last_good(made)
    for specimen in world.specimens[1:]:
        cast.enter(world, specimen=specimen)
    with django_assert_num_queries(len(one)):
        assert look_back.since_last_good(made).results == 4


# --- nonconforming work
def finished(world):
    for specimen in world.specimens:
        cast.enter(world, specimen=specimen)
    runs.close_run(run=world.run, by=world.runa, at=world.at)
    review.finish_testing(study=world.study, by=world.edda, at=world.at)


def accept(world):
    seen = findings_sha256(findings(Study.objects.get(pk=world.study.pk)))
    return review.review(study=world.study, accept=True, words="Read.", seen_sha256=seen, by=world.sefa, at=world.at)


def test_a_held_study_is_not_accepted_until_work_resumes(world):
    finished(world)
    made = nonconforming.from_look_back(calibration=found_out(world), words="3 % low.", by=world.magnus, at=world.at)
    assert StudyHold.objects.get().study == world.study
    with refused("study-on-hold", Review):
        accept(world)
    with pytest.raises(access.NotAllowed):
        resume(world, made, by=world.edda)
    resume(world, made)
    assert accept(world).accepted


def resume(world, made, by=None):
    return nonconforming.add_step(
        nonconformity=made, kind="work resumed", words="Values hold.", by=by or world.magnus, at=world.at
    )


def test_after_work_has_resumed_there_are_no_more_steps(world):
    made = nonconforming.open_one(title="Mixed up", words="Labels.", by=world.runa, at=world.at)
    resume(world, made)
    for kind in ("decision", "work resumed"):
        with refused("state-refused", NonconformityStep):
            nonconforming.add_step(nonconformity=made, kind=kind, words="x", by=world.magnus, at=world.at)


def test_words_are_needed(world):
    with refused("words-missing", Nonconformity, StudyHold):
        nonconforming.open_one(title="x", words=" ", study=world.study, by=world.runa, at=world.at)
    made = nonconforming.open_one(title="x", words="y", by=world.runa, at=world.at)
    with refused("words-missing", NonconformityStep):
        nonconforming.add_step(nonconformity=made, kind="decision", words=" ", by=world.edda, at=world.at)


def test_the_pages_open_it_from_a_look_back_and_from_a_refusal(client, world):
    cast.enter(world)
    made = found_out(world)
    client.force_login(world.magnus)
    page = client.get(reverse("look-back", args=[made.pk])).content.decode()
    assert "<strong>1 result</strong>" in page
    assert client.post(reverse("look-back", args=[made.pk]), {"words": "3 % low."}).status_code == 302
    one = Nonconformity.objects.get()
    assert one.calibration == made
    with refused("technique-changed", Result):
        cast.enter(world, specimen=world.specimens[1], technique="C")
    refusal = Refusal.objects.get()
    client.force_login(world.runa)
    form = client.get(reverse("open-nonconformity"), {"refusal": str(refusal.pk)}).content.decode()
    assert "Refused: not authorised for this technique" in form
    sent = {"title": "Wrong jig", "words": "On the plate.", "study": world.study.code, "refusal": str(refusal.pk)}
    assert client.post(reverse("open-nonconformity"), sent).status_code == 302
    opened = Nonconformity.objects.get(title="Wrong jig")
    assert (opened.refusal, opened.holds.get().study) == (refusal, world.study)
    assert client.post(reverse("nonconformity", args=[opened.code]), {"kind": "decision"}).status_code == 403


def test_the_page_takes_steps_and_says_who_has_not_been_told(client, world):
    made = nonconforming.open_one(title="Mixed up", words="Labels.", by=world.runa, at=world.at)
    client.force_login(world.magnus)
    url = reverse("nonconformity", args=[made.code])
    untold = client.post(url, {"kind": "client told", "words": "Called."})
    assert untold.status_code == 422
    assert "Choose the client who was told" in untold.content.decode()
    assert client.post(url, {"kind": "client told", "words": "Called.", "client": "FJELL"}).status_code == 302
    assert NonconformityStep.objects.get().client.code == "FJELL"


def test_long_after_the_last_good_calibration_everything_counts(world):
    cast.enter(world)
    only = found_out(world, performed_on=date(2026, 5, 20))
    assert look_back.since_last_good(only).last_good.performed_on < only.performed_on
    first = world.cell.calibrations.order_by("performed_on").first()
    assert look_back.since_last_good(first).last_good is None


def test_nonconforming_work_from_a_refusal_tells_no_value_that_waits(client, world):
    warm = cast.open_run(world, room_c=27.0)
    with refused("negative", Result):
        cast.enter(world, run=warm, typed="-1.37")
    refusal = Refusal.objects.get()
    cast.enter(world, run=warm, typed="1.37")
    made = nonconforming.open_one(title="x", words="y", refusal=refusal, by=world.runa, at=world.at)
    client.force_login(world.edda)
    assert "1.37" not in client.get(reverse("nonconformity", args=[made.code])).content.decode()
    client.force_login(world.runa)  # who pulled it, and does not decide
    assert "1.37" in client.get(reverse("nonconformity", args=[made.code])).content.decode()
