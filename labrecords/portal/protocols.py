"""Protocols put to a client: the list, one version with what changed, and the answer, signed."""

from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.urls import reverse

from labrecords import web
from labrecords.actions import protocols as actions
from labrecords.actions.refusals import Refused
from labrecords.forms.protocols import AgreeForm
from labrecords.queries import portal, protocols
from labrecords.reports import protocol as words_of
from labrecords.rules.protocol import changed

from .base import for_answers, for_clients

ACT = "agree to a protocol"


@for_clients(ACT)
def listed(request: HttpRequest) -> HttpResponse:
    """Every version put to the person's company, and what was answered."""
    context = {"protocols": list(protocols.own(request.user)), "crumbs": [{"label": "Protocols"}]}
    return render(request, "portal/protocols.html", context)


@for_clients(ACT)
def one(request: HttpRequest, *, code: str, version: int) -> HttpResponse:
    """One version, with what reads otherwise than in the one before, and the form of the answer."""
    return _page(request, protocols.own_one(request.user, code, version), AgreeForm())


@for_answers(ACT)
def answer(request: HttpRequest, *, code: str, version: int) -> HttpResponse:
    """Agree to a version, or say what must be changed."""
    form, refused = AgreeForm(request.POST), None
    with portal.as_portal(request.user.client_id):
        found = protocols.own_one(request.user, code, version)
        if not form.is_valid():
            return _page(request, found, form)
    given = form.cleaned_data
    agreed = given["agreed"] == "yes"
    try:
        actions.answer(
            protocol=found,
            agreed=agreed,
            words=given["words"],
            password=given["password"],
            by=request.user,
            at=web.now(),
        )
    except Refused as caught:
        refused = caught
    if refused is None:
        messages.success(request, f"Your answer to version {version} is kept, and the laboratory sees it.")
        return redirect("portal:protocol", code=code, version=version)
    with portal.as_portal(request.user.client_id):
        return _page(request, protocols.own_one(request.user, code, version), form, refused=refused)


def _page(request: HttpRequest, found, form, *, refused=None) -> HttpResponse:
    earlier = protocols.before(found)
    newest = protocols.own(request.user).filter(study=found.study).order_by("-version").first()
    waits = found == newest and not hasattr(found, "answer") and found.study.state == "draft"
    context = {
        "protocol": found,
        "study": found.study,
        "parts": words_of.parts(found.content),
        "changes": changed(words_of.flat(earlier.content), words_of.flat(found.content)) if earlier else [],
        "earlier": earlier,
        "newest": newest,
        "form": form if waits or refused else None,
        "refusals": web.panels(refused) if refused else [],
        "crumbs": [
            {"label": "Protocols", "url": reverse("portal:protocols")},
            {"label": f"{found.study.code}, version {found.version}"},
        ],
    }
    return render(request, "portal/protocol.html", context, status=422 if refused or form.errors else 200)
