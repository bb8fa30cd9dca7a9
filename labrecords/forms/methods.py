"""The form of a method version. Modes and causes are typed one a line, their parts set apart by bars."""

from django import forms
from django.core.exceptions import ValidationError

from labrecords.rules.series import TECHNIQUE_WORDS

from .fields import Choice, Number, Plain, Text, Whole, Words

# Defaults of the trade, which the laboratory checks against the standard it has bought. common practice, no source
FIRST = {
    "techniques": ["A", "B", "C"],
    "rate_low_in_min": "8",
    "rate_high_in_min": "12",
    "rate_low_mm_min": "200",
    "rate_high_mm_min": "300",
    "usual_rate": "11 in/min",
    "widths_mm": "15, 25, 25.4",
    "conditioning_hours": "40",
    "room_low_c": "21",
    "room_high_c": "25",
    "humidity_low_percent": "45",
    "humidity_high_percent": "55",
    "replacement_cap": "2",
    "check_tolerance": "1",
    "disuse_months": "6",
    "modes": (
        "AP | adhesive peel | The seal lets go at the interface; one web keeps the sealant. | peels\n"
        "CO | cohesive peel | The sealant splits within itself; both webs carry some of it. | peels\n"
        "DE | delamination | A layer of one web comes off the layer under it. | peels\n"
        "BS | break at the seal | A web breaks or tears in the seal or at its edge.\n"
        "BR | break away from the seal | A web breaks or tears elsewhere; the seal held.\n"
        "EL | elongation | A web stretches; the seal stays shut, or partly shut."
    ),
    "void_causes": (
        "slip | slipped in the grip\n"
        "cut | strip damaged or mis-cut in cutting\n"
        "setting | wrong setting of the tester\n"
        "fault | fault of the tester\n"
        "place | wrong place on the pack"
    ),
}


class VersionForm(Plain):
    """What a study under this method may choose, and what holds, marks or voids its results."""

    code = Text(label="Method code", max_length=20, help_text="A code that exists gets its next version.")
    title = Text(label="Title")
    reference = Text(label="After which standard", help_text="With its edition.")
    techniques = forms.MultipleChoiceField(
        label="Techniques",
        choices=list(TECHNIQUE_WORDS.items()),
        widget=forms.CheckboxSelectMultiple,
        error_messages={"required": "Choose at least one technique."},
    )
    rate_low_in_min = Number(label="Rate from", unit="in/min", above=0)
    rate_high_in_min = Number(label="Rate to", unit="in/min", above=0)
    rate_low_mm_min = Number(label="Rate from (metric)", unit="mm/min", above=0)
    rate_high_mm_min = Number(label="Rate to (metric)", unit="mm/min", above=0)
    usual_rate = Text(label="Usual rate", help_text="For example: 11 in/min.")
    widths_mm = Text(label="Specimen widths in mm", help_text="Set apart by commas and blanks: 15, 25, 25.4")
    conditioning_hours = Number(label="Least conditioning", unit="h", at_least=0)
    room_low_c = Number(label="Room from", unit="°C")
    room_high_c = Number(label="Room to", unit="°C")
    humidity_low_percent = Number(label="Humidity from", unit="% RH", at_least=0)
    humidity_high_percent = Number(label="Humidity to", unit="% RH", at_least=0)
    replacement_cap = Whole(label="Most replacements in a group", at_least=0)
    check_before_use = Choice(
        label="Checked each day before use with",
        choices=[("", "nothing"), ("mass", "a check mass"), ("strip", "a reference strip")],
        required=False,
    )
    check_tolerance = Number(
        label="A check mass may read off by", unit="%", above=0, help_text="In per cent of its force."
    )
    disuse_months = Whole(
        label="An authorisation lapses after", unit="months unused", at_least=0, help_text="0: it does not lapse."
    )
    modes = Words(label="Failure modes", rows=8, help_text="One a line: key | name | description | peels, if it peels")
    void_causes = Words(label="Causes for a void", rows=6, help_text="One a line: key | words")

    def clean_widths_mm(self):
        from labrecords.rules import numbers

        try:
            return [numbers.parse(part) for part in self.cleaned_data["widths_mm"].split(", ")]
        except numbers.NotANumber as problem:
            raise ValidationError(str(problem)) from problem

    def clean_check_tolerance(self):
        return float(self.cleaned_data["check_tolerance"]) / 100

    def clean_modes(self):
        rows = _rows(self.cleaned_data["modes"], least=3)
        return [{"key": row[0], "name": row[1], "description": row[2], "peels": row[3:] == ["peels"]} for row in rows]

    def clean_void_causes(self):
        return [{"key": row[0], "words": row[1]} for row in _rows(self.cleaned_data["void_causes"], least=2)]

    def clean(self):
        for low, high in (
            ("rate_low_in_min", "rate_high_in_min"),
            ("rate_low_mm_min", "rate_high_mm_min"),
            ("room_low_c", "room_high_c"),
            ("humidity_low_percent", "humidity_high_percent"),
        ):
            ends = self.cleaned_data.get(low), self.cleaned_data.get(high)
            if None not in ends and ends[0] >= ends[1]:
                self.add_error(high, "A range ends above where it begins.")
        return self.cleaned_data


def _rows(text: str, *, least: int) -> list[list[str]]:
    rows = [[part.strip() for part in line.split("|")] for line in text.splitlines() if line.strip()]
    for number, row in enumerate(rows, start=1):
        if len(row) < least or not all(row):
            raise ValidationError(f"Line {number} lacks a part. Write the parts with a bar between them.")
    keys = [row[0] for row in rows]
    if len(set(keys)) != len(keys):
        raise ValidationError("Two lines begin with the same key. Each key stands once.")
    return rows
