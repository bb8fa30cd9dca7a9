"""Forms for equipment: registering, calibrations, in and out of service."""

from django import forms

from .fields import Choice, Day, Number, Plain, Text, Words


class EquipmentForm(Plain):
    """A tester or a load cell."""

    kind = Choice(label="Kind", choices=[("tester", "Tester"), ("cell", "Load cell")])
    name = Text(label="Name")
    maker = Text(label="Maker", required=False)
    model = Text(label="Type", required=False)
    serial = Text(label="Serial number")
    firmware = Text(label="Firmware", required=False)
    location = Text(label="Where it stands")
    capacity_n = Number(label="Capacity", unit="N", above=0)
    resolution_n = Number(label="Resolution", unit="N", above=0, required=False)


class CalibrationForm(Plain):
    """A calibration as its certificate states it."""

    certificate = Text(label="Certificate number")
    provider = Text(label="Calibration laboratory")
    performed_on = Day(label="Performed on")
    due_on = Day(label="Due on", help_text="Valid through the end of this day.")
    passed = Choice(
        label="Outcome", choices=[("yes", "Within tolerance"), ("no", "Out of tolerance")], widget=forms.RadioSelect
    )
    verified_low_n = Number(label="Verified from", unit="N", at_least=0, required=False)
    verified_high_n = Number(label="Verified to", unit="N", above=0, required=False)
    noise_n = Number(
        label="Noise of the idle reading", unit="N", at_least=0, required=False, help_text="One standard deviation."
    )
    expanded_uncertainty_percent = Number(
        label="Expanded uncertainty (k = 2)", unit="% of reading", at_least=0, required=False
    )

    def clean(self):
        given = self.cleaned_data
        if given.get("performed_on") and given.get("due_on") and given["due_on"] < given["performed_on"]:
            self.add_error("due_on", "The due date lies before the calibration. Check both dates.")
        low, high = given.get("verified_low_n"), given.get("verified_high_n")
        if (low is None) != (high is None):
            self.add_error("verified_high_n", "Give both ends of the verified range, or neither.")
        if low is not None and high is not None and low >= high:
            self.add_error("verified_high_n", "The verified range ends above where it begins.")
        return given


class WordsForm(Plain):
    """What was read, or why."""

    words = Words(label="What was checked")


class ServiceForm(Plain):
    """Out of service, or back."""

    reason = Words(label="Reason", rows=2)
