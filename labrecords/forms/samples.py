"""Forms for samples: receipt, conditioning, custody, voids and replacements."""

from .fields import Choice, Moment, Number, Plain, Text, Words


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
