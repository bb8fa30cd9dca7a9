"""The form by which a trace is looked at by another rule."""

from decimal import Decimal

from django.core.exceptions import ValidationError

from .fields import Asking, Number

WHOLE = 100


class Share(Number):
    """A share in percent, given on as a fraction."""

    def __init__(self, *, with_whole: bool, **kwargs):
        super().__init__(unit="%", above=0, **kwargs)
        self.with_whole = with_whole

    def to_python(self, value):
        percent = super().to_python(value)
        if percent is None:
            return None
        if percent > WHOLE or (percent == WHOLE and not self.with_whole):
            raise ValidationError(f"This is {'at most' if self.with_whole else 'a number below'} {WHOLE} %.")
        return float(percent / Decimal(WHOLE))


class LookForm(Asking):
    """The two shares of the set-up that say which part of a trace is averaged."""

    threshold = Share(
        with_whole=False,
        label="Threshold",
        help_text="Share of the peak force that marks where the peel begins and ends; above 0 %, below 100 %.",
    )
    span = Share(
        with_whole=True,
        label="Analysed span",
        help_text="Central share of the peel that is averaged; above 0 %, at most 100 %.",
    )
