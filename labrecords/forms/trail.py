"""Which part of the audit trail is to be read."""

from django import forms

from .fields import Plain, Text


class TrailForm(Plain):
    """A record by its kind and identifier, or everything in a study."""

    subject = Text(
        label="Record",
        required=False,
        help_text="Kind and identifier: specimen SP-000001-A, equipment LC-000001-5, person tilly, report R-2026-0001.",
    )
    study = Text(label="Everything in study", required=False, help_text="Its code, such as S-2026-0001.")
    before = forms.IntegerField(required=False, widget=forms.HiddenInput)
