"""Signing in: a person's own second factors and recovery codes."""

import base64
import binascii

import segno
from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.urls import reverse

from labrecords import web
from labrecords.actions import second_factors as actions
from labrecords.actions.refusals import Refused
from labrecords.forms.second_factors import AppForm, PasskeyForm, PasswordForm
from labrecords.queries import badges, lab, second_factors
from labrecords.rules.sealed import NotOpened
from labrecords.rules.second_factor import address_of, grouped, new_secret

from . import passkeys

NEW_SECRET = "new_app_secret"  # noqa: S105  where the session keeps it, encrypted, until a code has confirmed it
TITLE = "Signing in"


def own(request: HttpRequest) -> HttpResponse:
    """What the person has, and what may be added."""
    context = {
        "factors": second_factors.every(request.user),
        "held": second_factors.held(request.user),
        "left": second_factors.codes_left(request.user),
        "must": second_factors.must_enrol(request.user),
        "site": passkeys.site(request),
        "badge": badges.of(request.user),
        "at_own_factors": True,
        "crumbs": [{"label": TITLE}],
    }
    return render(request, "account/signing_in.html", context)


def add_app(request: HttpRequest) -> HttpResponse:
    """The secret as a picture and as text; it counts once a code has come of it."""
    secret, form, refused = _secret(request), AppForm(request.POST or None), None
    if request.method == "POST" and form.is_valid():
        given = form.cleaned_data
        try:
            made, codes = actions.add_app(
                secret=secret,
                code=given["one_time_code"],
                name=given["name"],
                password=given["password"],
                by=request.user,
                at=web.now(),
            )
        except actions.NameTaken as taken:
            form.add_error("name", str(taken))
        except Refused as answer:
            refused = answer
        else:
            del request.session[NEW_SECRET]
            return _added(request, made, codes)
    laboratory = lab.laboratory()
    address = address_of(secret, person=request.user.username, laboratory=laboratory.name if laboratory else "Records")
    qr = segno.make(address, error="m").svg_data_uri(scale=5, border=4, light="#fff")
    more = {"qr": qr, "secret": grouped(secret)}
    return _page(request, "account/add_app.html", "Add an authenticator app", form, refused, **more)


def _secret(request: HttpRequest) -> str:
    """The secret that waits for its first code; a new one where there is none."""
    try:
        kept = base64.b64decode(request.session.get(NEW_SECRET, ""))
        return actions.opened_secret(kept, person=request.user)
    except (NotOpened, binascii.Error):
        secret = new_secret()
        sealed = actions.sealed_secret(secret, person=request.user)
        request.session[NEW_SECRET] = base64.b64encode(sealed).decode()
        return secret


def add_passkey(request: HttpRequest) -> HttpResponse:
    """A passkey, made by the browser when the form is sent."""
    site, form, refused = passkeys.site(request), PasskeyForm(request.POST or None), None
    if request.method == "POST" and site is None:
        form.add_error(None, passkeys.NOT_HERE)
    elif request.method == "POST" and form.is_valid():
        given = form.cleaned_data
        try:
            made, codes = actions.add_passkey(
                answer=given["passkey_answer"],
                challenge=passkeys.open_challenge(request, making=True),
                site=site,
                name=given["name"],
                password=given["password"],
                by=request.user,
                at=web.now(),
            )
        except actions.NameTaken as taken:
            form.add_error("name", str(taken))
        except Refused as answer:
            refused = answer
        else:
            return _added(request, made, codes)
    return _page(request, "account/add_passkey.html", "Add a passkey", form, refused, site=site)


def _added(request: HttpRequest, factor, codes: list[str]) -> HttpResponse:
    if codes:
        return _codes(request, codes, f"The {factor} is asked for from now on, when you sign in and when you sign.")
    messages.success(request, f"The {factor} is taken from now on.")
    return redirect("own-factors")


def recovery(request: HttpRequest) -> HttpResponse:
    """Ten new recovery codes, shown once; those before them end."""
    form, refused = PasswordForm(request.POST or None), None
    if request.method == "POST" and form.is_valid():
        try:
            codes = actions.make_recovery_codes(password=form.cleaned_data["password"], by=request.user, at=web.now())
        except Refused as answer:
            refused = answer
        else:
            return _codes(request, codes, "Any codes from before have ended.")
    words = "Ten new codes are made and shown once. Those you have now end."
    return _page(request, "account/confirm.html", "New recovery codes", form, refused, button="Make them", words=words)


def _codes(request: HttpRequest, codes: list[str], words: str) -> HttpResponse:
    context = {"codes": codes, "words": words, "crumbs": _crumbs("Recovery codes")}
    return render(request, "account/recovery.html", context)


def end(request: HttpRequest, factor_id) -> HttpResponse:
    """End one of the person's own."""
    factor = second_factors.one(request.user, factor_id)
    form, refused = PasswordForm(request.POST or None), None
    if request.method == "POST" and form.is_valid():
        try:
            actions.end(factor=factor, password=form.cleaned_data["password"], by=request.user, at=web.now())
        except Refused as answer:
            refused = answer
        else:
            messages.success(request, f"The {factor} is taken no longer.")
            return redirect("own-factors")
    words = "It is taken no longer, neither for signing in nor for signatures. What was signed with it stays as it is."
    return _page(request, "account/confirm.html", f"End the {factor}", form, refused, button="End it", words=words)


def _crumbs(label: str) -> list[dict]:
    return [{"label": TITLE, "url": reverse("own-factors")}, {"label": label}]


def _page(request: HttpRequest, template: str, heading: str, form, refused, **more) -> HttpResponse:
    context = {
        "form": form,
        "heading": heading,
        "refusals": web.panels(refused) if refused else [],
        "crumbs": _crumbs(heading),
        **more,
    }
    return render(request, template, context, status=422 if refused or form.errors else 200)
