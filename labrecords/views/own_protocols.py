"""Protocols put to a client: the list, one version with what changed, and the answer, signed.

What is read here is read in the portal's role, which sees the rows of one client; the answer is kept outside of it.
"""

from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.urls import reverse
from django.views.decorators.http import require_http_methods

from labrecords import web
from labrecords.actions import protocols as actions
from labrecords.actions.refusals import Refused
from labrecords.forms.listing import NUMBER, TIME, Choice, Column, Listing, Nothing
from labrecords.forms.protocols import AgreeForm
from labrecords.queries import access, portal, protocols, second_factors
from labrecords.reports import protocol as words_of
from labrecords.rules.protocol import changed
from labrecords.rules.study_states import DRAFT
from labrecords.web import needs

from . import passkeys

ACT = "agree to a protocol"


@needs(ACT)
def listed(request: HttpRequest) -> HttpResponse:
    """Every version put to the person's company, and what was answered."""
    with portal.as_portal(request.user.client_id):
        listing = _listing(request, list(protocols.own(request.user)))
        context = {"listing": listing, "crumbs": [{"label": "Protocols"}]}
        return render(request, "portal/protocols.html", context)


COLUMNS = (
    Column("study", "Study", lambda protocol: protocol.study.code),
    Column("title", "Title", lambda protocol: protocol.study.title),
    Column("version", "Version", lambda protocol: protocol.version, kind=NUMBER, right=True),
    Column("put", "Put to you on", lambda protocol: protocol.at, kind=TIME),
    Column("answer", "Answer", lambda protocol: _said(protocol)),
)
ANSWERS = {name: name.lower() for name in ("Waits for you", "Agreed", "Not agreed")}
NOTHING = Nothing("No protocol has been put to you yet. Each one stands here as soon as the laboratory has signed it.")


def _said(protocol) -> str:
    if not hasattr(protocol, "answer"):
        return "Waits for you"
    return "Agreed" if protocol.answer.agreed else "Not agreed"


def _listing(request: HttpRequest, found) -> Listing:
    return Listing(
        found,
        COLUMNS,
        request.GET,
        ("protocol", "protocols"),
        order="newest first",
        nothing=NOTHING,
        choices=(Choice("answer", "Answer", _said, ANSWERS),),
    )


@require_http_methods(["GET", "POST"])
@needs(ACT)
def one(request: HttpRequest, code: str, version: int) -> HttpResponse:
    """One version, with what reads otherwise than in the one before; agreed to, or not, by its form."""
    form = AgreeForm(request.POST or None, holds=second_factors.held(request.user))
    found, refused = _own(request, code, version), None
    if request.method == "POST" and form.is_valid():
        try:
            _answer(request, found, form)
        except Refused as caught:
            refused = caught
        else:
            messages.success(request, f"Your answer to version {version} is kept, and the laboratory sees it.")
            return redirect("own-protocol", code, version)
    with portal.as_portal(request.user.client_id):
        return _page(request, protocols.own_one(request.user, code, version), form, refused)


def _own(request: HttpRequest, code: str, version: int):
    if not request.path.isprintable():
        raise access.NotFound(request.path)
    with portal.as_portal(request.user.client_id):
        return protocols.own_one(request.user, code, version)


def _answer(request: HttpRequest, found, form: AgreeForm) -> None:
    given = form.cleaned_data
    actions.answer(
        protocol=found,
        agreed=given["agreed"] == "yes",
        words=given["words"],
        by=request.user,
        at=web.now(),
        **passkeys.signed(request, form),
    )


def _page(request: HttpRequest, found, form: AgreeForm, refused) -> HttpResponse:
    earlier = protocols.before(found)
    newest = protocols.own(request.user).filter(study=found.study).order_by("-version").first()
    waits = found == newest and not hasattr(found, "answer") and found.study.state == DRAFT
    context = {
        "protocol": found,
        "study": found.study,
        "parts": words_of.parts(found.content),
        "changes": changed(words_of.flat(earlier.content), words_of.flat(found.content)) if earlier else [],
        "earlier": earlier,
        "newest": newest,
        "form": form if waits else None,
        "refusals": web.panels(refused) if refused else [],
        "crumbs": [
            {"label": "Protocols", "url": reverse("own-protocols")},
            {"label": f"{found.study.code}, version {found.version}"},
        ],
    }
    return render(request, "portal/protocol.html", context, status=422 if refused or form.errors else 200)
