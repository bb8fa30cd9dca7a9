"""Equipment as programs read it, and checks as a tester's computer sends them."""

from rest_framework import serializers

from .fields import Moment, StrictSerializer, Text


class StopSerializer(serializers.Serializer):
    """Why an item gives no results today."""

    code = serializers.CharField()
    why = serializers.CharField()


class EquipmentSerializer(serializers.Serializer):
    """An item that is not retired, as it stands today."""

    label = serializers.CharField(source="item.label")
    kind = serializers.CharField(source="item.kind")
    name = serializers.CharField(source="item.name")
    capacity_n = serializers.FloatField(source="item.capacity_n", allow_null=True)
    status = serializers.CharField()
    certificate = serializers.CharField(source="calibration.certificate", allow_null=True, default=None)
    due_on = serializers.DateField(source="calibration.due_on", allow_null=True, default=None)
    verified_low_n = serializers.FloatField(source="calibration.verified_low_n", allow_null=True, default=None)
    verified_high_n = serializers.FloatField(source="calibration.verified_high_n", allow_null=True, default=None)
    stops = StopSerializer(many=True, help_text="Empty: it may be used today.")


class EquipmentListSerializer(serializers.Serializer):
    """All equipment."""

    equipment = EquipmentSerializer(many=True)


class CheckEntrySerializer(StrictSerializer):
    """A check before use: what tester and cell showed for a mass or a reference strip."""

    tester = Text(max_length=20, help_text="Label.")
    cell = Text(max_length=20, help_text="Label.")
    standard = Text(max_length=20, help_text="Label of the check mass or of the reference strips.")
    value_n = serializers.FloatField(min_value=0, help_text="The reading, in newtons.")
    taken_at = Moment(help_text="With its offset from UTC.")
    remark = Text(max_length=2000, default="", allow_blank=True)


class CheckSerializer(serializers.Serializer):
    """A check as it is kept."""

    id = serializers.UUIDField()
    accepted = serializers.BooleanField(help_text="If not, the load cell is out of service until a manager lifts it.")
    signals = serializers.ListField(child=serializers.CharField(), help_text="Rules of the chart that it broke.")
    at = serializers.DateTimeField()


class DueSerializer(serializers.Serializer):
    """One thing that stops work or falls due."""

    what = serializers.CharField()
    due = serializers.CharField()
    on = serializers.DateField(allow_null=True)
    days = serializers.IntegerField(allow_null=True)
    group = serializers.CharField(help_text="Stops work now, Within 14 days, Within 60 days, or Later.")
    blocks = serializers.ListField(child=serializers.CharField())


class DueListSerializer(serializers.Serializer):
    """Everything that stops work or falls due, soonest first."""

    due = DueSerializer(many=True)
