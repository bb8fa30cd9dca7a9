"""Forms that take a badge and its PIN, and those by which a badge is made."""

from django import forms
from django.core.exceptions import ValidationError

from labrecords.rules import badge, labels

from .fields import NEEDED, Password, Plain, Text


class Pin(Text):
    """A PIN: digits that are not shown, typed or pasted."""

    default_error_messages = {"required": NEEDED}

    def __init__(self, **kwargs):
        attrs = {"inputmode": "numeric", "autocomplete": "off"}
        super().__init__(max_length=64, widget=forms.PasswordInput(attrs=attrs), **kwargs)


class BadgeForm(Plain):
    """Who takes over at the bench."""

    badge = Text(label="Badge", max_length=40, help_text="Scan it, or type its code, such as PB-000123-E.")
    pin = Pin(label="PIN")

    def clean_badge(self) -> str:
        """The code as it is written."""
        try:
            label = labels.parse(self.cleaned_data["badge"])
        except labels.LabelProblem as problem:
            raise ValidationError(str(problem)) from problem
        if label.kind != "PB":
            raise ValidationError(f"That is the label of a {labels.KINDS[label.kind]}. Wanted here is your badge.")
        return label.text


class PinForm(Plain):
    """A PIN, typed twice since it is not shown, and the password."""

    pin = Pin(
        label="PIN",
        help_text=f"{badge.SHORTEST} to {badge.LONGEST} digits that nobody guesses: no birthday, nothing counted up.",
    )
    pin_again = Pin(label="PIN, again")
    password = Password(label="Your password")

    def clean_pin(self) -> str:
        """The PIN, if it is one that is taken."""
        if said := badge.problem(self.cleaned_data["pin"]):
            raise ValidationError(said)
        return self.cleaned_data["pin"]

    def clean(self):
        given = self.cleaned_data
        if "pin" in given and "pin_again" in given and given["pin"] != given["pin_again"]:
            self.add_error("pin_again", ValidationError("The two are not the same. Type both anew."))
        return given
