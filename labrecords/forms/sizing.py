"""Forms that ask for what a sample size needs, one for each question."""

from labrecords.rules import sizing

from .fields import Asking, Choice, Number, Whole
from .plan import UNITS


class _Shares(Asking):
    """Shares are between 0 and 1."""

    SHARES: tuple[str, ...] = ("confidence",)

    def clean(self):
        for name in self.SHARES:
            share = self.cleaned_data.get(name)
            if share is not None and not 0 < share < 1:
                self.add_error(name, "This is a share between 0 and 1, such as 0.95.")
        return self.cleaned_data


class AttributesForm(_Shares):
    """Packs that pass or fail."""

    SHARES = ("reliability", "confidence")
    reliability = Number(label="Share of the lot that is to pass", initial="0.95")
    confidence = Number(label="Confidence", initial="0.95")
    failures = Whole(label="Failures allowed", at_least=0, initial="0", help_text="Fixed before the first pack.")


class BoundForm(_Shares):
    """A tolerance bound and its limit."""

    SHARES = ("coverage", "confidence", "chance")
    distance = Number(label="Expected distance from the mean to the limit", above=0)
    sd = Number(label="Expected standard deviation", above=0, help_text="From earlier lots, between packs.")
    unit = Choice(label="Unit", choices=UNITS)
    coverage = Number(label="Coverage of the bound", initial="0.95")
    confidence = Number(label="Confidence of the bound", initial="0.95")
    chance = Number(label="Chance that it clears the limit", initial="0.9")


class MeanForm(_Shares):
    """A mean within a margin."""

    sd = Number(label="Expected standard deviation", above=0)
    half_width = Number(label="Margin to either side", above=0)
    unit = Choice(label="Unit", choices=UNITS)
    confidence = Number(label="Confidence", initial="0.95")


class EquivalenceForm(_Shares):
    """Two means that are to be shown alike."""

    SHARES = ("confidence", "chance")
    sd = Number(label="Expected standard deviation", above=0)
    margin = Number(label="Largest difference that does not matter", above=0, help_text="Set before the test.")
    true_difference = Number(label="Difference that is expected", at_least=0, initial="0")
    unit = Choice(label="Unit", choices=UNITS)
    confidence = Number(label="Confidence of each one-sided test", initial="0.95")
    chance = Number(label="Chance of showing it", initial="0.9")


class ValidationForm(_Shares):
    """The strips of a validation."""

    technicians = Whole(label="Technicians", above=0, initial="5")
    lots = Whole(label="Lots", above=0, initial="1")
    ratio = Number(
        label="True standard deviation at most", above=1, initial="1.3", help_text="Times the one that is found."
    )
    confidence = Number(label="Confidence", initial="0.95")


FORMS = {
    sizing.ATTRIBUTES: AttributesForm,
    sizing.BOUND: BoundForm,
    sizing.MEAN: MeanForm,
    sizing.EQUIVALENCE: EquivalenceForm,
    sizing.VALIDATION: ValidationForm,
}
