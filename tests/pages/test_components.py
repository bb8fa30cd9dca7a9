"""The page of every component: no part is left out, and it records nothing."""

import pathlib
import re

import pytest
from django.urls import reverse

from labrecords.models import Event

TEMPLATES = pathlib.Path(__file__).parents[2] / "templates"
PARTS = sorted(f"parts/{file.name}" for file in (TEMPLATES / "parts").glob("*.html"))
KIND, WORD = re.compile(r'\bkind="(\w+)"'), re.compile(r'\bword="([^"]+)"')


@pytest.fixture
def answer(client, laboratory):
    client.force_login(laboratory.edda)
    return client.get(reverse("components"))


@pytest.mark.parametrize("part", PARTS)
def test_every_part_is_drawn_under_its_name(answer, part):
    assert part in {template.name for template in answer.templates}
    assert f"templates/{part}" in answer.content.decode()


def test_control_a_part_that_is_not_drawn_would_be_missed(answer):
    drawn = {template.name for template in answer.templates}
    assert "trail/changes.html" not in drawn
    assert drawn >= set(PARTS)


def test_every_word_of_a_state_stands_beside_its_shape(answer):
    text = answer.content.decode()
    shown = set(re.findall(r'state-(\w+)">.*?state-word">([^<]+)<', text, re.DOTALL))
    lines = [line for file in TEMPLATES.rglob("*.html") for line in re.findall(r"{% include [^%]*%}", file.read_text())]
    written = {
        (kind[1], word[1])
        for line in lines
        if "parts/state.html" in line and (kind := KIND.search(line)) and (word := WORD.search(line))
    }
    assert len(written) > 40
    assert written <= shown


def test_forms_are_shown_sound_and_wrong(answer):
    text = answer.content.decode()
    assert text.count('class="error-summary"') == 1
    assert 'aria-invalid="true"' in text
    assert text.count('class="refusal"') == 2
    assert "data-take-focus" not in text
    ids = re.findall(r'\bid="([^"]+)"', text)
    assert sorted(ids) == sorted(set(ids))


def test_what_is_pressed_records_nothing(client, laboratory):
    client.force_login(laboratory.edda)
    before = Event.objects.count()
    told = client.post(reverse("components"), {"sound-name": "x"}, follow=True)
    assert "Nothing was recorded" in told.content.decode()
    assert Event.objects.count() == before


def test_only_the_laboratory_sees_it_and_help_leads_there(client, laboratory):
    link = f'href="{reverse("components")}"'
    assert link not in client.get(reverse("help")).content.decode()
    client.force_login(laboratory.clara)
    assert client.get(reverse("components")).status_code == 403
    assert link not in client.get(reverse("help")).content.decode()
    client.force_login(laboratory.runa)
    assert link in client.get(reverse("help")).content.decode()
