"""Forms of a photograph: taken or chosen, and set aside."""

from django import forms

from .fields import Plain, Text, Words

TWO = "Take one or choose one, not both: each has its own caption."


class PhotoForm(Plain):
    """One photograph of a separated strip. A field that opens a camera takes no file, so there are two."""

    taken = forms.FileField(
        label="Take a photograph",
        required=False,
        widget=forms.FileInput(attrs={"accept": "image/*", "capture": "environment"}),
        help_text="Opens the camera of a tablet or telephone. Show the strip and its label, not the tester's display.",
        error_messages={"empty": "The photograph is empty. Take it again."},
    )
    chosen = forms.FileField(
        label="Or choose a file",
        required=False,
        widget=forms.FileInput(attrs={"accept": "image/jpeg,image/png"}),
        help_text="JPEG or PNG, up to 15 MB and 40 million pixels.",
        error_messages={"empty": "The file is empty. Choose another."},
    )
    caption = Text(label="Caption", required=False, help_text="What is to be seen, without the value.")

    taken.need = chosen.need = "one of the two"

    def clean(self):
        taken, chosen = (self.cleaned_data.get(name) for name in ("taken", "chosen"))
        if taken and chosen:
            self.add_error("chosen", TWO)
        elif not (taken or chosen or self.errors):
            self.add_error("chosen", "Take a photograph, or choose a file.")
        return self.cleaned_data | {"file": taken or chosen}


class StripForm(PhotoForm):
    """A photograph of a strip that was pulled in a run, sent again under the same key until it is answered."""

    key = forms.UUIDField(widget=forms.HiddenInput)
    strip = Text(label="Label of the strip", help_text="The one that is to be seen; the newest of this run is offered.")

    field_order = ("key", "strip", "taken", "chosen", "caption")

    def __init__(self, *args, **kwargs):
        # its fields stand on one page with those of an entry
        super().__init__(*args, **{"auto_id": "photograph_%s"} | kwargs)


class AsideForm(Plain):
    """Why a photograph was attached in error."""

    reason = Words(label="Why it is set aside", rows=2)
