"""A form with one of each kind of field, for the page that shows every component; it is never recorded."""

from django import forms

from .fields import Choice, Day, Number, Plain, Text, Words


class SampleForm(Plain):
    """One field of each kind, in the states that a field can have."""

    name = Text(label="Line of text", help_text="A hint stands above its field.")
    force = Number(label="Number with a unit", unit="N/15 mm")
    words = Words(label="Some sentences", required=False)
    day = Day(label="Day", required=False)
    kind = Choice(label="One of a list", choices=[("a", "the first"), ("b", "the second")], required=False)
    side = Choice(label="One of few", choices=[("a", "this"), ("b", "that")], widget=forms.RadioSelect, required=False)
    modes = forms.MultipleChoiceField(
        label="Several of few",
        choices=[("AP", "adhesive peel"), ("CO", "cohesive peel")],
        widget=forms.CheckboxSelectMultiple,
        required=False,
    )
    sure = forms.BooleanField(label="Yes or no", required=False)
    file = forms.FileField(label="File", required=False)
