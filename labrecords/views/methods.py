"""Methods and their versions."""

from django.contrib import messages
from django.core.exceptions import ValidationError
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.urls import reverse

from labrecords import web
from labrecords.actions import methods as actions
from labrecords.forms.methods import FIRST, VersionForm
from labrecords.queries import access, studies
from labrecords.web import needs, now

FLOATS = ("conditioning_hours", "room_low_c", "room_high_c", "humidity_low_percent", "humidity_high_percent")


@needs("see the laboratory")
def method_list(request: HttpRequest) -> HttpResponse:
    """Every version of every method, with what it allows."""
    context = {
        "rows": list(studies.method_versions()),
        "may_issue": access.may(request.user, "issue a method"),
        "crumbs": [{"label": "Methods"}],
    }
    return render(request, "methods/list.html", context)


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
