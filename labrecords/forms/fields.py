"""Fields whose complaints are full sentences and whose numbers are read as a person typed them."""

from decimal import Decimal

from django import forms
from django.core.exceptions import ValidationError
from django.utils import timezone

from labrecords.rules import numbers

NEEDED = "Fill this in."


class Text(forms.CharField):
    """A line of text."""

    default_error_messages = {"required": NEEDED}


class Words(Text):
    """Some sentences."""

    def __init__(self, *, rows: int = 3, **kwargs):
        super().__init__(widget=forms.Textarea(attrs={"rows": rows}), **kwargs)


class Choice(forms.ChoiceField):
    """One of a list; the list may be given later."""

    default_error_messages = {"required": "Choose one.", "invalid_choice": "Choose one of the list."}

    def __init__(self, *, choices=(), empty: str = "", **kwargs):
        super().__init__(choices=choices, **kwargs)
        self.empty = empty

    def offer(self, choices) -> None:
        """Set what may be chosen."""
        first = [("", self.empty)] if self.empty else []
        self.choices = [*first, *choices]


class Number(forms.CharField):
    """A decimal number, with point or comma; what is not a number is refused as a whole."""

    default_error_messages = {"required": NEEDED}

    def __init__(self, *, unit: str = "", above: int | None = None, at_least: int | None = None, **kwargs):
        attrs = {"inputmode": "decimal", "autocomplete": "off", "spellcheck": "false"}
        if unit:
            attrs["data-unit"] = unit
        super().__init__(widget=forms.TextInput(attrs=attrs), **kwargs)
        self.above, self.at_least = above, at_least

    def to_python(self, value):
        text = super().to_python(value)
        if not text:
            return None
        try:
            number = text if isinstance(text, Decimal) else numbers.parse(str(text))
        except numbers.NotANumber as problem:
            raise ValidationError(str(problem)) from problem
        if self.above is not None and number <= self.above:
            raise ValidationError(f"This is a number above {self.above}.")
        if self.at_least is not None and number < self.at_least:
            raise ValidationError(f"This is {self.at_least} or more.")
        return number


class Whole(Number):
    """A whole number."""

    def to_python(self, value):
        number = super().to_python(value)
        if number is None:
            return None
        if number != number.to_integral_value():
            raise ValidationError("This is a whole number.")
        return int(number)


class Day(forms.DateField):
    """A calendar day."""

    default_error_messages = {"required": NEEDED, "invalid": "Type the day as 2026-11-25."}

    def __init__(self, **kwargs):
        super().__init__(widget=forms.DateInput(attrs={"type": "date"}, format="%Y-%m-%d"), **kwargs)


class Moment(forms.DateTimeField):
    """A moment in the laboratory's time zone, to the minute."""

    default_error_messages = {"required": NEEDED, "invalid": "Type the time as 2026-11-25 14:30."}

    def __init__(self, **kwargs):
        super().__init__(
            widget=forms.DateTimeInput(attrs={"type": "datetime-local"}, format="%Y-%m-%dT%H:%M"), **kwargs
        )

    def prepare_value(self, value):
        """Show a moment where the laboratory is."""
        return timezone.localtime(value).replace(tzinfo=None) if hasattr(value, "tzinfo") and value.tzinfo else value


class Password(Text):
    """A password, typed again for an act that is signed."""

    def __init__(self, **kwargs):
        attrs = {"autocomplete": "current-password"}
        super().__init__(strip=False, widget=forms.PasswordInput(attrs=attrs), **kwargs)


class Plain(forms.Form):
    """A form whose hints stand beside its fields."""

    required_css_class = ""
    use_required_attribute = False


class Asking(Plain):
    """A form that asks for something to be shown, and records nothing either way."""

    errors_heading = "There is nothing to show yet. Change this and ask again:"
