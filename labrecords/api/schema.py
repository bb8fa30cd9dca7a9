"""The OpenAPI document: what each view says of itself, and the document served."""

from drf_spectacular.extensions import OpenApiAuthenticationExtension
from drf_spectacular.types import OpenApiTypes
from drf_spectacular.utils import OpenApiParameter, OpenApiResponse, extend_schema
from drf_spectacular.views import SpectacularAPIView
from rest_framework.authentication import SessionAuthentication
from rest_framework.permissions import IsAuthenticated

from labrecords.queries import access

from .serializers.problems import ProblemSerializer
from .tokens import TokenAuthentication

CODE = OpenApiParameter("code", OpenApiTypes.STR, OpenApiParameter.PATH, description="Code, such as S-2026-0001.")


def path_parameter(name: str, words: str) -> OpenApiParameter:
    """A part of an address, with what stands there."""
    return OpenApiParameter(name, OpenApiTypes.STR, OpenApiParameter.PATH, description=words)


def query_parameter(name: str, words: str) -> OpenApiParameter:
    """A part of an address after its question mark, with what stands there."""
    return OpenApiParameter(name, OpenApiTypes.STR, OpenApiParameter.QUERY, required=True, description=words)


WHEN = {
    400: "The request was not understood.",
    401: "No token, or one that is not in use.",
    403: "The roles of the token's person do not allow it.",
    404: "There is no such record, or not for this token; both read the same.",
    409: "Refused: the entry may be right, but the study, the run, the equipment or the specimen is not ready for it.",
    413: "More was sent than is taken at a time.",
    415: "Neither JSON nor a form.",
    422: "Refused for what was sent, or the trace file cannot be read as it stands.",
    503: "The database does not answer just now. Send the same again, with the same key, after Retry-After seconds.",
}
ALWAYS = (401, 403, 404)
LATER = 503


class TokenScheme(OpenApiAuthenticationExtension):
    """How a token is sent, for the document."""

    target_class = TokenAuthentication
    name = "token"

    def get_security_definition(self, _auto_schema):
        """A header whose value begins with the word Token."""
        return {
            "type": "apiKey",
            "in": "header",
            "name": "Authorization",
            "description": "The word Token, a blank, and a token that the lab manager gave.",
        }


def described(
    operation_id: str, summary: str, *, ok, status: int = 200, says: str = "", errors=ALWAYS, media_type="", **more
):
    """What the document says of one operation; every error has the one shape, and an answer is JSON unless said."""
    answers = {code: OpenApiResponse(ProblemSerializer, description=WHEN[code]) for code in (*errors, LATER)}
    kept = (status, media_type) if media_type else status
    responses = {kept: OpenApiResponse(ok, description=says or summary), **answers}
    return extend_schema(operation_id=operation_id, summary=summary, responses=responses, **more)


class StaffOrProgram(IsAuthenticated):
    """People of the laboratory, signed in or by token, and devices."""

    def has_permission(self, request, view):
        """Whether the person may read by program or see the laboratory."""
        return super().has_permission(request, view) and may_read_reference(request.user)


def may_read_reference(person) -> bool:
    """Whether somebody may read how the programming interface is used."""
    return access.may(person, "read by program") or access.may(person, "see the laboratory")


class Document(SpectacularAPIView):
    """The OpenAPI document, as YAML or with ?format=json as JSON."""

    authentication_classes = [TokenAuthentication, SessionAuthentication]
    permission_classes = [StaffOrProgram]
