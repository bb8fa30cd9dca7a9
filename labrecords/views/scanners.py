"""Check this scanner: one test label, and what the scanner made of it."""

from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.urls import reverse

from labrecords.actions import scanners as actions
from labrecords.forms.labels import ScannerForm
from labrecords.queries import scanners
from labrecords.rules.scanner_check import ALPHABET
from labrecords.web import needs, now

from .equipment import crumb


@needs("open a run")
def check(request: HttpRequest, label: str) -> HttpResponse:
    """Scan the test label; what came out wrong is named, and kept."""
    from labrecords.reports.label_sheets import alphabet_label

    tester = scanners.tester(label)
    form = ScannerForm(request.POST or None)
    found = None
    if request.method == "POST" and form.is_valid():
        found = actions.check(tester=tester, by=request.user, at=now(), **form.cleaned_data)
        if found.passed:
            messages.success(request, f"Passed: the scanner at {tester.name} reads every character.")
            return redirect("check-scanner", label)
        form = ScannerForm()
    context = {
        "tester": tester,
        "form": form,
        "found": found,
        "checks": scanners.checks_of(tester),
        "qr": alphabet_label(),
        "alphabet": ALPHABET,
        "crumbs": [
            {"label": "Equipment", "url": reverse("equipment")},
            *crumb(tester),
            {"label": "Check this scanner"},
        ],
    }
    return render(request, "bench/scanner.html", context, status=422 if found or form.errors else 200)
