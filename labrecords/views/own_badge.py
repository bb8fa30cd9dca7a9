"""Badges: a person's own under Signing in, and the lab manager's end to one that was lost."""

import segno
from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.urls import reverse

from labrecords import web
from labrecords.actions import badges as actions
from labrecords.actions.refusals import Refused
from labrecords.forms.badges import PinForm
from labrecords.forms.second_factors import EndForm, PasswordForm
from labrecords.queries import badges
from labrecords.rules.labels import parse
from labrecords.web import needs


@needs("open a run")
def own(request: HttpRequest) -> HttpResponse:
    """The badge as it is printed, or how to make one."""
    badge = badges.of(request.user)
    context = {"badge": badge, "qr": picture(badge) if badge else "", "crumbs": _crumbs()}
    return render(request, "account/badge.html", context)


def picture(badge) -> str:
    """The badge's QR code, as an address that holds the picture itself."""
    return segno.make(parse(badge.label).encoded, error="m").svg_data_uri(scale=5, border=4, light="#fff")


@needs("open a run")
def make(request: HttpRequest) -> HttpResponse:
    """A badge of one's own; one that there was before ends."""
    words = "The badge's code is printed; the PIN is yours alone. Both are asked for at a bench, for its work only."
    if badges.of(request.user):
        words += " The badge you have now ends."
    return _with_pin(
        request, actions.make, "Make a badge", words, done="Print the badge, and keep the PIN to yourself."
    )


@needs("open a run")
def set_pin(request: HttpRequest) -> HttpResponse:
    """Another PIN for the badge that one has."""
    if badges.of(request.user) is None:
        return redirect("own-badge")
    words = "The badge stays as it is printed."
    return _with_pin(request, actions.set_pin, "Set another PIN", words, done="The new PIN holds from now on.")


def _with_pin(request: HttpRequest, act, heading: str, words: str, *, done: str) -> HttpResponse:
    form, refused = PinForm(request.POST or None), None
    if request.method == "POST" and form.is_valid():
        given = form.cleaned_data
        try:
            act(pin=given["pin"], password=given["password"], by=request.user, at=web.now())
        except actions.WeakPin as weak:
            form.add_error("pin", str(weak))
        except Refused as answer:
            refused = answer
        else:
            messages.success(request, done)
            return redirect("own-badge")
    return _page(request, form, heading, heading, words, refused)


@needs("open a run")
def end(request: HttpRequest) -> HttpResponse:
    """End one's own badge."""
    if badges.of(request.user) is None:
        return redirect("own-badge")
    form, refused = PasswordForm(request.POST or None), None
    if request.method == "POST" and form.is_valid():
        try:
            actions.end(password=form.cleaned_data["password"], by=request.user, at=web.now())
        except Refused as answer:
            refused = answer
        else:
            messages.success(request, "The badge is taken no longer.")
            return redirect("own-badge")
    return _page(request, form, "End the badge", "End it", "It is taken no longer at any bench.", refused)


def _page(request: HttpRequest, form, heading: str, button: str, words: str, refused) -> HttpResponse:
    context = {
        "form": form,
        "heading": heading,
        "button": button,
        "words": words,
        "refusals": web.panels(refused) if refused else [],
        "back": reverse("own-badge"),
        "crumbs": _crumbs(heading),
    }
    return render(request, "account/confirm.html", context, status=422 if refused or form.errors else 200)


def _crumbs(heading: str = "") -> list[dict]:
    first = [{"label": "Signing in", "url": reverse("own-factors")}, {"label": "Badge", "url": reverse("own-badge")}]
    return [*first, {"label": heading}] if heading else [first[0], {"label": "Badge"}]


@needs("keep people")
def end_for(request: HttpRequest, badge_id) -> HttpResponse:
    """End a person's badge, such as one that was lost."""
    badge = badges.one(badge_id)
    form = EndForm(request.POST or None)
    if request.method == "POST" and form.is_valid():
        try:
            actions.end_for(badge=badge, reason=form.cleaned_data["reason"], by=request.user, at=web.now())
        except (ValueError, Refused) as refused:
            form.add_error("reason", str(refused))
        else:
            messages.success(request, f"The {badge} of {badge.person.name} is taken no longer.")
            return redirect("person", badge.person.username)
    crumbs = [
        {"label": "People", "url": reverse("people")},
        {"label": badge.person.name, "url": reverse("person", args=[badge.person.username])},
        {"label": f"End the {badge}"},
    ]
    return web.form_page(request, form, f"End the {badge} of {badge.person.name}", "End it", crumbs)
