"""Challenges for passkeys: given out fresh, kept in the session, used once; and what a form brought back."""

from datetime import datetime
from typing import Any

from django.conf import settings
from django.contrib.auth.decorators import login_not_required
from django.http import HttpRequest, HttpResponse, JsonResponse
from django.views.decorators.http import require_POST

from labrecords import web
from labrecords.queries import second_factors
from labrecords.rules import passkey
from labrecords.rules.second_factor import CHALLENGE, Given, Site, site_of

from . import pending

ASKED = "passkey_challenge"
NOT_HERE = "Passkeys need one of this laboratory's host names; at this address there are none."


def site(request: HttpRequest) -> Site | None:
    """Where passkeys of this page hold: its host, if the settings name it."""
    return site_of(request.get_host(), allowed=settings.ALLOWED_HOSTS, trusted=settings.CSRF_TRUSTED_ORIGINS)


@login_not_required
@require_POST
def challenge(request: HttpRequest) -> HttpResponse:
    """Options of one ceremony for the person who has signed in, or is about to; as JSON for the page's script."""
    signed_in = request.user.is_authenticated
    person = request.user if signed_in else pending.person(request)
    making = request.POST.get("ceremony") == "create"
    if person is None or (making and not signed_in):
        return JsonResponse({"why": "Sign in anew: the time for the second step has passed."}, status=403)
    here = site(request)
    if here is None:
        return JsonResponse({"why": NOT_HERE}, status=409)
    known = second_factors.keys_at(person, here.name)
    if making:
        options, asked = passkey.creation_options(
            here, handle=person.pk.bytes, user=person.username, name=person.name, known=known
        )
    elif known:
        options, asked = passkey.request_options(here, known)
    else:
        return JsonResponse({"why": f"You have no passkey for {here.name}."}, status=409)
    request.session[ASKED] = {"challenge": asked, "at": web.now().isoformat(), "making": making}
    return JsonResponse(options)


def open_challenge(request: HttpRequest, *, making: bool = False) -> str:
    """The challenge given out last, taken away with this; empty if there is none, or it is too old."""
    asked = request.session.pop(ASKED, None)
    if asked is None or asked["making"] is not making:
        return ""
    return asked["challenge"] if web.now() - datetime.fromisoformat(asked["at"]) <= CHALLENGE else ""


def given(request: HttpRequest, form) -> Given:
    """The second factor of a form that was filled in."""
    return Given(
        code=form.cleaned_data.get("one_time_code", ""),
        assertion=form.cleaned_data.get("passkey_answer", ""),
        challenge=open_challenge(request),
        site=site(request),
    )


def signed(request: HttpRequest, form) -> dict[str, Any]:
    """Password and second factor of a form that signs, as actions take them."""
    return {"password": form.cleaned_data["password"], "given": given(request, form)}
