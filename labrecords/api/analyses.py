"""The engineer's analyses as programs read them: process windows, what changed, precision and validations."""

from rest_framework.request import Request
from rest_framework.response import Response

from labrecords.queries import access, budgets, changes, comparing, precision, validations, windows

from .base import ProgramView
from .schema import CODE, described, query_parameter
from .serializers.analyses import ChangesSerializer, WindowSerializer
from .serializers.budgets import BudgetsSerializer
from .serializers.comparison import ComparisonSerializer
from .serializers.precision import PrecisionSerializer
from .serializers.validations import ValidationSerializer


class StudyWindow(ProgramView):
    """The process window of a study."""

    @described("read_window", "Settings of a window study, place by place", ok=WindowSerializer, parameters=[CODE])
    def get(self, request: Request, code: str) -> Response:
        """The very numbers that the window's page prints."""
        study = access.study(request.user, code)
        found = windows.read(study)
        shown = {
            "unit": study.setup.unit,
            "bound_rule": study.bound_rule,
            "coverage": study.coverage,
            "confidence": study.confidence,
            "lacking": found.lacking(),
            "places": found.places,
        }
        return Response(WindowSerializer(shown).data)


class StudyChanges(ProgramView):
    """The most likely shift of a study, and what differs before and after it."""

    @described("read_changes", "What changed at the most likely shift", ok=ChangesSerializer, parameters=[CODE])
    def get(self, request: Request, code: str) -> Response:
        """The very numbers that the page prints when it looks for a shift."""
        study = access.study(request.user, code)
        found = changes.found_by_shift(changes.rows([study]))
        shown = {
            "unit": study.setup.unit,
            "n": len(found.rows),
            "first": found.names[0],
            "second": found.names[1],
            "shift": found.shift,
            "difference": found.means,
            "changed": found.ranked,
            "explained": found.explained,
            "together": found.together,
            "why_not": found.why_not,
        }
        return Response(ChangesSerializer(shown).data)


class StudyPrecision(ProgramView):
    """How alike the technicians of a study measure."""

    @described("read_precision", "Precision within and between technicians", ok=PrecisionSerializer, parameters=[CODE])
    def get(self, request: Request, code: str) -> Response:
        """The very numbers that the page prints."""
        study = access.study(request.user, code)
        found = precision.read(study)
        shown = {
            "unit": study.setup.unit,
            "technicians": found.technicians,
            "unmeasured": found.unmeasured,
            "materials": found.materials,
            "crossed": found.crossed,
            "nested": found.nested,
            "why_not_crossed": found.why_not_crossed,
            "why_not_nested": found.why_not_nested,
        }
        return Response(PrecisionSerializer(shown).data)


class StudyValidation(ProgramView):
    """Whether the people of a study get the same number."""

    @described(
        "read_validation", "People against one another, and criteria", ok=ValidationSerializer, parameters=[CODE]
    )
    def get(self, request: Request, code: str) -> Response:
        """The very numbers that the page prints."""
        study = access.study(request.user, code)
        found, decision = validations.read(study), validations.decision_of(study)
        shown = {
            "unit": study.setup.unit,
            "design": found.plan.design,
            "margin": found.plan.margin,
            "passed": found.passed,
            "why": found.why,
            "decided": decision.passed if decision else None,
            "people": found.people,
            "criteria": [
                {"kind": row.kind, "criterion_percent": row.percent, "found": rows} for row, rows in found.criteria
            ],
        }
        return Response(ValidationSerializer(shown).data)


class Comparison(ProgramView):
    """Two groups of results side by side."""

    @described(
        "compare_groups",
        "Two groups side by side",
        ok=ComparisonSerializer,
        parameters=[
            query_parameter("one", "A group: the study's code, a slash, the group's number."),
            query_parameter("other", "The group beside it, named alike."),
        ],
    )
    def get(self, request: Request) -> Response:
        """What differs; numbers only where the two were taken one way."""
        found = comparing.compare(request.query_params.get("one", ""), request.query_params.get("other", ""))
        return Response(ComparisonSerializer(found).data)


class Budgets(ProgramView):
    """Uncertainty budgets."""

    @described("list_budgets", "Uncertainty budgets", ok=BudgetsSerializer)
    def get(self, _request: Request) -> Response:
        """All of them, with how each stands."""
        found = list(budgets.every())
        states = budgets.states(found)
        for row in found:
            row.state = states[row.code]
        return Response(BudgetsSerializer({"budgets": found}).data)
