"""Results: sent through the gate, and read back."""

from typing import TYPE_CHECKING, Any

from rest_framework.request import Request
from rest_framework.response import Response

from labrecords import web
from labrecords.actions import results, traces
from labrecords.queries import access, interface

from .base import ProgramView
from .problems import Problem
from .schema import CODE, described
from .serializers.entries import EntrySerializer, KeptSerializer, TraceEntrySerializer
from .serializers.results import ResultPageSerializer, ResultQuerySerializer
from .trace_files import understand

if TYPE_CHECKING:
    from datetime import datetime

    from labrecords.models import Run, User


class ResultEntry(ProgramView):
    """Where results are sent."""

    @described(
        "enter_result",
        "Send one result through the gate",
        ok=KeptSerializer,
        status=201,
        says="Kept. A repeat of the same entry under the same key gets this same answer, again with 201.",
        errors=(400, 401, 403, 404, 409, 413, 415, 422),
        request={"application/json": EntrySerializer, "multipart/form-data": TraceEntrySerializer},
        description=(
            "The gate asks the same questions as the bench page and gives the same codes. An entry is kept, kept "
            "with marks, kept and held, or refused with all reasons at once; the refusal is kept too. A key that "
            "came before with another entry is refused, so a mended entry needs a key of its own. To send the "
            "trace, send the fields as parts of a form with the file beside them; a file that is received stays "
            "even when the result is refused."
        ),
    )
    def post(self, request: Request) -> Response:
        """Keep one result, or say why not."""
        access.demand(request.user, "enter a result")
        is_form = request.content_type.startswith("multipart/")
        sent = (TraceEntrySerializer if is_form else EntrySerializer)(data=request.data)
        sent.is_valid(raise_exception=True)
        kept = _enter(sent.validated_data, by=request.user, at=web.now())
        held = sorted(kept.held)
        return Response(KeptSerializer({"result": kept.result, "marks": kept.marks, "held": held}).data, status=201)


def _enter(sent: dict[str, Any], *, by: "User", at: "datetime") -> results.Kept:
    run = interface.run(sent["run"])
    tested_by = _tester(sent["tested_by"], run)
    trace = _trace(sent, run, by, at) if "file" in sent else None
    return results.enter(
        specimen=sent["specimen"],
        reading=_reading(sent, trace),
        run=run,
        tested_by=tested_by,
        entered_by=by,
        at=at,
        key=sent["key"],
    )


def _tester(username: str | None, run: "Run") -> "User":
    if username is None:
        return run.person
    person = interface.person_named(username)
    if person is None:
        raise Problem(422, "person-unknown", f"Nobody here has the user name '{username}'. Check tested_by.")
    return person


def _trace(sent: dict[str, Any], run: "Run", by: "User", at: "datetime") -> results.TraceChoice:
    file = understand(
        sent["file"],
        tester=run.tester,
        specimen=sent["specimen"],
        layout=sent["layout"],
        segment=sent["segment"],
    )
    received = traces.receive_file(study=run.study, name=file.name, content=file.content, by=by, at=at)
    return results.TraceChoice(received.file, file.segment, file.layout.to_json())


def _reading(sent: dict[str, Any], trace: results.TraceChoice | None) -> results.Reading:
    same = ("technique", "rate", "rate_unit", "width_mm", "tested_at", "opened", "unit", "remark")
    return results.Reading(
        **{name: sent[name] for name in same},
        modes=tuple(sent["modes"]),
        typed=sent["value"],
        trace=trace,
        confirmed=tuple(sent["confirmed"]),
    )


class StudyResults(ProgramView):
    """The results of a study."""

    @described(
        "list_results",
        "Results of a study, in the order in which they were kept",
        ok=ResultPageSerializer,
        errors=(400, 401, 403, 404),
        parameters=[CODE, ResultQuerySerializer],
        description="The latest revision of each, void ones too. Go on with ?after= and the value of next.",
    )
    def get(self, request: Request, code: str) -> Response:
        """One page."""
        study = access.study(request.user, code)
        asked = ResultQuerySerializer(data=request.query_params)
        asked.is_valid(raise_exception=True)
        most, after = asked.validated_data["limit"], asked.validated_data.get("after")
        rows = interface.results_after(study, reader=request.user, after=after, most=most + 1)
        page = rows[:most]
        following = page[-1].result.pk if len(rows) > most else None
        shown = {"unit": study.setup.unit, "results": page, "next": following}
        return Response(ResultPageSerializer(shown).data)
