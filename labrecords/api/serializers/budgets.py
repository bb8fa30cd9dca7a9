"""Uncertainty budgets as programs read them. Numbers at full precision; nothing is rounded here."""

from rest_framework import serializers

from .fields import Exact


class ContributionSerializer(serializers.Serializer):
    """One contribution: as it was typed, and what came of it."""

    name = serializers.CharField()
    type = serializers.CharField(help_text="A by statistics, B otherwise.")
    distribution = serializers.CharField()
    size = serializers.CharField()
    size_is = serializers.CharField()
    divisor = serializers.CharField(help_text="Empty where none applies.")
    sensitivity = serializers.CharField()
    df = serializers.CharField(help_text="Empty where the degrees of freedom are without end.")
    source = serializers.CharField()
    standard = serializers.FloatField()
    contribution = serializers.FloatField(help_text="Size of sensitivity times standard uncertainty.")
    share = serializers.FloatField(help_text="Of the combined variance.")


class BudgetSerializer(serializers.Serializer):
    """What a strength is known to, by a method version and technique."""

    code = serializers.CharField()
    state = serializers.CharField()
    method_version = serializers.CharField()
    technique = serializers.CharField()
    level = Exact(help_text="Strength for which it was worked out.")
    unit = serializers.CharField()
    coverage = Exact()
    combined = serializers.FloatField()
    effective_df = serializers.FloatField(allow_null=True, help_text="null where without end.")
    factor = serializers.FloatField()
    expanded = serializers.FloatField()
    lines = ContributionSerializer(many=True)


class BudgetsSerializer(serializers.Serializer):
    """All budgets, newest first."""

    budgets = BudgetSerializer(many=True)
