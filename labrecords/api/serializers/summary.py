"""The numbers of a study, group by group. Numbers at full precision; nothing is rounded here."""

from rest_framework import serializers

from .fields import Exact
from .studies import GroupSerializer


class IntervalSerializer(serializers.Serializer):
    """A two-sided interval."""

    low = serializers.FloatField()
    high = serializers.FloatField()


class SummarySerializer(serializers.Serializer):
    """Values of a group in a few numbers, in the unit of the set-up."""

    n = serializers.IntegerField()
    mean = serializers.FloatField()
    sd = serializers.FloatField(help_text="With n - 1 degrees of freedom.")
    cv = serializers.FloatField(allow_null=True, help_text="sd over mean, as a share.")
    minimum = serializers.FloatField()
    median = serializers.FloatField()
    maximum = serializers.FloatField()
    mean_interval = IntervalSerializer(allow_null=True, help_text="null where strips share packs.")
    confidence = serializers.FloatField(help_text="Confidence of the interval.")


class BoundSerializer(serializers.Serializer):
    """A one-sided tolerance bound at the plan's coverage and confidence, or why there is none."""

    value = serializers.FloatField(allow_null=True)
    words = serializers.CharField()


class NormalitySerializer(serializers.Serializer):
    """Anderson and Darling's test of the normal model."""

    statistic = serializers.FloatField()
    adjusted = serializers.FloatField(allow_null=True)
    p_value = serializers.FloatField()
    n = serializers.IntegerField()


class VerdictSerializer(serializers.Serializer):
    """A group held against one limit."""

    kind = serializers.CharField(source="limit.kind")
    side = serializers.CharField(source="limit.side")
    value = Exact(help_text="The limit in the unit of the set-up.")
    outside = serializers.IntegerField(help_text="How many results lie on its bad side.")
    met = serializers.BooleanField(allow_null=True, help_text="null: not decided.")
    words = serializers.CharField()


class GroupNumbersSerializer(serializers.Serializer):
    """What one group of the plan gave."""

    group = GroupSerializer()
    tested = serializers.IntegerField()
    n = serializers.IntegerField(help_text="Results that count, marked ones too.")
    void = serializers.IntegerField()
    waiting = serializers.IntegerField(help_text="Results that wait for a decision.")
    below = serializers.IntegerField(help_text="Known only to lie below what can be measured.")
    above = serializers.IntegerField(help_text="Known only to lie above what can be measured.")
    summary = SummarySerializer(allow_null=True, help_text="null below two values, or where some are not known.")
    bound = BoundSerializer()
    upper_bound = BoundSerializer(allow_null=True, help_text="Where the study has an upper limit.")
    normality = NormalitySerializer(allow_null=True)
    verdicts = VerdictSerializer(many=True)
    notes = serializers.ListField(child=serializers.CharField(), help_text="What to bear in mind, in sentences.")

    def to_representation(self, group):
        """The numbers, without an interval that would take strips of one pack as independent."""
        shown = super().to_representation(group)
        if shown["summary"] is not None and not group.independent:
            shown["summary"]["mean_interval"] = None
        return shown


class StudyNumbersSerializer(serializers.Serializer):
    """The numbers of a study."""

    unit = serializers.CharField(help_text="Unit of every strength.")
    coverage = Exact()
    confidence = Exact()
    groups = GroupNumbersSerializer(many=True)
