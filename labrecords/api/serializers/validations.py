"""A validation study as programs read it. Numbers at full precision; nothing is rounded here."""

from rest_framework import serializers


class HeldSerializer(serializers.Serializer):
    """A person against the others for one material; null where it cannot be told, and why."""

    material = serializers.CharField()
    difference = serializers.FloatField(allow_null=True, help_text="Mean of the packs less that of the others.")
    low = serializers.FloatField(allow_null=True, help_text="Of a two-sided 90 % interval.")
    high = serializers.FloatField(allow_null=True)
    how = serializers.CharField(help_text="within packs, or between packs.")
    why_not = serializers.CharField()


class PersonSerializer(serializers.Serializer):
    """Somebody who pulled."""

    name = serializers.CharField()
    joins = serializers.BooleanField()
    strips = serializers.IntegerField()
    verdict = serializers.CharField()
    apart = serializers.IntegerField(
        source="standing.apart", default=None, allow_null=True, help_text="The step in which the person was set apart."
    )
    held = HeldSerializer(source="standing.held", many=True, default=())


class MetSerializer(serializers.Serializer):
    """A criterion for one material."""

    material = serializers.CharField()
    percent = serializers.FloatField(allow_null=True)
    met = serializers.BooleanField(allow_null=True)
    why_not = serializers.CharField()


class CriterionSerializer(serializers.Serializer):
    """One thing that must be met."""

    kind = serializers.CharField()
    criterion_percent = serializers.DecimalField(max_digits=6, decimal_places=2)
    found = MetSerializer(many=True)


class ValidationSerializer(serializers.Serializer):
    """Whether the people of a study get the same number."""

    unit = serializers.CharField()
    design = serializers.CharField()
    margin = serializers.DecimalField(max_digits=9, decimal_places=4)
    passed = serializers.BooleanField(allow_null=True, help_text="By the criteria; the manager's decision is apart.")
    why = serializers.CharField()
    decided = serializers.BooleanField(allow_null=True, help_text="What the manager decided, if anything.")
    people = PersonSerializer(many=True)
    criteria = CriterionSerializer(many=True)
