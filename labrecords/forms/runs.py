"""Forms of the bench: opening a run, one result, a trace file."""

import json
from datetime import timedelta

from django import forms

from labrecords.rules.series import TECHNIQUE_WORDS

from .fields import Choice, Moment, Number, Plain, Text, Words
from .plan import RATE_UNITS


class RunForm(Plain):
    """One person, one tester, one load cell, one room reading."""

    tester = Choice(label="Tester", empty="Choose a tester")
    cell = Choice(label="Load cell", empty="Choose a load cell")
    room_sensor = Choice(label="Room read from", empty="Choose a room sensor", required=False)
    width_gauge = Choice(label="Widths measured with", empty="Choose a width gauge")
    room_c = Number(label="Room temperature", unit="°C")
    room_humidity_percent = Number(label="Room humidity", unit="% RH", at_least=0)
    accept_cell = Words(
        label="Why this load cell is accepted",
        help_text="Only for an engineer, when the page says that the load cell is too large.",
        required=False,
        rows=2,
    )


MOST_OFFSET_MS = 10 * 365 * 24 * 60 * 60 * 1000


class ResultForm(Plain):
    """One result as it was seen at the bench."""

    specimen = Text(
        label="Specimen",
        help_text="Scan the label or type its code.",
        widget=forms.TextInput(attrs={"autocomplete": "off", "spellcheck": "false", "autocapitalize": "characters"}),
    )
    typed = Text(
        label="Maximum",
        required=False,
        widget=forms.TextInput(attrs={"inputmode": "decimal", "autocomplete": "off", "spellcheck": "false"}),
    )
    unit = Choice(label="Unit of the maximum")
    modes = forms.MultipleChoiceField(
        label="How it came apart", widget=forms.CheckboxSelectMultiple, required=False, help_text="All that are seen."
    )
    opened = forms.BooleanField(label="The seal had opened before the test", required=False)
    technique = Choice(label="Technique used", choices=list(TECHNIQUE_WORDS.items()))
    rate = Number(label="Rate used", above=0)
    rate_unit = Choice(label="Unit of the rate", choices=RATE_UNITS)
    width_mm = Number(label="Specimen width", unit="mm", above=0)
    tested_at = Moment(label="Tested at")
    remark = Text(label="Remark", required=False)
    confirmed = forms.CharField(widget=forms.HiddenInput, required=False)
    trace = forms.CharField(widget=forms.HiddenInput, required=False)
    key = forms.UUIDField(widget=forms.HiddenInput)
    pulled_at = forms.DateTimeField(widget=forms.HiddenInput, required=False)
    clock_offset_ms = forms.IntegerField(
        widget=forms.HiddenInput, required=False, min_value=-MOST_OFFSET_MS, max_value=MOST_OFFSET_MS
    )

    def __init__(self, *args, **kwargs):
        super().__init__(*args, **kwargs)
        self.fields["tested_at"].required = not self.data.get("pulled_at")

    def clean(self):
        """A time that nobody typed is the device's own, put right by how far its clock was off."""
        given = self.cleaned_data
        if given.get("pulled_at") and "tested_at" in given and not given["tested_at"]:
            try:
                given["tested_at"] = given["pulled_at"] + timedelta(milliseconds=given.get("clock_offset_ms") or 0)
            except OverflowError:
                self.add_error("tested_at", "The device's clock is far off. Type the time as 2026-11-25 14:30.")
        return given


class SetAsideForm(Plain):
    """An entry that was refused, and why nobody will send it again."""

    key = forms.UUIDField(widget=forms.HiddenInput)
    typed = forms.CharField(widget=forms.HiddenInput, max_length=20_000)
    reason = Text(label="Why it is set aside")

    def clean_typed(self):
        """Names and values of the entry's form, each a text."""
        try:
            found = json.loads(self.cleaned_data["typed"])
        except ValueError:
            found = None
        if not isinstance(found, dict) or not all(isinstance(value, str) for value in found.values()):
            raise forms.ValidationError("What was typed cannot be read. Load the page again.")
        return found


UNLESS_OPENED = "required, unless it had opened"
ResultForm.base_fields["typed"].need = UNLESS_OPENED
ResultForm.base_fields["modes"].need = UNLESS_OPENED


class SheetForm(Plain):
    """What holds for all rows of a run sheet."""

    unit = Choice(label="Unit of the maximum")
    tested_at = Moment(label="Tested at, where a row says nothing else")


class SheetRow(Plain):
    """One specimen's row of a run sheet, as on paper; a row in which nothing stands is left alone."""

    specimen = forms.CharField(widget=forms.HiddenInput)
    key = forms.UUIDField(widget=forms.HiddenInput)
    typed = Text(label="Maximum", required=False, widget=forms.TextInput(attrs={"inputmode": "decimal"}))
    width_mm = Number(label="Width, mm", above=0, required=False)
    modes = Text(label="Came apart", required=False, widget=forms.TextInput(attrs={"autocapitalize": "characters"}))
    opened = forms.BooleanField(label="Opened before", required=False)
    at = forms.TimeField(
        label="Time",
        required=False,
        input_formats=["%H:%M"],
        widget=forms.TimeInput(format="%H:%M", attrs={"placeholder": "hh:mm"}),
        error_messages={"invalid": "Type the time as 14:30."},
    )
    remark = Text(label="Remark", required=False)
    confirmed = forms.CharField(widget=forms.HiddenInput, required=False)

    def __init__(self, *args, known: dict[str, str], **kwargs):
        super().__init__(*args, **kwargs)
        self.known = known
        for field in self.fields.values():
            field.widget.attrs |= {"autocomplete": "off", "spellcheck": "false"}

    @property
    def filled(self) -> bool:
        """Whether anything that makes a result stands in the row."""
        return any(self[name].value() for name in ("typed", "modes", "opened", "remark"))

    def clean_modes(self) -> tuple[str, ...]:
        """The codes of the method that were typed, in whatever case, with blanks, commas or a plus between them."""
        found = tuple(dict.fromkeys(self.cleaned_data["modes"].upper().replace(",", " ").replace("+", " ").split()))
        if strange := [code for code in found if code not in self.known]:
            raise forms.ValidationError(f"“{strange[0]}” is none of {', '.join(self.known)}.")
        return found

    def clean(self):
        if "width_mm" in self.fields and self.filled and not self.cleaned_data.get("width_mm"):
            self.add_error("width_mm", "Type the width that was measured.")
        return self.cleaned_data


SheetRows = forms.formset_factory(SheetRow, extra=0, max_num=1000, absolute_max=1000)


class SeveralFiles(forms.ClearableFileInput):
    """A file input that takes many files at once."""

    allow_multiple_selected = True


class TraceFilesForm(Plain):
    """Trace files from a tester, any number at once."""

    files = forms.FileField(
        label="Trace files",
        widget=SeveralFiles(attrs={"multiple": True}),
        help_text="Text files with a column of grip travel and a column of force; up to 20 MB each.",
        error_messages={"required": "Choose at least one file."},
    )


class LayoutForm(Plain):
    """How a file's columns are read, as found and as a person corrects it."""

    delimiter = Choice(label="Separator")
    decimal = Choice(label="Decimal sign", choices=[(".", "point"), (",", "comma")])
    displacement = Choice(label="Column of grip travel")
    displacement_unit = Choice(label="Unit of travel")
    force = Choice(label="Column of force")
    force_unit = Choice(label="Unit of force")
    time = Choice(label="Column of time", required=False)
    time_unit = Choice(label="Unit of time", required=False)


class CurveForm(Plain):
    """One curve of a file: whose it is, and how the strip came apart."""

    keep = forms.BooleanField(label="Keep", required=False)
    specimen = Text(label="Specimen", required=False)
    width_mm = Number(label="Measured width", unit="mm", above=0, required=False)
    modes = forms.MultipleChoiceField(label="How it came apart", widget=forms.CheckboxSelectMultiple, required=False)
    confirmed = forms.BooleanField(label="This is what I saw", required=False)
    key = forms.UUIDField(widget=forms.HiddenInput)

    def clean(self):
        if self.cleaned_data.get("keep"):
            if not self.cleaned_data.get("specimen"):
                self.add_error("specimen", "Type the code of the specimen, or untick Keep.")
            if "width_mm" in self.fields and not self.cleaned_data.get("width_mm"):
                self.add_error("width_mm", "Type the width that was measured.")
            if not self.cleaned_data.get("modes"):
                self.add_error("modes", "Choose how the strip came apart.")
        return self.cleaned_data


for _name in ("specimen", "modes", "width_mm"):
    CurveForm.base_fields[_name].need = "required to keep it"

CurveForm.base_fields["keep"].need = "untick to leave it out"

CurveRows = forms.formset_factory(CurveForm, extra=0, max_num=500, absolute_max=500)
