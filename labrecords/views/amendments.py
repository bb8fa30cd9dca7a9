"""A released report opened again for another issue, or withdrawn."""

from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect

from labrecords import web
from labrecords.actions import amendments as actions
from labrecords.actions.refusals import Refused
from labrecords.forms.review import ReasonForm, WithdrawForm
from labrecords.queries import access, reports, second_factors
from labrecords.web import needs, now

from . import passkeys

AMEND = {
    "button": "Open it for another issue",
    "words": (
        "The study goes back to review. Results are corrected, not entered, and another issue says what it replaces, "
        "what changed and why. Until it is released, this issue holds."
    ),
}
WITHDRAW = {
    "button": "Sign the withdrawal",
    "words": "The issue stays readable, with your reason beside it, and holds no longer. Tell the client as well.",
}


@needs("amend a report")
def amend(request: HttpRequest, code: str) -> HttpResponse:
    """Open a released report's study again."""
    report = _newest(request, code)
    form = ReasonForm(request.POST or None)
    refused = None
    if request.method == "POST" and form.is_valid():
        try:
            actions.amend(report=report, by=request.user, at=now(), **form.cleaned_data)
        except Refused as answer:
            refused = answer
        else:
            messages.success(request, f"{code} is in review again. {report} holds until another issue is released.")
            return redirect("study", code)
    return _page(request, report, form, refused, heading=f"Amend {report}", **AMEND)


@needs("withdraw a report")
def withdraw(request: HttpRequest, code: str) -> HttpResponse:
    """Withdraw the newest issue of a report."""
    report = _newest(request, code)
    form = WithdrawForm(request.POST or None, holds=second_factors.held(request.user))
    refused = None
    if request.method == "POST" and form.is_valid():
        try:
            why = form.cleaned_data["reason"]
            actions.withdraw(report=report, reason=why, by=request.user, at=now(), **passkeys.signed(request, form))
        except Refused as answer:
            refused = answer
        else:
            messages.success(request, f"{report} is withdrawn. Its readers are told so wherever they read it.")
            return redirect("study", code)
    return _page(request, report, form, refused, heading=f"Withdraw {report}", **WITHDRAW)


def _newest(request: HttpRequest, code: str):
    report = reports.released(access.study(request.user, code))
    if report is None:
        raise access.NotFound(f"report of {code}")
    return report


def _page(request: HttpRequest, report, form, refused, *, heading: str, button: str, words: str) -> HttpResponse:
    crumbs = web.study_crumbs(report.study.code, {"label": heading})
    return web.form_page(request, form, heading, button, crumbs, refused=refused, words=words, study=report.study)
