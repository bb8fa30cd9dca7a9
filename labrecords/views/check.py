"""Is a report still what it says? For anybody who holds it, without signing in; it tells no result."""

from django.contrib.auth.decorators import login_not_required
from django.http import HttpRequest, HttpResponse
from django.shortcuts import render
from django.views.decorators.http import require_GET

from labrecords.forms.check import CheckForm
from labrecords.queries import check_page


@login_not_required
@require_GET
def check(request: HttpRequest) -> HttpResponse:
    """State, issue, day of issue and hash of the report whose number and code were given."""
    asked = bool(request.GET)
    form = CheckForm(request.GET if asked else None)
    found = check_page.find(form.cleaned_data["report"], form.cleaned_data["code"]) if form.is_valid() else None
    report, newest = found or (None, None)
    context = {
        "form": form,
        "asked": asked and not form.errors,
        "report": report,
        "withdrawal": getattr(report, "withdrawal", None) if report else None,
        "replaced_by": newest.issue if newest and newest.issue > report.issue else None,
    }
    return render(request, "check/check.html", context, status=422 if form.errors else 200)
