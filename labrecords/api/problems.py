"""Every error of the programming interface in one shape, with the codes that pages and records use."""

import logging
from collections.abc import Iterator, Mapping
from functools import singledispatch
from json import JSONDecodeError
from typing import Any

from django.core.exceptions import PermissionDenied, SuspiciousOperation
from django.http import Http404
from rest_framework import exceptions
from rest_framework.renderers import JSONRenderer
from rest_framework.response import Response

from labrecords.actions.refusals import Refused, as_json
from labrecords.database.errors import RETRY_AFTER_S, UNREACHABLE
from labrecords.files import problems as files
from labrecords.files.problems import FileProblem
from labrecords.queries.access import NotAllowed, NotFound
from labrecords.rules.answers import Answer

log = logging.getLogger(__name__)

# What was sent is wrong unless the code stands here: then it is right, and the state or the authority is not.
VALUE, STATE, AUTHORITY = 422, 409, 403
STATUS = {
    "setup-not-locked": STATE,
    "study-not-open": STATE,
    "state-refused": STATE,
    "setup-locked": STATE,
    "not-calibrated": STATE,
    "calibration-overdue": STATE,
    "calibration-failed": STATE,
    "out-of-service": STATE,
    "specimen-done": STATE,
    "specimen-void": STATE,
    "trace-reused": STATE,
    "file-elsewhere": STATE,
    "run-closed": STATE,
    "already-void": STATE,
    "replacements-spent": STATE,
    "decisions-open": STATE,
    "content-changed": STATE,
    "not-authorised": AUTHORITY,
    "not-this-person": AUTHORITY,
    "not-allowed": AUTHORITY,
    "same-person": AUTHORITY,
    "wrong-password": AUTHORITY,
    "void-needs-manager": AUTHORITY,
}


class Problem(Exception):
    """An error to answer with: its status, one code, one sentence, and the reasons."""

    def __init__(self, status: int, code: str, sentence: str, answers: tuple[dict, ...] = ()) -> None:
        self.status = status
        self.code = code
        self.sentence = sentence
        self.answers = answers or (reason(code, sentence),)
        self.refusal = None
        self.headers: dict[str, str] = {}
        super().__init__(sentence)

    @property
    def body(self) -> dict[str, Any]:
        """The one shape."""
        return {
            "code": self.code,
            "detail": self.sentence,
            "refusal": self.refusal,
            "codes": [answer["code"] for answer in self.answers],
            "answers": list(self.answers),
        }


def reason(code: str, why: str, *, headline: str = "", facts: Mapping[str, str] | None = None) -> dict[str, Any]:
    """A reason that is not the gate's, with the same fields as the gate's have."""
    return {
        "code": code,
        "headline": headline,
        "rule": "",
        "why": why,
        "who": "You.",
        "next": "",
        "facts": dict(facts or {}),
    }


def status_of(code: str) -> int:
    """The status of one code of the gate.

    >>> status_of("specimen-done"), status_of("rate-changed")
    (409, 422)
    """
    return STATUS.get(code, VALUE)


def handler(exc: Exception, context: Mapping[str, Any]) -> Response:
    """Answer an exception, always as JSON, whatever the view would have rendered."""
    problem = _problem(exc)
    request = context["request"]
    request.accepted_renderer, request.accepted_media_type = JSONRenderer(), JSONRenderer.media_type
    return Response(problem.body, status=problem.status, headers=problem.headers)


@singledispatch
def _problem(exc: Exception) -> Problem:
    log.error("The programming interface failed.", exc_info=exc)
    return Problem(500, "fault", "Something failed here. Send the same request with the same key again later.")


def _unreachable(exc: Exception) -> Problem:
    log.error("The database did not answer.", exc_info=exc)
    sentence = "The database does not answer just now. Send the same request with the same key again a little later."
    problem = Problem(503, "unavailable", sentence)
    problem.headers = {"Retry-After": str(RETRY_AFTER_S)}
    return problem


for _kind in UNREACHABLE:
    _problem.register(_kind, _unreachable)


@_problem.register
def _(exc: Problem) -> Problem:
    return exc


@_problem.register
def _(exc: Refused) -> Problem:
    status = max(map(status_of, exc.codes))
    code = next(code for code in exc.codes if status_of(code) == status)
    answers = tuple(_told(answer) for answer in exc.answers)
    headlines = "; ".join(dict.fromkeys(answer["headline"] for answer in answers))
    problem = Problem(status, code, f"Not recorded: {headlines}.", answers)
    problem.refusal = str(exc.refusal.pk)
    return problem


@_problem.register
def _(exc: NotAllowed) -> Problem:
    return Problem(AUTHORITY, "not-allowed", str(exc), (_told(Answer("not-allowed", str(exc))),))


def _told(answer: Answer) -> dict[str, Any]:
    """A reason as it is stored; facts by name, since the database keeps no order and a repeat is told the same."""
    plain = as_json(answer)
    return {**plain, "facts": dict(sorted(plain["facts"].items()))}


@_problem.register(NotFound)
@_problem.register(Http404)
@_problem.register(exceptions.NotFound)
def _(_exc: Exception) -> Problem:
    return Problem(404, "not-found", "There is nothing at this address, or nothing that this token may read.")


@_problem.register
def _(exc: FileProblem) -> Problem:
    line = {} if exc.line is None else {"line": str(exc.line)}
    answer = reason(exc.code, exc.sentence, headline=files.CODES.get(exc.code, ""), facts=line)
    return Problem(VALUE, exc.code, exc.sentence, (answer,))


@_problem.register
def _(exc: exceptions.ValidationError) -> Problem:
    answers = tuple(_field(path, found) for path, found in _flat(exc.detail))
    names = ", ".join(dict.fromkeys(answer["facts"]["field"] or "the body" for answer in answers))
    return Problem(400, "not-understood", f"The request was not understood. Look at: {names}.", answers)


def _flat(detail: Any, path: str = "") -> Iterator[tuple[str, exceptions.ErrorDetail]]:
    if isinstance(detail, Mapping):
        for name, inner in detail.items():
            yield from _flat(inner, path if name == "non_field_errors" else f"{path}.{name}".lstrip("."))
    elif isinstance(detail, list):
        for inner in detail:
            yield from _flat(inner, path)
    else:
        yield path, detail


def _field(path: str, found: exceptions.ErrorDetail) -> dict[str, Any]:
    code = {"required": "field-required", "unknown": "field-unknown"}.get(found.code, "field-wrong")
    return reason(code, str(found), facts={"field": path})


@_problem.register(exceptions.NotAuthenticated)
@_problem.register(exceptions.AuthenticationFailed)
def _(exc: exceptions.APIException) -> Problem:
    missing = isinstance(exc, exceptions.NotAuthenticated)
    problem = (
        Problem(401, "token-missing", "Send the header 'Authorization: Token', then a blank and your token.")
        if missing
        else Problem(401, "token-refused", "This token is not in use. Ask the lab manager for another.")
    )
    problem.headers = {"WWW-Authenticate": exc.auth_header}
    return problem


SENTENCES = {
    400: "The body could not be read. Check it against the reference at /api/.",
    403: "This is not allowed with this token.",
    405: "This address does not answer that method; the header Allow names those it does.",
    406: "This address answers in JSON. Send 'Accept: application/json'.",
    415: "Send the body as application/json or multipart/form-data.",
}


@_problem.register
def _(exc: exceptions.APIException) -> Problem:
    code = exc.default_code.replace("_", "-")
    sentence = why = SENTENCES.get(exc.status_code, "The request was not answered.")
    if isinstance(exc.__context__, JSONDecodeError):
        why = f"Line {exc.__context__.lineno}, column {exc.__context__.colno} is not JSON."
    return Problem(exc.status_code, code, sentence, (reason(code, why),))


@_problem.register(PermissionDenied)
def _(_exc: Exception) -> Problem:
    return Problem(403, "not-allowed", SENTENCES[403])


@_problem.register(SuspiciousOperation)
def _(_exc: Exception) -> Problem:
    return Problem(400, "parse-error", SENTENCES[400])
