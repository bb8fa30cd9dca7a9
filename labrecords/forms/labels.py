"""The form of a print of labels, and of a scanner's check."""

from django import forms

from labrecords.rules.label_sheet import SHEETS

from .fields import Choice, Number, Plain, Text, Whole, Words

ALL, NEW = "all", "new"
MARGINS = ("side", "top", "between")


class PrintForm(Plain):
    """What is printed, on which sheet, beginning where."""

    what = forms.MultipleChoiceField(
        label="Labels of",
        widget=forms.CheckboxSelectMultiple,
        error_messages={"required": "Choose packs, specimens or both."},
    )
    which = Choice(label="Which of them", choices=[(NEW, "those not printed yet"), (ALL, "all of them")])
    only = Words(
        label="Only these codes",
        required=False,
        rows=2,
        help_text="For single labels, printed before or not; leave it empty otherwise.",
    )
    sheet = Choice(label="Sheet", choices=[(name, one.words) for name, one in SHEETS.items()])
    first = Whole(
        label="Begin at label",
        at_least=1,
        initial=1,
        help_text="Counted from the upper left along each row, so that a sheet begun is used up.",
    )
    side = Number(label="Margin left and right", unit="mm", at_least=0, required=False)
    top = Number(label="Margin above and below", unit="mm", at_least=0, required=False)
    between = Number(label="Gap between columns", unit="mm", at_least=0, required=False)

    def margins(self) -> dict[str, float | None]:
        """Margins as they were typed; None where the sheet's own holds."""
        given = {name: self.cleaned_data[name] for name in MARGINS}
        return {name: None if value is None else float(value) for name, value in given.items()}


for _name in MARGINS:
    PrintForm.base_fields[_name].need = "as the sheet has it, if left empty"


class ScannerForm(Plain):
    """What the scanner sent."""

    scanned = Text(
        label="Scan the test label here",
        help_text="The scanner sends F8, the characters, and Enter. Without F8, scan with this field chosen.",
        max_length=1000,
        widget=forms.TextInput(
            attrs={"autocomplete": "off", "spellcheck": "false", "autocapitalize": "off", "data-scan": ""}
        ),
    )
    framed = forms.BooleanField(required=False, widget=forms.HiddenInput)
