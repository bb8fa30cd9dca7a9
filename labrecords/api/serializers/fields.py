"""Fields that take what was sent and nothing near it."""

from decimal import Decimal

from drf_spectacular.types import OpenApiTypes
from drf_spectacular.utils import extend_schema_field
from rest_framework import serializers


class StrictSerializer(serializers.Serializer):
    """A body with exactly the fields it knows: a misspelt one is named, not passed over."""

    default_error_messages = {
        "invalid": "Send an object with named fields.",
        "unknown": "There is no field of this name.",
    }

    def to_internal_value(self, data):
        """The values, once no unknown name stands beside them."""
        if hasattr(data, "keys") and (unknown := sorted(set(data.keys()) - set(self.fields))):
            found = [serializers.ErrorDetail(self.error_messages["unknown"], code="unknown")]
            raise serializers.ValidationError(dict.fromkeys(unknown, found))
        return super().to_internal_value(data)


class Text(serializers.CharField):
    """Text, kept as it came: no number is turned into text on the way, no blank is cut off."""

    default_error_messages = {"invalid": "Send this as text, in quotation marks."}

    def __init__(self, **options):
        super().__init__(**{"trim_whitespace": False} | options)

    def to_internal_value(self, data):
        """The text itself."""
        if not isinstance(data, str):
            self.fail("invalid")
        return super().to_internal_value(data)


class Exact(serializers.DecimalField):
    """A decimal, compared exactly; written without trailing zeros, as text."""

    def __init__(self, **options):
        super().__init__(
            **{"max_digits": 20, "decimal_places": 9, "normalize_output": True, "coerce_to_string": True} | options
        )

    def quantize(self, value: Decimal) -> Decimal:
        """Every digit as it is: adding zeros would only be taken off again."""
        return value


@extend_schema_field(OpenApiTypes.DATETIME)
class Moment(serializers.DateTimeField):
    """A moment with its offset. One without would be guessed, and a day has two midnights somewhere."""

    default_error_messages = {
        "naive": "Give the moment with its offset from UTC, such as 2026-05-20T10:00:00+01:00 or ...Z.",
        "invalid": "Give the moment as date and time with its offset, such as 2026-05-20T10:00:00+01:00.",
        "far": "Give a year between 1900 and 2999.",
    }

    def enforce_timezone(self, value):
        """The moment as it is; refused if nobody said where."""
        if value.tzinfo is None:
            self.fail("naive")
        if not 1900 <= value.year <= 2999:  # further out, another zone's day may have no date
            self.fail("far")
        return super().enforce_timezone(value)
