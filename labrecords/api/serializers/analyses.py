"""Window studies and what changed, as programs read them. Numbers at full precision; nothing is rounded here."""

from rest_framework import serializers

from .fields import Exact
from .summary import BoundSerializer, IntervalSerializer, NormalitySerializer


class DifferenceSerializer(serializers.Serializer):
    """A setting against the nominal one; the intervals of a place hold together (Dunnett)."""

    setting = serializers.CharField(source="first")
    difference = serializers.FloatField()
    p_value = serializers.FloatField(help_text="Adjusted for all settings of the place.")
    interval = IntervalSerializer()


class CellSerializer(serializers.Serializer):
    """One setting at one place of the pack; mean and sd are those of packs."""

    setting = serializers.CharField(source="setting.label")
    sealed_at = serializers.CharField(source="setting.words")
    acceptable = serializers.BooleanField(help_text="Whether nothing that was seen speaks against the setting.")
    packs = serializers.SerializerMethodField(help_text="null where some values could not be measured.")
    mean = serializers.FloatField(source="summary.mean", default=None, allow_null=True)
    sd = serializers.FloatField(source="summary.sd", default=None, allow_null=True)
    lower_bound = BoundSerializer(source="found.bound")
    upper_bound = BoundSerializer(source="found.upper_bound", allow_null=True)
    normality = NormalitySerializer(source="shape", allow_null=True)

    def get_packs(self, cell) -> int | None:
        """How many packs have a value."""
        return None if cell.packs is None else len(cell.packs)


class PlaceSerializer(serializers.Serializer):
    """All settings at one place of the pack."""

    place = serializers.CharField(source="label")
    settings = CellSerializer(source="cells", many=True)
    against_nominal = DifferenceSerializer(source="against_nominal.comparisons", many=True, default=[])
    why_not = serializers.CharField(help_text="Why the settings are not compared; empty where they are.")


class WindowSerializer(serializers.Serializer):
    """A window study as it stands."""

    unit = serializers.CharField(help_text="Unit of every strength.")
    bound_rule = serializers.CharField(help_text="What the bounds rest on, chosen with the plan.")
    coverage = Exact()
    confidence = Exact()
    lacking = serializers.ListField(child=serializers.CharField(), help_text="Evidence asked for and not there.")
    places = PlaceSerializer(many=True)


class ChangedSerializer(serializers.Serializer):
    """One factor on the two sides."""

    factor = serializers.CharField(source="label")
    how = serializers.ChoiceField(choices=["altogether", "in part", "not at all"])
    first = serializers.ListField(source="before", child=serializers.CharField())
    second = serializers.ListField(source="after", child=serializers.CharField())


class ExplainedSerializer(serializers.Serializer):
    """How much of the variance one factor explains by itself."""

    factor = serializers.CharField(source="label")
    levels = serializers.IntegerField()
    share = serializers.FloatField(help_text="Corrected for the number of levels.")
    r_squared = serializers.FloatField(source="found.r_squared", default=None, allow_null=True)
    f_statistic = serializers.FloatField(source="found.f_statistic", default=None, allow_null=True)
    p_value = serializers.FloatField(source="found.p_value", default=None, allow_null=True)


class ShiftSerializer(serializers.Serializer):
    """The most likely shift of the mean in the order of testing."""

    place = serializers.IntegerField(help_text="Results before it.")
    statistic = serializers.FloatField()
    p_value = serializers.FloatField(help_text="From orders drawn at random.")


class MeansSerializer(serializers.Serializer):
    """Second mean less first, each pack once (Welch)."""

    difference = serializers.FloatField()
    interval = IntervalSerializer()
    p_value = serializers.FloatField()


class ChangesSerializer(serializers.Serializer):
    """What changed at the most likely shift of a study."""

    unit = serializers.CharField()
    n = serializers.IntegerField(help_text="Results that count and could be measured.")
    first = serializers.CharField()
    second = serializers.CharField()
    shift = ShiftSerializer(allow_null=True)
    difference = MeansSerializer(allow_null=True)
    changed = ChangedSerializer(many=True)
    explained = ExplainedSerializer(many=True)
    together = serializers.ListField(
        child=serializers.ListField(child=serializers.CharField()), help_text="Factors that change in step."
    )
    why_not = serializers.CharField()
