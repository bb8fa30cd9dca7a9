"""Results as they are read back."""

from rest_framework import serializers

from .fields import Exact, StrictSerializer

AVERAGED = ("peak_force_n", "mean_force_n", "strength", "mean_strength")


class ResultSerializer(serializers.Serializer):
    """A result as it is kept. Decimals are text, to the last digit; forces are in newton."""

    id = serializers.UUIDField()
    specimen = serializers.CharField(source="specimen.label")
    revision = serializers.IntegerField()
    run = serializers.UUIDField(source="run_id")
    technique = serializers.CharField()
    rate = Exact()
    rate_unit = serializers.CharField()
    width_mm = Exact()
    source = serializers.CharField(help_text="typed or trace.")
    recorded = serializers.CharField(help_text="The maximum as it came; empty for a seal that had opened.")
    recorded_unit = serializers.CharField()
    peak_force_n = serializers.FloatField(allow_null=True)
    mean_force_n = serializers.FloatField(allow_null=True)
    strength = Exact(
        allow_null=True, help_text="Maximum force over width, in the unit of the set-up; null where it is censored."
    )
    mean_strength = Exact(allow_null=True)
    censored = serializers.CharField(help_text="below or above what can be measured; empty where it could be.")
    censored_at = Exact(allow_null=True, help_text="The end beyond which it lies.")
    modes = serializers.ListField(child=serializers.CharField())
    marks = serializers.ListField(child=serializers.CharField())
    remark = serializers.CharField()
    tested_at = serializers.DateTimeField()
    tested_by = serializers.CharField(source="tested_by.username")
    entered_by = serializers.CharField(source="entered_by.username")
    at = serializers.DateTimeField(help_text="When it was kept.")

    def to_representation(self, result):
        """Of a value known only to lie beyond an end, the reading and that end: no force or strength to average."""
        shown = super().to_representation(result)
        return shown | dict.fromkeys(AVERAGED) if shown["censored"] else shown


VALUES = ("recorded", "peak_force_n", "mean_force_n", "strength", "mean_strength", "censored", "censored_at")


class ResultRowSerializer(ResultSerializer):
    """A result in a list, and whether it counts."""

    standing = serializers.CharField(help_text="counts, void, set aside, or waiting for a decision.")
    withheld = serializers.BooleanField(
        help_text="The value is not shown to whoever may decide the deviation under which the result is kept."
    )

    def to_representation(self, row):
        """The result's own fields beside the row's; a withheld value is left out."""
        shown = super().to_representation(_Flat(row))
        return {**shown, **_hidden()} if row.withheld else shown


class _Flat:
    """A row and its result, read as one."""

    def __init__(self, row):
        self.standing, self.withheld, self._result = row.standing, row.withheld, row.result

    def __getattr__(self, name):
        return getattr(self._result, name)


def _hidden() -> dict:
    texts = dict.fromkeys(("recorded", "censored"), "")
    return dict.fromkeys(VALUES) | texts | {"marks": [], "modes": [], "remark": ""}


class ResultPageSerializer(serializers.Serializer):
    """One page of results in the order in which they were kept."""

    unit = serializers.CharField(help_text="Unit of every strength.")
    results = ResultRowSerializer(many=True)
    next = serializers.UUIDField(allow_null=True, help_text="Send it as after for the next page; null on the last.")


class ResultQuerySerializer(StrictSerializer):
    """Which page is asked for."""

    after = serializers.UUIDField(required=False, help_text="The result behind which to go on.")
    limit = serializers.IntegerField(required=False, default=100, min_value=1, max_value=500)
