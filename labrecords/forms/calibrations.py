"""The form of a calibration, and the reading of its points."""

from decimal import Decimal

from django import forms
from django.core.exceptions import ValidationError

from labrecords.files.documents import MOST_BYTES
from labrecords.rules import numbers
from labrecords.rules.verified_range import RULES

from .fields import Choice, Day, Number, Plain, Text, Words

RULE_WORDS = [("", "As stated on the certificate")] + [
    (rule, "ASTM E4: every reading within 1 %" if rule == "E4" else f"ISO 7500-1, {rule}") for rule in RULES
]


# What only a calibration of force has: a range in newtons, and the noise of an idle reading.
OF_FORCE = ("rule", "verified_low_n", "verified_high_n", "noise_n")


class Points(Words):
    """Points of a calibration: one force a line, what was applied and then what was read, set apart by blanks."""

    def to_python(self, value):
        text = super().to_python(value)
        return [self._row(number, line) for number, line in enumerate(text.splitlines(), 1) if line.strip()]

    def _row(self, number: int, line: str) -> list[str]:
        try:
            row = [numbers.parse(part) for part in line.replace(";", " ").split()]
        except numbers.NotANumber as problem:
            raise ValidationError(f"Line {number}: {problem}") from problem
        if len(row) < 2:
            raise ValidationError(f"Line {number} has the applied force and no reading.")
        if row[0] <= Decimal(0):
            raise ValidationError(f"Line {number}: the applied force is above 0. Leave the zero reading out.")
        return [f"{part:f}" for part in row]


class CalibrationForm(Plain):
    """A calibration as its certificate states it."""

    certificate = Text(label="Certificate number")
    provider = Text(label="Calibration laboratory")
    accreditation = Text(label="Its accreditation", required=False, help_text="Body and number.")
    performed_on = Day(label="Performed on")
    due_on = Day(
        label="Due on",
        required=False,
        help_text="Valid through the end of this day. Empty: as the interval of the item proposes.",
    )
    due_reason = Text(label="Why not the proposed date", required=False, help_text="If the due date is another.")
    passed = Choice(
        label="Outcome, as left",
        choices=[("yes", "Within tolerance"), ("no", "Out of tolerance")],
        widget=forms.RadioSelect,
    )
    rule = Choice(label="Verified range by", choices=RULE_WORDS, required=False)
    as_found = Points(
        label="Points as found",
        rows=6,
        required=False,
        help_text="In newtons, one force a line: applied, then each reading. 5.0 5.012 5.010 5.011",
    )
    as_left = Points(label="Points as left", rows=6, required=False, help_text="Only if it was adjusted.")
    verified_low_n = Number(label="Verified from", unit="N", at_least=0, required=False, help_text="If stated.")
    verified_high_n = Number(label="Verified to", unit="N", above=0, required=False, help_text="If stated.")
    noise_n = Number(
        label="Noise of the idle reading", unit="N", at_least=0, required=False, help_text="One standard deviation."
    )
    expanded_uncertainty_percent = Number(label="Expanded uncertainty", unit="% of reading", at_least=0, required=False)
    coverage_factor = Number(label="Its coverage factor k", above=0, required=False, help_text="Empty: 2.")
    file = forms.FileField(label="Certificate file", required=False, help_text="PDF, PNG or JPEG; up to 20 MB.")
    supersedes_reason = Words(label="What was wrong with the record", rows=2)

    def __init__(self, *args, superseding: bool = False, proposed=None, of_force: bool = True, **kwargs):
        super().__init__(*args, **kwargs)
        self.proposed = proposed
        if not superseding:
            del self.fields["supersedes_reason"]
        if not of_force:
            for name in OF_FORCE:
                del self.fields[name]
            for name in ("as_found", "as_left"):
                self.fields[name].help_text = "In the item's own unit, one a line: the reference, then each reading."

    def clean(self):
        given = self.cleaned_data
        self._clean_dates(given)
        low, high = given.get("verified_low_n"), given.get("verified_high_n")
        if (low is None) != (high is None):
            self.add_error("verified_high_n", "Give both ends of the verified range, or neither.")
        if low is not None and high is not None and low >= high:
            self.add_error("verified_high_n", "The verified range ends above where it begins.")
        if given.get("rule") and not given.get("as_found") and not given.get("as_left"):
            self.add_error("as_found", "A rule needs points. Type them, or take the range as stated.")
        return given

    def clean_file(self):
        file = self.cleaned_data.get("file")
        if file and file.size > MOST_BYTES:
            raise ValidationError(f"It has {file.size / 1e6:.0f} MB; the most is {MOST_BYTES / 1e6:.0f} MB.")
        return file

    def _clean_dates(self, given) -> None:
        performed, due = given.get("performed_on"), given.get("due_on")
        if performed and due is None and "due_on" not in self.errors:
            if self.proposed is None:
                self.add_error("due_on", "Fill this in: the item has no interval that would propose a day.")
                return
            due = given["due_on"] = self.proposed(performed)
        if performed and due and due < performed:
            self.add_error("due_on", "The due date lies before the calibration. Check both dates.")
        elif performed and due and self.proposed and due != self.proposed(performed) and not given.get("due_reason"):
            day = self.proposed(performed)
            said = f"The interval proposes {day.day} {day:%B %Y}. Say why it is another."
            self.add_error("due_reason", said)
