"""Signing in again with a form in hand: what was typed is carried along, and sent once more by whoever signed in."""

import json

from django.contrib.auth import login
from django.contrib.auth.decorators import login_not_required
from django.http import HttpRequest, HttpResponse, HttpResponseBadRequest
from django.shortcuts import render
from django.utils.http import url_has_allowed_host_and_scheme
from django.views.decorators.http import require_POST

from .sign_in import SlowForm, note


@login_not_required
@require_POST
def sign_in_again(request: HttpRequest) -> HttpResponse:
    """Sign in, and show what was typed with a button that sends it."""
    fields, path = _fields(request.POST.get("typed", "")), request.POST.get("path", "")
    if fields is None or not _here(request, path):
        return HttpResponseBadRequest("The form that was to be sent again cannot be read.")
    form = SlowForm(request, data=request.POST)
    context = {"typed": json.dumps(fields), "path": path, "shown": fields, "form": form}
    if not form.is_valid():
        note(request, form, succeeded=False)
        return render(request, "registration/again.html", context, status=429 if form.wait else 422)
    note(request, form, succeeded=True)
    login(request, form.get_user())
    return render(request, "registration/send.html", context)


def _fields(text: str) -> list[list[str]] | None:
    try:
        found = json.loads(text)
    except ValueError:
        return None
    good = isinstance(found, list) and all(
        isinstance(pair, list) and len(pair) == 2 and all(isinstance(part, str) for part in pair) for pair in found
    )
    return found if good else None


def _here(request: HttpRequest, path: str) -> bool:
    """Whether it is a page of ours: nobody is sent elsewhere with what they typed."""
    return path.startswith("/") and url_has_allowed_host_and_scheme(path, allowed_hosts={request.get_host()})
