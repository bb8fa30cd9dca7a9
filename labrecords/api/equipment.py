"""Equipment by program: what may be used today, what is due, and checks sent from a tester's computer."""

from rest_framework.request import Request
from rest_framework.response import Response

from labrecords import web
from labrecords.actions import checks
from labrecords.queries import access, due, equipment, look_back, nonconforming, studies

from .base import ProgramView
from .schema import described, path_parameter
from .serializers.equipment import (
    CalibrationsSerializer,
    CheckEntrySerializer,
    CheckSerializer,
    DueListSerializer,
    EquipmentListSerializer,
    LookBackSerializer,
    NonconformitiesSerializer,
)


class EquipmentList(ProgramView):
    """All equipment."""

    @described("list_equipment", "Equipment as it stands today", ok=EquipmentListSerializer)
    def get(self, _request: Request) -> Response:
        """Every item that is not retired, and why it may not be used, if it may not."""
        return Response(EquipmentListSerializer({"equipment": equipment.standings(web.now())}).data)


class DueList(ProgramView):
    """What is due."""

    @described("list_due", "What stops work and what falls due", ok=DueListSerializer)
    def get(self, _request: Request) -> Response:
        """Soonest first."""
        return Response(DueListSerializer({"due": due.everything(web.now())}).data)


class CheckEntry(ProgramView):
    """Where checks are sent."""

    @described(
        "take_check",
        "Send a check of tester and load cell",
        ok=CheckSerializer,
        status=201,
        says="Kept, accepted or not.",
        errors=(400, 401, 403, 404, 409, 415, 422),
        request=CheckEntrySerializer,
    )
    def post(self, request: Request) -> Response:
        """Keep a check; one that is not accepted takes the load cell out of service."""
        access.demand(request.user, "take a check")
        sent = CheckEntrySerializer(data=request.data)
        sent.is_valid(raise_exception=True)
        given = dict(sent.validated_data)
        given |= {name: studies.equipment(given[name]) for name in ("tester", "cell", "standard")}
        kept = checks.take(by=request.user, at=web.now(), **given)
        return Response(CheckSerializer(kept).data, status=201)


class ItemCalibrations(ProgramView):
    """The calibrations of an item."""

    @described(
        "list_calibrations",
        "Calibrations of an item, newest first, those that do not count too",
        ok=CalibrationsSerializer,
        parameters=[path_parameter("label", "Label, such as LC-000001-5.")],
    )
    def get(self, _request: Request, label: str) -> Response:
        """All of them, with their points."""
        item = studies.equipment(label)
        counting = set(equipment.counting().filter(equipment=item).values_list("pk", flat=True))
        rows = list(studies.calibrations(item))
        for row in rows:
            row.counts = row.pk in counting
        return Response(CalibrationsSerializer({"calibrations": rows}).data)


class LookBack(ProgramView):
    """What a calibration that found an item out may have touched."""

    @described(
        "look_back",
        "Results since the last good calibration of an item, by study",
        ok=LookBackSerializer,
        parameters=[path_parameter("calibration_id", "Identifier of the calibration.")],
    )
    def get(self, _request: Request, calibration_id) -> Response:
        """Counts by study, with clients and released reports."""
        return Response(LookBackSerializer(look_back.since_last_good(studies.calibration(calibration_id))).data)


class NonconformityList(ProgramView):
    """Nonconforming work."""

    @described("list_nonconforming", "Nonconforming work, newest first", ok=NonconformitiesSerializer)
    def get(self, _request: Request) -> Response:
        """All of it, and what it holds."""
        found = nonconforming.all_of_them().prefetch_related("holds__study")
        return Response(NonconformitiesSerializer({"nonconforming": found}).data)
