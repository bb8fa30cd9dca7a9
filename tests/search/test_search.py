"""Search: a code goes straight to its thing, words list what has them, and nobody is shown what is not theirs."""

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext
from django.urls import reverse

from tests import world as cast


@pytest.fixture
def world(laboratory):
    return laboratory


def ask(client, person, text):
    client.force_login(person)
    return client.get(reverse("search"), {"q": text})


def forms_of(code):
    return [code, code.lower(), code.replace("-", ""), code.replace("-", "").lower(), f" {code.replace('-', ' ')} "]


@pytest.mark.parametrize("way", range(5))
def test_an_exact_code_however_typed_goes_straight_to_its_thing(client, world, way):
    specimen = world.specimens[0]
    places = {
        world.study.code: reverse("study", args=[world.study.code]),
        specimen.label: reverse("specimen", args=[specimen.label]),
        specimen.pack.label: reverse("lot", args=[specimen.pack.lot.label]),
        specimen.pack.lot.label: reverse("lot", args=[specimen.pack.lot.label]),
        world.cell.label: reverse("equipment-item", args=[world.cell.label]),
    }
    for code, where in places.items():
        answer = ask(client, world.runa, forms_of(code)[way])
        assert (answer.status_code, answer.url) == (302, where)


def test_a_run_goes_to_its_page_or_to_its_study(client, world):
    typed = f"{world.study.code} run {world.run.number}"
    assert ask(client, world.runa, typed).url == reverse("run", args=[world.run.pk])
    assert ask(client, world.signe, typed).url == reverse("study", args=[world.study.code])


@pytest.mark.parametrize(
    ("text", "kinds"),
    [
        ("small POUCH", {"study", "run"}),
        ("pouch small", {"study", "run"}),
        ("Cell 50", {"equipment"}),
        ("Runa", {"person", "run"}),
        ("sp0000", {"specimen"}),
        ("Fjell", {"study", "person"}),
    ],
)
def test_words_and_parts_of_codes_list_what_has_them_with_counts(client, world, text, kinds):
    answer = ask(client, world.edda, text)
    groups = {group["id"]: group for group in answer.context["groups"]}
    assert groups.keys() == kinds
    for group in groups.values():
        assert f"{group['name']}: {group['count']}" in answer.content.decode()
        assert group["count"] == len(group["rows"])
    for group in groups.values():
        for where, *_ in group["rows"]:
            assert client.get(where).status_code in (200, 403)


@pytest.mark.parametrize("text", ["", " ", "x", "nothing has this", "%%", "__", "S-1999-0001", "SP-000999-X"])
def test_an_empty_answer_says_what_may_be_typed(client, world, text):
    answer = ask(client, world.edda, text)
    assert answer.status_code == 200
    assert "A code leads straight to its thing" in answer.content.decode()


def test_what_no_text_can_hold_is_said(client, world):
    answer = ask(client, world.edda, "a\x00b")
    assert answer.status_code == 200
    assert "Null characters" in answer.content.decode()


def test_the_field_is_in_the_head_for_the_laboratory_alone(client, world):
    client.force_login(world.runa)
    assert 'role="search"' in client.get(reverse("help")).content.decode()
    client.force_login(world.clara)
    assert 'role="search"' not in client.get(reverse("help")).content.decode()
    assert client.get(reverse("search"), {"q": world.study.code}).status_code == 403


def test_more_than_a_page_is_counted_and_the_number_of_queries_stays(client, world):
    def cost():
        ask(client, world.edda, "pouch")
        with CaptureQueriesContext(connection) as captured:
            answer = client.get(reverse("search"), {"q": "pouch"})
        return len(captured), {group["id"]: group for group in answer.context["groups"]}["study"]

    few, _ = cost()
    for _ in range(30):
        cast.plan(world)
    many, group = cost()
    assert many == few
    assert (group["count"], len(group["rows"]), group["more"]) == (31, 20, 11)


def test_reports_limits_and_lots_are_found(two_worlds_client):
    client, report, limit = two_worlds_client
    found = client.get(reverse("search"), {"q": report.number}).context["groups"]
    assert "report" in {group["id"] for group in found}
    where = reverse("derived-limit", args=[limit.code, limit.version])
    assert client.get(reverse("search"), {"q": limit.code.lower().replace("-", "")}).url == where
    found = client.get(reverse("search"), {"q": limit.code[:6]}).context["groups"]
    assert "limit" in {group["id"] for group in found}


@pytest.fixture
def two_worlds_client(client, world):
    from labrecords.models import DerivedLimit, Report
    from tests.walls import rows

    rows.fill(world)
    client.force_login(world.edda)
    return client, Report.objects.get(), DerivedLimit.objects.get()
