"""Every page of the laboratory opens for the people it is for, in every state of a study."""

import pytest
from django.urls import reverse

from labrecords.actions import reports, review, runs
from labrecords.models import Deviation, Equipment, Study
from labrecords.reports.findings import findings, findings_sha256
from tests import world as cast


@pytest.fixture
def world(laboratory):
    return laboratory


def get(client, person, name, *args, status=200):
    client.force_login(person)
    answer = client.get(reverse(name, args=args))
    assert answer.status_code == status, answer.content.decode()[:2000]
    return answer.content.decode()


def test_pages_without_results(client, world):
    code = world.study.code
    for person in (world.runa, world.edda, world.magnus, world.signe):
        get(client, person, "home")
        get(client, person, "studies")
        assert world.study.mark in get(client, person, "study", code)
        get(client, person, "equipment")
        get(client, person, "equipment-item", world.cell.label)
        get(client, person, "people")
        get(client, person, "refusals")
        get(client, person, "help")
        get(client, person, "reviews")
        get(client, person, "specimen", world.specimens[0].label)
        get(client, person, "lot", world.specimens[0].pack.lot.label)


def test_the_engineers_pages(client, world):
    draft = cast.plan(world, technique="C")
    page = get(client, world.edda, "study", draft.code)
    assert "no factor converts one into the other" in page
    get(client, world.edda, "plan-study", draft.code)
    get(client, world.edda, "new-study")
    get(client, world.edda, "withdraw-study", draft.code)
    get(client, world.edda, "amend-study", world.study.code)


def test_the_bench_pages(client, world):
    get(client, world.runa, "bench")
    get(client, world.runa, "open-run", world.study.code)
    get(client, world.runa, "run", world.run.pk)
    get(client, world.runa, "receive-traces", world.run.pk)
    get(client, world.runa, "void-specimen", world.specimens[0].label)
    get(client, world.magnus, "bench", status=403)


def test_the_managers_pages(client, world):
    get(client, world.magnus, "register-equipment")
    get(client, world.magnus, "calibrate", world.cell.label)
    calibration = Equipment.objects.get(pk=world.cell.pk).calibrations.first()
    get(client, world.edda, "review-calibration", calibration.pk)


def test_pages_with_results_and_after(client, world):
    for specimen, typed in zip(world.specimens, ("0.8", "1.4", "1.6", "1.8"), strict=True):
        cast.enter(world, specimen=specimen, typed=typed)
    page = get(client, world.edda, "study", world.study.code)
    assert "Does not meet it" in page
    get(client, world.edda, "specimen", world.specimens[0].label)
    runs.close_run(run=world.run, by=world.runa, at=world.at)
    study = Study.objects.get(pk=world.study.pk)
    review.finish_testing(study=study, by=world.edda, at=world.at)
    get(client, world.sefa, "review-study", study.code)
    seen = findings_sha256(findings(study))
    review.review(study=study, accept=True, words="Read.", seen_sha256=seen, by=world.sefa, at=world.at)
    get(client, world.signe, "release-study", study.code)
    reports.release(study=study, seen_sha256=seen, password=cast.PASSWORD, by=world.signe, at=world.at)
    get(client, world.edda, "study", study.code)


def test_a_deviation_is_decided_without_the_value(client, world):
    run = cast.open_run(world, room_c=30.0)
    cast.enter(world, run=run, typed="1.234")
    page = get(client, world.edda, "decide-deviation", Deviation.objects.get().pk)
    assert "1.234" not in page


def test_a_stranger_is_sent_to_sign_in(client, world):
    answer = client.get(reverse("studies"))
    assert answer.status_code == 302
    assert answer.url.startswith(reverse("sign-in"))


def test_a_client_sees_nothing_of_the_laboratory(client, world):
    for name, args in [("studies", []), ("study", [world.study.code]), ("equipment", []), ("people", [])]:
        get(client, world.clara, name, *args, status=403)
