"""Forms for equipment: registering, describing, documents, events, checks, and which cell fits."""

from django import forms

from .fields import Asking, Choice, Moment, Number, Plain, Text, Whole, Words

KINDS = [
    ("tester", "Tester"),
    ("cell", "Load cell"),
    ("gauge", "Width gauge"),
    ("cutter", "Strip cutter"),
    ("sensor", "Room sensor"),
    ("mass", "Check mass"),
    ("strip", "Reference strips"),
]
EVENTS = [
    ("out of service", "Taken out of service"),
    ("back in service", "Put back in service: the reason says what showed it right"),
    ("checked", "Checked"),
    ("maintained", "Maintained"),
    ("adjusted", "Adjusted: out of service until put back"),
    ("repaired", "Repaired: out of service until put back"),
    ("retired", "Retired, for good"),
]


class DescriptionForm(Plain):
    """What may be said anew of an item."""

    name = Text(label="Name")
    location = Text(label="Where it stands")
    firmware = Text(label="Firmware", required=False)
    acceptance = Words(label="What it has to meet", rows=2, required=False, help_text="And where that was shown.")
    maintenance = Words(label="Maintenance", rows=2, required=False, help_text="What is done, and how often.")
    interval_months = Whole(
        label="Calibrated every",
        unit="months",
        at_least=1,
        required=False,
        help_text="Empty where it needs no calibration; testers and load cells always need one.",
    )
    reason = Text(label="Why it is described anew")
    edition = forms.IntegerField(widget=forms.HiddenInput)


class EquipmentForm(Plain):
    """An item of equipment."""

    kind = Choice(label="Kind", choices=KINDS)
    name = Text(label="Name")
    maker = Text(label="Maker", required=False)
    model = Text(label="Type", required=False)
    serial = Text(label="Serial number")
    firmware = Text(label="Firmware", required=False)
    location = Text(label="Where it stands")
    capacity_n = Number(label="Capacity", unit="N", above=0, required=False, help_text="Testers and load cells.")
    resolution_n = Number(label="Resolution", unit="N", above=0, required=False, help_text="Testers and load cells.")
    nominal_n = Number(
        label="Force it gives", unit="N", above=0, required=False, help_text="Check masses and reference strips."
    )
    interval_months = Whole(
        label="Calibrated every", unit="months", at_least=1, required=False, help_text="Empty: needs no calibration."
    )
    acceptance = Words(label="What it has to meet", rows=2, required=False)
    maintenance = Words(label="Maintenance", rows=2, required=False)

    def clean(self):
        given = self.cleaned_data
        if given.get("kind") in ("tester", "cell") and not given.get("capacity_n"):
            self.add_error("capacity_n", "A tester or load cell has a capacity. Type it in newtons.")
        if given.get("kind") in ("mass", "strip") and not given.get("nominal_n"):
            self.add_error("nominal_n", "A check standard gives a force. Type it in newtons.")
        return given


class EventForm(Plain):
    """What happened to an item."""

    kind = Choice(label="What happened", choices=EVENTS)
    happened_at = Moment(label="When")
    reason = Words(label="Reason, or what was found", rows=2)


class DocumentForm(Plain):
    """A document of an item."""

    title = Text(label="What it is")
    file = forms.FileField(
        label="File", help_text="PDF, PNG or JPEG; up to 20 MB.", error_messages={"required": "Choose a file."}
    )


class WordsForm(Plain):
    """What was read, or why."""

    words = Words(label="What was checked")


class CheckForm(Plain):
    """A check of tester and cell together."""

    tester = Choice(label="Tester", empty="Choose a tester")
    standard = Choice(label="Checked with", empty="Choose a mass or strips")
    value_n = Number(label="Reading", unit="N", above=0)
    taken_at = Moment(label="When")
    remark = Text(label="Remark", required=False)


class BaselineForm(Plain):
    """Limits from the readings so far."""

    pair = Choice(label="For")
    name = Text(label="Name of the baseline", help_text="Which readings it rests on, and why these.")


class FitForm(Asking):
    """Forces that are expected."""

    weak_n = Number(label="Weakest expected", unit="N", above=0)
    strong_n = Number(label="Strongest expected", unit="N", above=0)

    def clean(self):
        weak, strong = self.cleaned_data.get("weak_n"), self.cleaned_data.get("strong_n")
        if weak is not None and strong is not None and strong < weak:
            self.add_error("strong_n", "The strongest force is not below the weakest.")
        return self.cleaned_data
