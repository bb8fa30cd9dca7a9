"""Forms of a protocol: put to the client, answered by the client, and an answer that came another way."""

from django import forms

from .fields import Choice, Day, Plain, Text, Words
from .second_factors import Signed

ANSWERS = [("yes", "Agreed"), ("no", "Not agreed: something must be changed")]


class PutForm(Signed):
    """What the client is told with the version, and the signature."""

    words = Words(label="What the client is told with it", required=False, rows=2)
    field_order = ["words"]


class AgreeForm(Signed):
    """The client's own answer, signed."""

    agreed = Choice(label="Your answer", choices=ANSWERS, widget=forms.RadioSelect)
    words = Words(label="What must be changed, or what else you want to say", required=False)
    field_order = ["agreed", "words"]

    def clean(self):
        return demand_words(self)


class AnswerForm(Plain):
    """What the client said in a letter, a message or a talk."""

    agreed = Choice(label="What the client said", choices=ANSWERS, widget=forms.RadioSelect)
    words = Words(label="In the client's words", required=False)
    said_by = Text(label="Who said it")
    said_on = Day(label="On which day")
    received_as = Text(label="How it came, and where it is kept", help_text="For example: e-mail, file 114.")

    def clean(self):
        return demand_words(self)


def demand_words(form: Plain) -> dict:
    """A client that does not agree says what must be changed."""
    if form.cleaned_data.get("agreed") == "no" and not form.cleaned_data.get("words"):
        form.add_error("words", "Say what must be changed.")
    return form.cleaned_data
