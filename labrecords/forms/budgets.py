"""Forms of an uncertainty budget: what it speaks of, and its contributions."""

from decimal import Decimal

from django import forms

from labrecords.rules import budget as rules
from labrecords.rules.series import TECHNIQUE_WORDS

from .fields import Choice, Number, Plain, Text, Words
from .plan import UNITS, Rows


class BudgetForm(Plain):
    """What a budget speaks of."""

    method_version = Choice(label="Method version", empty="Choose a method version")
    technique = Choice(label="Technique", choices=list(TECHNIQUE_WORDS.items()))
    level = Number(label="Strength", above=0, help_text="For which it is worked out; its share is used at other ones.")
    unit = Choice(label="Unit", choices=UNITS)
    coverage = Number(
        label="Coverage probability", above=0, help_text="0.9545 gives a factor of 2 with many degrees of freedom."
    )
    rationale = Words(
        label="What it speaks of",
        help_text="Of this strip, or of another strip of its lot? What was left out, and why?",
    )

    def clean_coverage(self):
        share = self.cleaned_data["coverage"]
        if share >= 1:
            raise forms.ValidationError("This is a share between 0 and 1, such as 0.95.")
        return share


class LineForm(Plain):
    """One contribution."""

    name = Text(label="Contribution")
    type = Choice(label="Evaluated", choices=list(rules.TYPES.items()), initial=rules.OTHERWISE)
    distribution = Choice(label="Distribution", choices=[(d, d) for d in rules.DISTRIBUTIONS], initial="normal")
    size = Number(label="Size", at_least=0)
    size_is = Choice(label="The size is a", choices=[(s, s) for s in rules.SIZES], initial=rules.STANDARD)
    divisor = Number(
        label="Divisor", required=False, above=0, help_text="With the half width of a normal: its coverage factor."
    )
    sensitivity = Number(
        label="Sensitivity", initial=Decimal(1), help_text="Change of the strength with this quantity."
    )
    df = Number(label="Degrees of freedom", required=False, above=0, help_text="Blank: without end.")
    source = Text(label="Where the size comes from")


LineRows = forms.formset_factory(LineForm, formset=Rows, extra=3, max_num=40, absolute_max=40)

FIRST = {"coverage": Decimal("0.9545"), "technique": "A", "unit": "lbf/in"}
# What a budget of a peel force usually asks after. common practice, no source
USUAL = [
    {
        "name": "Load cell and tester",
        "distribution": "rectangular",
        "size_is": rules.HALF_WIDTH,
        "source": "verification of the tester: within so many per cent of the reading",
    },
    {
        "name": "Specimen width",
        "distribution": "rectangular",
        "size_is": rules.HALF_WIDTH,
        "source": "tolerance of the cutter; a strip that is wider by so much gives as much more force",
    },
    {
        "name": "Grip separation rate",
        "distribution": "rectangular",
        "size_is": rules.HALF_WIDTH,
        "source": "tolerance of the rate, and how the force changes with it",
    },
]
