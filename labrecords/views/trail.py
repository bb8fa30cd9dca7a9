"""The audit trail of any record, in words."""

from urllib.parse import urlencode

from django.http import HttpRequest, HttpResponse
from django.shortcuts import render
from django.urls import reverse

from labrecords.forms.trail import TrailForm
from labrecords.queries import trail
from labrecords.web import needs


@needs("read the trail")
def read(request: HttpRequest) -> HttpResponse:
    """What was done to a record, or in a study, the newest first."""
    form = TrailForm(request.GET or None)
    asked = form.cleaned_data if form.is_bound and form.is_valid() else {"subject": "", "study": "", "before": None}
    found = trail.read(reader=request.user, **asked) if not form.errors else trail.Page((), None)
    kept = {name: asked[name] for name in ("subject", "study") if asked[name]}
    context = {
        "form": form,
        "page": found,
        "about": asked["subject"] or asked["study"],
        "older": f"{reverse('trail')}?{urlencode(kept | {'before': found.older})}" if found.older else "",
        "crumbs": [{"label": "Audit trail"}],
    }
    return render(request, "trail/read.html", context, status=422 if form.errors else 200)
