"""What a program sends to have one result kept, and what it gets back."""

import json
from decimal import Decimal

from drf_spectacular.utils import extend_schema_field
from rest_framework import serializers

from labrecords.files.layout import ARRANGEMENTS, ENCODINGS, Layout

from .fields import Exact, Moment, StrictSerializer, Text
from .results import ResultSerializer


class EntrySerializer(StrictSerializer):
    """One result as it was taken at the bench: how the strip was pulled, how it came apart, and the force."""

    key = serializers.UUIDField(help_text="Made by the sender, once an entry; the same key gives the same answer.")
    run = serializers.UUIDField(help_text="An open run of the study.")
    specimen = Text(max_length=60, help_text="Label, such as SP-000123-N.")
    tested_at = Moment(help_text="With its offset from UTC.")
    tested_by = Text(
        max_length=80, required=False, default=None, help_text="User name; the run's person when left out."
    )
    technique = Text(max_length=10, help_text="A, B or C: how this strip was held.")
    rate = Exact(min_value=Decimal(0), help_text="Grip separation rate as set on the tester, in rate_unit.")
    rate_unit = serializers.ChoiceField(choices=("in/min", "mm/min"))
    width_mm = Exact(min_value=Decimal("0.001"), help_text="Specimen width.")
    modes = serializers.ListField(
        child=Text(max_length=10), default=list, max_length=10, help_text="Keys of the method's failure modes."
    )
    opened = serializers.BooleanField(default=False, help_text="The seal had opened before the test.")
    value = Text(
        max_length=40,
        default="",
        allow_blank=True,
        help_text="The maximum as text, exactly as the display shows it; the trace gives it when left out.",
    )
    unit = Text(
        max_length=12,
        default="",
        allow_blank=True,
        help_text="Unit of value: the set-up's, also when left out, or N for a force.",
    )
    remark = Text(max_length=2000, default="", allow_blank=True)
    confirmed = serializers.ListField(
        child=Text(max_length=40),
        default=list,
        max_length=10,
        help_text="Codes a person has looked at, such as odd-trace.",
    )


class SeriesSerializer(StrictSerializer):
    """The columns of one specimen, counted from 0."""

    force = serializers.IntegerField(min_value=0)
    displacement = serializers.IntegerField(min_value=0, allow_null=True, default=None)
    time = serializers.IntegerField(min_value=0, allow_null=True, default=None)


class LayoutSerializer(StrictSerializer):
    """How a trace file is read. Lines are counted from 1, columns from 0."""

    encoding = serializers.ChoiceField(choices=ENCODINGS)
    delimiter = Text(max_length=4, help_text="What parts the columns.")
    decimal = Text(max_length=1)
    names_line = serializers.IntegerField(min_value=1, allow_null=True)
    units_line = serializers.IntegerField(min_value=1, allow_null=True)
    first_data_line = serializers.IntegerField(min_value=1)
    arrangement = serializers.ChoiceField(choices=tuple(ARRANGEMENTS))
    series = SeriesSerializer(many=True)
    force_unit = Text(max_length=12, allow_null=True)
    displacement_unit = Text(max_length=12, allow_null=True)
    time_unit = Text(max_length=12, allow_null=True)
    width = serializers.IntegerField(min_value=1, max_value=400, help_text="Number of columns.")
    rate = Text(max_length=40, allow_null=True, default=None, help_text="Where displacement is made from time.")
    marks = serializers.ListField(
        child=serializers.ListField(child=Text(max_length=40, allow_null=True), min_length=2, max_length=2),
        default=list,
        max_length=400,
        help_text="Role and unit that the heading of each column states.",
    )


@extend_schema_field(LayoutSerializer)
class LayoutField(serializers.Field):
    """A layout as JSON text in a part of the form."""

    default_error_messages = {"not_json": "Send the layout as JSON, as an answer layout-uncertain gives it."}

    def to_internal_value(self, data) -> Layout:
        """The layout, once every field of it is understood."""
        try:
            plain = json.loads(data) if isinstance(data, str) else data
        except ValueError:
            self.fail("not_json")
        sent = LayoutSerializer(data=plain)
        sent.is_valid(raise_exception=True)
        try:
            return Layout.from_json(sent.validated_data)
        except ValueError as problem:
            raise serializers.ValidationError(str(problem)) from problem

    def to_representation(self, value: Layout) -> dict:
        """Only read, never shown."""
        return value.to_json()


class TraceEntrySerializer(EntrySerializer):
    """The same fields as parts of a form, with the tester's file beside them."""

    file = serializers.FileField(help_text="Any delimited text file with force, and displacement or time.")
    segment = serializers.IntegerField(
        min_value=1,
        required=False,
        default=None,
        help_text="Which curve of the file, from 1; found by the specimen's label when left out.",
    )
    layout = LayoutField(
        required=False, default=None, help_text="How the file is read; as the tester's files are, when left out."
    )


class KeptSerializer(serializers.Serializer):
    """A result that was kept, the marks it carries and what holds it."""

    result = ResultSerializer()
    marks = serializers.ListField(child=serializers.CharField(), help_text="What is printed beside it everywhere.")
    held = serializers.ListField(
        child=serializers.CharField(), help_text="What waits for the decision of a named person."
    )
