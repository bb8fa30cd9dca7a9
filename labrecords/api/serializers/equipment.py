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


class CalibrationSerializer(serializers.Serializer):
    """A calibration on record, and whether it counts."""

    id = serializers.UUIDField()
    certificate = serializers.CharField()
    provider = serializers.CharField()
    performed_on = serializers.DateField()
    due_on = serializers.DateField()
    passed = serializers.BooleanField(help_text="As left.")
    as_found_within = serializers.BooleanField(allow_null=True, help_text="null: not judged.")
    as_found_error_percent = serializers.FloatField(allow_null=True)
    rule = serializers.CharField(help_text="By which the verified range was found; empty: as stated.")
    verified_low_n = serializers.FloatField(allow_null=True)
    verified_high_n = serializers.FloatField(allow_null=True)
    noise_n = serializers.FloatField(allow_null=True)
    expanded_uncertainty_percent = serializers.FloatField(allow_null=True)
    coverage_factor = serializers.FloatField()
    as_found = serializers.ListField(
        child=serializers.ListField(child=serializers.CharField()),
        help_text="Rows of applied force and readings, in newtons, as typed.",
    )
    as_left = serializers.ListField(child=serializers.ListField(child=serializers.CharField()))
    counts = serializers.BooleanField(help_text="Reviewed, and not superseded by another that has been reviewed.")


class CalibrationsSerializer(serializers.Serializer):
    """The calibrations of an item, newest first."""

    calibrations = CalibrationSerializer(many=True)


class TouchedStudySerializer(serializers.Serializer):
    """A study with results taken on the item since it was last known to be right."""

    study = serializers.CharField(source="study.code")
    client = serializers.CharField(source="study.project.client.name")
    state = serializers.CharField(source="study.state")
    lots = serializers.ListField(child=serializers.CharField())
    reports = serializers.ListField(child=serializers.CharField(), source="numbers")
    results = serializers.IntegerField(source="count")
    could_change = serializers.IntegerField(source="changeable", help_text="Results whose verdict could change.")
    nearest_percent = serializers.FloatField(
        source="nearest", allow_null=True, help_text="Smallest distance inside a limit, per cent of it."
    )


class LookBackSerializer(serializers.Serializer):
    """What was done with an item between its last good calibration and this one."""

    since = serializers.DateField(allow_null=True)
    results = serializers.IntegerField()
    could_change = serializers.IntegerField(source="changeable")
    clients = serializers.ListField(child=serializers.CharField())
    studies = TouchedStudySerializer(many=True)


class NonconformitySerializer(serializers.Serializer):
    """Nonconforming work."""

    code = serializers.CharField()
    title = serializers.CharField()
    open = serializers.SerializerMethodField(help_text="Work has not been resumed.")
    at = serializers.DateTimeField()
    holds = serializers.SerializerMethodField(help_text="Codes of the studies it holds while it is open.")

    def get_open(self, found) -> bool:
        """Whether work has not been resumed."""
        return not found.closed

    def get_holds(self, found) -> list[str]:
        """Codes of its studies."""
        return [] if found.closed else [hold.study.code for hold in found.holds.all()]


class NonconformitiesSerializer(serializers.Serializer):
    """All nonconforming work, newest first."""

    nonconforming = NonconformitySerializer(many=True)
