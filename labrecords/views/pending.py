"""Whoever has given name and password, and not yet the second factor. Nobody is signed in by it."""

from datetime import datetime

from django.contrib.auth import SESSION_KEY
from django.http import HttpRequest
from django.utils.crypto import constant_time_compare

from labrecords import web
from labrecords.queries import people
from labrecords.rules.second_factor import PENDING

STEP = "second_step"


def begin(request: HttpRequest, person, *, next_page: str) -> None:
    """Remember who gave the password, in a session of its own: its key is new, and nobody is signed in by it."""
    request.session.flush()
    request.session[STEP] = {
        "person": str(person.pk),
        "backend": person.backend,
        "password": person.get_session_auth_hash(),
        "at": web.now().isoformat(),
        "next": next_page,
    }


def person(request: HttpRequest):
    """Who is between the two steps; None if nobody, if too late, or if account or password changed meanwhile."""
    step = request.session.get(STEP)
    if step is None or SESSION_KEY in request.session:
        return None
    found = people.who_may_sign_in(step["person"])
    if found is None or web.now() - datetime.fromisoformat(step["at"]) > PENDING:
        return None
    if not constant_time_compare(step["password"], found.get_session_auth_hash()):
        return None
    found.backend = step["backend"]
    return found


def next_page(request: HttpRequest) -> str:
    """Where the sign-in was to lead; it was checked when the step began."""
    return request.session[STEP]["next"]
