"""Forms for nonconforming work."""

from django import forms

from .fields import Choice, Plain, Text, Words

STEPS = [
    ("significance", "What it means, and how far it reaches"),
    ("decision", "What was decided: stop, repeat, hold, accept"),
    ("client told", "A client was told"),
    ("cause and action", "Cause, and what keeps it from coming back"),
    ("work resumed", "Work resumes: the holds end"),
]


class OpenForm(Plain):
    """What went wrong."""

    title = Text(label="In short")
    words = Words(label="What was found, and how far it may reach")
    study = Choice(label="Study", empty="none in particular", required=False)
    refusal = forms.UUIDField(widget=forms.HiddenInput, required=False)


class StepForm(Plain):
    """What was done about it."""

    kind = Choice(label="Step", choices=STEPS)
    client = Choice(label="Client", empty="no client", required=False, help_text="Who was told.")
    words = Words(label="In words")

    def clean(self):
        if self.cleaned_data.get("kind") == "client told" and not self.cleaned_data.get("client"):
            self.add_error("client", "Choose the client who was told.")
        return self.cleaned_data
