"""Forms of a correction: what the result is to read, and a second person's word on it."""

from django import forms

from labrecords.rules.correction import REASONS

from .fields import Choice, Plain, Text, Words


class Modes(forms.MultipleChoiceField):
    """How the strip came apart; the list is the method's."""

    default_error_messages = {"invalid_choice": "Choose failure modes of the method."}

    def __init__(self, **kwargs):
        super().__init__(widget=forms.CheckboxSelectMultiple, required=False, **kwargs)


class CorrectionForm(Plain):
    """What the result is to read instead, and why."""

    typed = Text(
        label="Maximum, as it should have been typed",
        required=False,
        widget=forms.TextInput(attrs={"inputmode": "decimal", "autocomplete": "off"}),
    )
    unit = Choice(label="Unit", required=False)
    modes = Modes(label="How the strip came apart")
    opened = forms.BooleanField(label="The seal had opened before the test", required=False)
    remark = Words(label="Remark", required=False, rows=2)
    reason = Choice(label="Reason", choices=list(REASONS.items()), empty="Choose a reason")
    words = Words(label="What is wrong, and how it is known", rows=2)

    def __init__(self, *args, **kwargs):
        super().__init__(*args, **kwargs)
        self.fields["reason"].offer(REASONS.items())


class SecondForm(Plain):
    """A second person's word on a correction."""

    agreed = Choice(label="Decision", choices=[("", "Choose one"), ("yes", "Agree: make the correction"), ("no", "No")])
    words = Words(label="What was looked at")
