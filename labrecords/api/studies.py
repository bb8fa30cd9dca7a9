"""Studies as programs read them: set-up and plan, specimens, open runs, numbers, refusals."""

from rest_framework.request import Request
from rest_framework.response import Response

from labrecords.queries import access, interface, numbers, reports, values

from .base import ProgramView
from .schema import CODE, described
from .serializers.studies import (
    RefusalsSerializer,
    RunsSerializer,
    SpecimenQuerySerializer,
    SpecimensSerializer,
    StudySerializer,
)
from .serializers.summary import StudyNumbersSerializer


class OneStudy(ProgramView):
    """A study."""

    @described("read_study", "State, set-up, plan and limits of a study", ok=StudySerializer, parameters=[CODE])
    def get(self, request: Request, code: str) -> Response:
        """The study."""
        return Response(StudySerializer(access.study(request.user, code)).data)


class StudySpecimens(ProgramView):
    """The specimens of a study."""

    @described(
        "list_specimens",
        "Specimens of a study, by label",
        ok=SpecimensSerializer,
        errors=(400, 401, 403, 404),
        parameters=[CODE, SpecimenQuerySerializer],
    )
    def get(self, request: Request, code: str) -> Response:
        """All of them, or those of one state."""
        study = access.study(request.user, code)
        asked = SpecimenQuerySerializer(data=request.query_params)
        asked.is_valid(raise_exception=True)
        rows = interface.specimens(study, state=asked.validated_data.get("state"))
        return Response(SpecimensSerializer({"specimens": rows}).data)


class StudyRuns(ProgramView):
    """The open runs of a study."""

    @described("list_open_runs", "Runs of a study that still take results", ok=RunsSerializer, parameters=[CODE])
    def get(self, request: Request, code: str) -> Response:
        """The open ones."""
        study = access.study(request.user, code)
        return Response(RunsSerializer({"runs": interface.open_runs(study)}).data)


class StudySummary(ProgramView):
    """The numbers of a study."""

    @described("read_summary", "Numbers of a study, group by group", ok=StudyNumbersSerializer, parameters=[CODE])
    def get(self, request: Request, code: str) -> Response:
        """The very numbers that the study page and the report print."""
        study = access.study(request.user, code)
        shown = {
            "unit": study.setup.unit,
            "coverage": study.coverage,
            "confidence": study.confidence,
            "groups": numbers.study_numbers(study),
        }
        return Response(StudyNumbersSerializer(shown).data)


class StudyRefusals(ProgramView):
    """The refusals of a study."""

    @described("list_refusals", "Refusals of a study, newest first", ok=RefusalsSerializer, parameters=[CODE])
    def get(self, request: Request, code: str) -> Response:
        """Every refusal, with the words that were shown."""
        study = access.study(request.user, code)
        return Response(
            RefusalsSerializer({"refusals": values.without_values(reports.refusals(study), reader=request.user)}).data
        )
