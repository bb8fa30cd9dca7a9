"""Forms for samples: receipt, conditioning, custody, voids and replacements."""

from django import forms

from .fields import Choice, Day, Moment, Number, Plain, Text, Words


class ReceiptForm(Plain):
    """A lot as it came in."""

    name = Choice(label="Lot of the plan", empty="Choose a lot")
    description = Text(label="What it is", help_text="For example: pouch 120 × 200 mm, coated paper to film, empty.")
    condition = Text(label="Condition on receipt")
    sealed_how = Text(
        label="How the seals were made",
        help_text="Machine and settings as the client states them, or: not known, and why.",
    )
    sampled_by = Text(label="Who drew the sample, and how")
    sampled_on = Text(
        label="When the sample was drawn", help_text="The day as the client states it, or: not known, and why."
    )
    place = Text(label="Where it is kept")
    received_at = Moment(label="Received at")


class ConditioningForm(Plain):
    """A lot goes into the conditioned room."""

    started_at = Moment(label="Conditioning began at")
    temperature_c = Number(label="Temperature", unit="°C")
    humidity_percent = Number(label="Relative humidity", unit="%", at_least=0)
    place = Text(label="Room or chamber")


class CutForm(Plain):
    """Where the specimens are cut."""

    place = Text(label="Where they are cut")
    cutter = Choice(label="Cut with", empty="no cutter on record", required=False)
    cutter_check = Text(
        label="What was looked at before the first cut",
        required=False,
        help_text="For example: blade clean and sharp, first strip measured 25.41 mm.",
    )

    remnants = Text(
        label="Where remnants and spare strips are kept",
        required=False,
        help_text="They stay there until the report is released.",
    )

    def clean(self):
        if self.cleaned_data.get("cutter") and not self.cleaned_data.get("cutter_check"):
            self.add_error("cutter_check", "Look at the cutter first, and write down what was seen.")
        return self.cleaned_data


class DiscardForm(Plain):
    """What was left of a lot goes."""

    words = Text(label="How, and by whose leave")


class DiscrepancyForm(Plain):
    """Something on receipt that is not as agreed."""

    words = Words(label="What was expected, and what came", rows=2)


class DiscrepancyAnswerForm(Plain):
    """What the client said of it."""

    proceeds = Choice(
        label="The client says",
        choices=[("yes", "Test it all the same"), ("no", "Do not test it")],
        widget=forms.RadioSelect,
    )
    words = Words(label="In words", rows=2)
    said_by = Text(label="Who said so, and how", help_text="For example: Clara Thrift, by e-mail.")
    said_on = Day(label="On")
    disclaimer = Words(label="What the report says of it", rows=2, required=False)

    def clean(self):
        if self.cleaned_data.get("proceeds") == "yes" and not self.cleaned_data.get("disclaimer"):
            self.add_error("disclaimer", "Tested all the same, the report says what was not as agreed.")
        return self.cleaned_data


class TreatmentForm(Plain):
    """What an arm of the lot went through."""

    group = Choice(label="Arm of the plan", empty="Choose an arm")
    kind = Choice(
        label="What it went through",
        choices=[("sterilised", "Sterilised"), ("aged", "Aged"), ("shipped", "Shipped"), ("other", "Other")],
    )
    evidence = Text(label="What shows it", help_text="Certificate, chamber record or test report, with its number.")
    chamber = Text(label="Chamber or steriliser", required=False)
    started_on = Day(label="Began on")
    ended_on = Day(label="Ended on")
    ageing_c = Number(label="Ageing temperature", unit="°C", required=False, help_text="Ageing only.")
    ambient_c = Number(label="Ambient temperature", unit="°C", required=False, help_text="Ageing only.")
    q10 = Number(label="Q10", above=1, required=False, help_text="Ageing only; 2 is customary.")
    pull_from = Day(label="To be pulled from", required=False)
    pull_until = Day(label="To be pulled until", required=False)

    def clean(self):
        given = self.cleaned_data
        for first, last, words in (
            ("started_on", "ended_on", "It ends before it begins. Check both days."),
            ("pull_from", "pull_until", "The window ends before it begins. Check both days."),
        ):
            if given.get(first) and given.get(last) and given[last] < given[first]:
                self.add_error(last, words)
        if given.get("kind") == "aged":
            for name in ("ageing_c", "ambient_c", "q10"):
                if given.get(name) is None and name not in self.errors:
                    self.add_error(name, "Ageing needs it: take it from the chamber's record and the plan.")
        return given


class CustodyForm(Plain):
    """Where a lot went."""

    act = Text(label="What happened", help_text="Stored, moved, returned ...")
    place = Text(label="Where it is now")
    words = Text(label="Remark", required=False)
    happened_at = Moment(label="When")


class VoidForm(Plain):
    """A specimen is set aside, for a cause of the method's list."""

    cause = Choice(label="Cause", empty="Choose a cause")
    words = Words(label="What happened")


class ReplacementForm(Plain):
    """From which pack the replacement is cut."""

    pack = Choice(label="Cut from pack", empty="Choose a pack")
