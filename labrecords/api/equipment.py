"""Equipment by program: what may be used today, what is due, and checks sent from a tester's computer."""

from rest_framework.request import Request
from rest_framework.response import Response

from labrecords import web
from labrecords.actions import checks
from labrecords.queries import access, due, equipment, studies

from .base import ProgramView
from .schema import described
from .serializers.equipment import (
    CheckEntrySerializer,
    CheckSerializer,
    DueListSerializer,
    EquipmentListSerializer,
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
