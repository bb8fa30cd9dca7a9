"""The protocol of a study: its versions, putting the next one to the client, and an answer that came another way."""

from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.urls import reverse

from labrecords import web
from labrecords.actions import protocols as actions
from labrecords.actions.refusals import Refused
from labrecords.forms.protocols import AnswerForm, PutForm
from labrecords.queries import access, protocols, second_factors
from labrecords.reports import protocol as words_of
from labrecords.rules import protocol as rules
from labrecords.rules.study_states import DRAFT
from labrecords.web import needs, now

from . import passkeys


@needs("see the laboratory")
def protocol(request: HttpRequest, code: str) -> HttpResponse:
    """Every version with what it says, what changed, and what was answered."""
    study = access.study(request.user, code)
    found = protocols.versions(study)
    standing = protocols.standing(found[0] if found else None, words_of.text(study))
    draft = study.state == DRAFT
    context = {
        "study": study,
        "agreement": rules.AGREEMENTS[study.agreement],
        "versions": [_version(one, found[place + 1 :]) for place, one in enumerate(found)],
        "draft": draft,
        "same": standing.same,
        "agreed": standing.agreed,
        "may_put": draft
        and access.may(request.user, "plan a study")
        and not rules.check_put(standing, agreement=study.agreement),
        "may_answer": draft
        and bool(found)
        and standing.agreed is None
        and access.may(request.user, "answer for a client"),
        "crumbs": web.study_crumbs(code, {"label": "Protocol"}),
    }
    return render(request, "studies/protocol.html", context)


def _version(one, earlier) -> dict:
    before = words_of.flat(earlier[0].content) if earlier else None
    return {
        "protocol": one,
        "parts": words_of.parts(one.content),
        "earlier": earlier[0] if earlier else None,
        "changes": rules.changed(before, words_of.flat(one.content)) if before else [],
    }


@needs("plan a study")
def put(request: HttpRequest, code: str) -> HttpResponse:
    """Put the plan as it stands to the client, as the next version."""
    study = access.study(request.user, code)
    form, refused = PutForm(request.POST or None, holds=second_factors.held(request.user)), None
    if request.method == "POST" and form.is_valid():
        try:
            told = form.cleaned_data["words"]
            kept = actions.put(study=study, words=told, by=request.user, at=now(), **passkeys.signed(request, form))
        except Refused as caught:
            refused = caught
        else:
            messages.success(request, f"Version {kept.version} is put to the client, and shows on the client's page.")
            return redirect("protocol", code)
    words = (
        "The plan is frozen as it stands, as the next version, and the people of the client see it on their page. "
        f"You sign as {request.user.name}, now, with this meaning: protocol of {code}, put to the client."
    )
    heading = f"Put {code} to the client"
    return _form_page(request, study, form, heading, words=words, button="Sign, and put it", refused=refused)


@needs("answer for a client")
def answer(request: HttpRequest, code: str) -> HttpResponse:
    """Record what the client said to the newest version."""
    study = access.study(request.user, code)
    newest = protocols.newest(study)
    if newest is None:
        raise access.NotFound(code)
    form, refused = AnswerForm(request.POST or None), None
    if request.method == "POST" and form.is_valid():
        given = form.cleaned_data | {"agreed": form.cleaned_data["agreed"] == "yes"}
        try:
            actions.record(protocol=newest, by=request.user, at=now(), **given)
        except Refused as caught:
            refused = caught
        else:
            messages.success(request, f"What the client said to version {newest.version} is recorded.")
            return redirect("protocol", code)
    heading = f"What the client said to version {newest.version}"
    words = "Where the client answers on its own page, nothing need be recorded here."
    return _form_page(request, study, form, heading, words=words, button="Record the answer", refused=refused)


def _form_page(request: HttpRequest, study, form, heading: str, *, words: str, button: str, refused) -> HttpResponse:
    protocol = {"label": "Protocol", "url": reverse("protocol", args=[study.code])}
    crumbs = web.study_crumbs(study.code, protocol, {"label": heading})
    return web.form_page(request, form, heading, button, crumbs, refused=refused, words=words, study=study)
