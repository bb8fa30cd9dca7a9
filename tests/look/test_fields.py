"""Forms as the project's templates draw them."""

import re

import pytest
from django import forms

from labrecords.forms.renderer import Renderer


class Entry(forms.Form):
    default_renderer = Renderer

    force = forms.DecimalField(
        label="Peak force",
        help_text="As the tester shows it.",
        widget=forms.TextInput(attrs={"data-unit": "N/15 mm"}),
    )
    mode = forms.ChoiceField(label="Failure mode", choices=[("p", "Peel"), ("b", "Break")], widget=forms.RadioSelect)
    note = forms.CharField(label="Note", required=False)
    trace = forms.FileField(label="Trace file", required=False)
    key = forms.CharField(widget=forms.HiddenInput)


@pytest.fixture
def drawn():
    return str(Entry({"force": "<b>", "mode": "", "key": ""}))


def ids(text):
    return set(re.findall(r'\bid="([^"]+)"', text))


def test_input_is_described_by_hint_error_and_unit(drawn):
    tag = re.search(r'<input[^>]*name="force"[^>]*>', drawn).group()
    assert 'aria-describedby="id_force_helptext id_force_error id_force_unit"' in tag
    assert 'aria-invalid="true"' in tag


def test_everything_pointed_at_is_there(drawn):
    pointed = {name for names in re.findall(r'aria-describedby="([^"]+)"', drawn) for name in names.split()}
    linked = set(re.findall(r'href="#([^"]+)"', drawn)) | set(re.findall(r'\bfor="([^"]+)"', drawn))
    assert {"id_force_unit", "id_mode_error"} <= pointed
    assert {"id_force", "id_mode_0"} <= linked
    assert (pointed | linked) - ids(drawn) == set()


def test_ids_are_used_once(drawn):
    found = re.findall(r'\bid="([^"]+)"', drawn)
    assert sorted(found) == sorted(set(found))


def test_choices_stand_in_a_fieldset_with_a_legend(drawn):
    fieldset = re.search(r"<fieldset.*?</fieldset>", drawn, re.DOTALL).group()
    assert "<legend>Failure mode" in fieldset
    assert fieldset.count('type="radio"') == 2


def test_required_and_optional_are_said_in_words(drawn):
    assert re.search(r"Peak force\s*<span class=\"need\">\(required\)", drawn)
    assert re.search(r"Note\s*<span class=\"need\">\(optional\)", drawn)


def test_file_input_has_its_zone(drawn):
    assert re.search(r'<div class="drop-zone">\s*<input[^>]*type="file"', drawn)


def test_summary_tells_of_a_hidden_field_too(drawn):
    summary = re.search(r'<section class="error-summary".*?</section>', drawn, re.DOTALL).group()
    assert "Key: This field is required." in summary
    assert "data-take-focus" in summary


def test_what_was_typed_is_kept_and_escaped(drawn):
    assert 'value="&lt;b&gt;"' in drawn
    assert "<b>" not in drawn


def test_form_without_errors_has_no_summary():
    assert "error-summary" not in str(Entry())
