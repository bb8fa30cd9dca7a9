"""Two groups side by side as programs read them. Numbers at full precision; nothing is rounded here."""

from rest_framework import serializers

from .summary import IntervalSerializer


class DiffersSerializer(serializers.Serializer):
    """Something that was not the same on the two sides."""

    label = serializers.CharField()
    one = serializers.CharField()
    other = serializers.CharField()
    weight = serializers.CharField(help_text="Whether it breaks comparison, may matter, or is only noted.")


class GroupMeansSerializer(serializers.Serializer):
    """Mean of the one less that of the other, each pack once (Welch)."""

    difference = serializers.FloatField()
    interval = IntervalSerializer()
    p_value = serializers.FloatField()


class SpreadsSerializer(serializers.Serializer):
    """Variance of the one over that of the other."""

    ratio = serializers.FloatField()
    interval = IntervalSerializer()
    p_value = serializers.FloatField()


class RatioSerializer(serializers.Serializer):
    """Mean of the one over that of the other (Fieller), where the technique alone breaks comparison."""

    ratio = serializers.FloatField()
    interval = IntervalSerializer()


class ComparisonSerializer(serializers.Serializer):
    """Whether two groups compare, and how far apart they are where they do."""

    agree = serializers.BooleanField(help_text="Whether the set-up marks agree; otherwise nothing is pooled or tested.")
    differs = DiffersSerializer(many=True, help_text="What breaks comparison first.")
    means = GroupMeansSerializer(allow_null=True)
    spreads = SpreadsSerializer(allow_null=True)
    ratio = RatioSerializer(allow_null=True, help_text="To be looked at; no factor converts one into the other.")
    why_not = serializers.CharField()
