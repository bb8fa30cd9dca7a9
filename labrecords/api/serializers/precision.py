"""Precision within and between technicians. Numbers at full precision; nothing is rounded here."""

from rest_framework import serializers


class TechniciansSerializer(serializers.Serializer):
    """The technicians side by side for one material, after ASTM E691 with technicians in the place of laboratories."""

    technicians = serializers.ListField(source="laboratories", child=serializers.CharField())
    replicates = serializers.IntegerField()
    mean = serializers.FloatField(help_text="Of the technicians' means.")
    repeatability_sd = serializers.FloatField(source="s_r")
    between_sd = serializers.FloatField(source="s_L")
    intermediate_sd = serializers.FloatField(source="s_R")
    repeatability_limit = serializers.FloatField(source="r_limit")
    intermediate_limit = serializers.FloatField(source="R_limit")
    means_sd = serializers.FloatField(source="s_xbar", help_text="Of the technicians' means.")
    h = serializers.ListField(child=serializers.FloatField())
    k = serializers.ListField(child=serializers.FloatField())
    h_critical = serializers.FloatField()
    k_critical = serializers.FloatField()
    h_beyond = serializers.ListField(child=serializers.IntegerField(), help_text="Places, from 0.")
    k_beyond = serializers.ListField(child=serializers.IntegerField(), help_text="Places, from 0.")


class CochranSerializer(serializers.Serializer):
    """Cochran's test of the largest variance."""

    statistic = serializers.FloatField()
    critical = serializers.FloatField()
    beyond = serializers.BooleanField()


class MaterialSerializer(serializers.Serializer):
    """One material, which is a group of the plan."""

    label = serializers.CharField()
    precision = TechniciansSerializer(source="found", allow_null=True)
    cochran = CochranSerializer(allow_null=True)
    why_not = serializers.CharField()


class ComponentsSerializer(serializers.Serializer):
    """Variance components, in the square of the unit."""

    method = serializers.CharField(help_text="anova, or reml where the numbers of strips differ.")
    repeatability = serializers.FloatField()
    between_technicians = serializers.FloatField(source="operator")
    technician_by_material = serializers.FloatField(source="interaction", allow_null=True)
    between_parts = serializers.FloatField(source="part")
    percent_study = serializers.FloatField()
    distinct_categories = serializers.IntegerField(allow_null=True)


class CrossedSerializer(ComponentsSerializer):
    """Every technician on the same materials."""

    pooled = ComponentsSerializer(help_text="With the interaction counted as repeatability.")
    pooling_suggested = serializers.BooleanField(help_text="Then the page shows the pooled ones.")


class PrecisionSerializer(serializers.Serializer):
    """The precision of a study with several technicians."""

    unit = serializers.CharField()
    technicians = serializers.ListField(child=serializers.CharField())
    unmeasured = serializers.IntegerField(help_text="Results known only to lie beyond what can be measured.")
    materials = MaterialSerializer(many=True)
    crossed = CrossedSerializer(allow_null=True)
    nested = ComponentsSerializer(allow_null=True, help_text="Every technician on packs of their own.")
    why_not_crossed = serializers.CharField()
    why_not_nested = serializers.CharField()
