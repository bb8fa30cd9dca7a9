"""A study with its set-up, plan and limits; its specimens, runs and refusals."""

from drf_spectacular.utils import extend_schema_field
from rest_framework import serializers

from labrecords.queries import setups
from labrecords.queries.interface import SPECIMEN_STATES

from .fields import Exact, StrictSerializer
from .problems import ReasonSerializer


class LineSerializer(serializers.Serializer):
    """A parameter as people read it."""

    label = serializers.CharField()
    text = serializers.CharField()


class ModeSerializer(serializers.Serializer):
    """A failure mode of the method."""

    key = serializers.CharField(help_text="What an entry names in modes.")
    name = serializers.CharField()
    description = serializers.CharField()
    peels = serializers.BooleanField(help_text="Whether the strip peels, so that an average force has a meaning.")


class SetupSerializer(serializers.Serializer):
    """The set-up, twice: as people read it, and as typed fields."""

    described = serializers.SerializerMethodField(help_text="Every parameter as label and text.")
    method = serializers.CharField(source="method_version")
    technique = serializers.CharField(help_text="A, B or C.")
    rate = Exact(help_text="Grip separation rate in rate_unit.")
    rate_unit = serializers.CharField(help_text="in/min or mm/min.")
    width_mm = Exact(help_text="Specimen width.")
    width_measured = serializers.BooleanField(help_text="Each specimen's width is measured, not nominal.")
    grip_separation_mm = Exact()
    seal_width_mm = Exact()
    fixed_web = serializers.CharField()
    moving_web = serializers.CharField()
    pulled_from = serializers.CharField()
    machine_direction = serializers.CharField()
    sampling_hz = Exact()
    filter = serializers.CharField()
    threshold_fraction = serializers.FloatField()
    span_fraction = serializers.FloatField()
    conditioning_hours = serializers.FloatField()
    no_conditioning_reason = serializers.CharField()
    unit = serializers.CharField(help_text="Unit of strength.")
    decimals = serializers.IntegerField(help_text="Decimals to which a strength is recorded.")
    expected_weak_n = serializers.FloatField()
    expected_strong_n = serializers.FloatField()
    modes = ModeSerializer(many=True, source="method_version.modes")

    @extend_schema_field(LineSerializer(many=True))
    def get_described(self, setup) -> list[dict[str, str]]:
        """The same list that the study page prints and the set-up mark is made from."""
        return [{"label": label, "text": text} for label, text in setups.described(setup)]


class GroupSerializer(serializers.Serializer):
    """A group of the plan."""

    number = serializers.IntegerField()
    lot = serializers.CharField()
    arm = serializers.CharField()
    time_point = serializers.CharField()
    position = serializers.CharField()
    packs = serializers.IntegerField()
    specimens_per_pack = serializers.IntegerField()
    planned = serializers.IntegerField(help_text="Specimens planned.")


class LimitSerializer(serializers.Serializer):
    """A limit and where it comes from."""

    kind = serializers.CharField(help_text="requirement, process or alert.")
    side = serializers.CharField(help_text="lower or upper.")
    value = Exact()
    unit = serializers.CharField()
    origin = serializers.CharField(help_text="derived, drawing, standard or unknown.")
    origin_words = serializers.CharField()


class StudySerializer(serializers.Serializer):
    """A study: its state, its set-up and mark, the groups of its plan, its limits."""

    code = serializers.CharField()
    title = serializers.CharField()
    purpose = serializers.CharField()
    project = serializers.CharField(source="project.code")
    state = serializers.CharField()
    mark = serializers.CharField(help_text="Set-up mark; empty until the set-up is locked.")
    locked_at = serializers.DateTimeField(allow_null=True)
    predecessor = serializers.CharField(source="predecessor.code", allow_null=True)
    successor = serializers.CharField(source="successor.code", allow_null=True)
    setup = SetupSerializer()
    groups = GroupSerializer(many=True)
    limits = LimitSerializer(many=True)


class SpecimenSerializer(serializers.Serializer):
    """A specimen."""

    label = serializers.CharField(source="specimen.label")
    group = serializers.IntegerField(source="specimen.group.number", allow_null=True)
    pack = serializers.CharField(source="specimen.pack.label")
    replaces = serializers.CharField(source="specimen.replaces.label", allow_null=True)
    state = serializers.ChoiceField(choices=SPECIMEN_STATES)


class SpecimensSerializer(serializers.Serializer):
    """Specimens by label."""

    specimens = SpecimenSerializer(many=True)


class SpecimenQuerySerializer(StrictSerializer):
    """Which specimens are asked for."""

    state = serializers.ChoiceField(choices=SPECIMEN_STATES, required=False, help_text="Only those of one state.")


class RunSerializer(serializers.Serializer):
    """An open run: one person, one tester, one load cell, one room reading."""

    id = serializers.UUIDField()
    number = serializers.IntegerField()
    person = serializers.CharField(source="person.username")
    person_name = serializers.CharField(source="person.name")
    tester = serializers.CharField(source="tester.label")
    cell = serializers.CharField(source="cell.label")
    technique = serializers.CharField()
    rate = Exact()
    rate_unit = serializers.CharField()
    room_c = serializers.FloatField()
    room_humidity_percent = serializers.FloatField()
    opened_at = serializers.DateTimeField()


class RunsSerializer(serializers.Serializer):
    """Runs that still take results."""

    runs = RunSerializer(many=True)


class RefusalSerializer(serializers.Serializer):
    """An entry that was not kept, and why."""

    id = serializers.UUIDField()
    act = serializers.CharField(help_text="What was asked for.")
    tried = serializers.CharField()
    specimen = serializers.CharField(source="specimen.label", allow_null=True)
    codes = serializers.ListField(child=serializers.CharField())
    answers = ReasonSerializer(many=True)
    by = serializers.CharField(source="by.username")
    at = serializers.DateTimeField()


class RefusalsSerializer(serializers.Serializer):
    """Refusals of a study, newest first."""

    refusals = RefusalSerializer(many=True)
