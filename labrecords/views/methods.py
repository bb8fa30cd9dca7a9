"""Methods and their versions."""

from django.contrib import messages
from django.core.exceptions import ValidationError
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.urls import reverse

from labrecords import web
from labrecords.actions import methods as actions
from labrecords.forms.listing import NUMBER, Choice, Column, Listing, Nothing
from labrecords.forms.methods import FIRST, VersionForm
from labrecords.queries import access, studies
from labrecords.web import needs, now

FLOATS = ("conditioning_hours", "room_low_c", "room_high_c", "humidity_low_percent", "humidity_high_percent")


@needs("see the laboratory")
def method_list(request: HttpRequest) -> HttpResponse:
    """Every version of every method, with what it allows."""
    may_issue = access.may(request.user, "issue a method")
    context = {
        "listing": _listing(request, may_issue),
        "may_issue": may_issue,
        "crumbs": [{"label": "Methods"}],
    }
    return render(request, "methods/list.html", context)


COLUMNS = (
    Column("version", "Version", str, lambda version: f"{version}: {version.method.title}"),
    Column("after", "After", lambda version: version.reference),
    Column("techniques", "Techniques", lambda version: ", ".join(version.techniques)),
    Column("rates", "Rates", lambda version: version.rate_low_mm_min, lambda version: _rates(version), kind=NUMBER),
    Column(
        "widths", "Widths, mm", lambda version: min(version.widths_mm), lambda version: _widths(version), kind=NUMBER
    ),
    Column(
        "room", "Room and conditioning", lambda version: version.room_low_c, lambda version: _room(version), kind=NUMBER
    ),
    Column("modes", "Failure modes", lambda version: ", ".join(mode["key"] for mode in version.modes)),
)
CHOICES = (
    Choice("method", "Method", lambda version: version.method.code),
    Choice("technique", "Technique", lambda version: version.techniques),
)


def _rates(version) -> str:
    inches = f"{version.rate_low_in_min.normalize():f} to {version.rate_high_in_min.normalize():f} in/min"
    return f"{inches}, or {version.rate_low_mm_min:.0f} to {version.rate_high_mm_min:.0f} mm/min"


def _widths(version) -> str:
    return ", ".join(f"{width.normalize():f}" for width in version.widths_mm)


def _room(version) -> str:
    humidity = f"{version.humidity_low_percent} to {version.humidity_high_percent} % RH"
    return f"{version.room_low_c} to {version.room_high_c} °C, {humidity}, at least {version.conditioning_hours} h"


def _listing(request: HttpRequest, may_issue: bool) -> Listing:
    nothing = Nothing("No method has been issued. A manager issues one before a study can be planned.")
    if may_issue:
        nothing = Nothing(
            "No method has been issued. A study needs one before it can be planned.",
            reverse("issue-method"),
            "Issue the first method",
        )
    return Listing(
        list(studies.method_versions()),
        COLUMNS,
        request.GET,
        ("version", "versions"),
        order="the newest of each method first",
        nothing=nothing,
        choices=CHOICES,
    )


@needs("issue a method")
def issue(request: HttpRequest) -> HttpResponse:
    """Issue the first or the next version of a method. Versions are never changed."""
    form = VersionForm(request.POST or None, initial=FIRST)
    if request.method == "POST" and form.is_valid():
        given = dict(form.cleaned_data)
        given |= {name: float(given[name]) for name in FLOATS}
        try:
            made = actions.issue_version(by=request.user, at=now(), **given)
        except ValidationError as error:
            web.put_on_form(form, error)
        else:
            messages.success(request, f"{made} is issued. Authorise people for it before they test.")
            return redirect("methods")
    crumbs = [{"label": "Methods", "url": reverse("methods")}, {"label": "Issue a version"}]
    words = "A version is issued once and never changed. Check every number against the standard you have bought."
    return web.form_page(request, form, "Issue a method version", "Issue", crumbs, words=words)
