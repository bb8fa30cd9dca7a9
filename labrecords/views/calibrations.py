"""Calibrations: recorded, superseded, reviewed by a second person, and looked back from."""

from django.contrib import messages
from django.core.exceptions import ValidationError
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.urls import reverse

from labrecords import web
from labrecords.actions import calibrations as actions
from labrecords.actions import nonconforming
from labrecords.actions.refusals import Refused
from labrecords.forms.calibrations import CalibrationForm
from labrecords.forms.equipment import WordsForm
from labrecords.queries import access, calibrations, look_back, studies
from labrecords.web import needs, now

from .equipment import as_float, crumb, page

NUMBERS = ("verified_low_n", "verified_high_n", "noise_n", "expanded_uncertainty_percent", "coverage_factor")


@needs("keep equipment")
def record(request: HttpRequest, label: str) -> HttpResponse:
    """A calibration as its certificate states it."""
    found = studies.equipment(label)
    form = CalibrationForm(
        request.POST or None,
        request.FILES or None,
        proposed=calibrations.proposal(found),
        of_force=calibrations.of_force(found),
        initial={"rule": "E4"},
    )
    return _recording(request, form, found, f"Record a calibration of {found.name}")


@needs("keep equipment")
def supersede(request: HttpRequest, calibration_id) -> HttpResponse:
    """A record that was wrong is superseded by another, with the reason; both stay."""
    wrong = studies.calibration(calibration_id)
    form = CalibrationForm(
        request.POST or None,
        request.FILES or None,
        superseding=True,
        of_force=calibrations.of_force(wrong.equipment),
        initial=calibrations.as_typed(wrong),
    )
    heading = f"Supersede the record of {wrong.certificate}"
    return _recording(request, form, wrong.equipment, heading, supersedes=wrong)


def _recording(request, form, item, heading: str, supersedes=None) -> HttpResponse:
    refused = None
    if request.method == "POST" and form.is_valid():
        try:
            made = _record(request, item, dict(form.cleaned_data), supersedes)
        except Refused as answer:
            refused = answer
        except ValidationError as error:
            web.put_on_form(form, error)
        else:
            messages.success(request, "The calibration is recorded. It counts once somebody else has reviewed it.")
            return redirect("calibration", made.pk)
    return page(request, form, heading, "Record", crumb(item), refused)


def _record(request, item, given: dict, supersedes):
    file = given.pop("file", None)
    given |= {name: as_float(given[name]) for name in NUMBERS if name in given}
    given["coverage_factor"] = given["coverage_factor"] or 2.0
    given["passed"] = given["passed"] == "yes"
    given["file"] = (file.name, file.read()) if file is not None else None
    return actions.record(equipment=item, supersedes=supersedes, by=request.user, at=now(), **given)


@needs("see the laboratory")
def calibration(request: HttpRequest, calibration_id) -> HttpResponse:
    """One calibration: what the certificate says, point by point, and what follows from it."""
    found = studies.calibration(calibration_id)
    reviewed = hasattr(found, "review")
    context = {
        "calibration": found,
        "item": found.equipment,
        "facts": calibrations.described(found),
        "unit": calibrations.unit(found.equipment),
        "points": calibrations.points(found),
        "notes": calibrations.notes(found),
        "may_review": access.may(request.user, "review a calibration") and not reviewed and found.by != request.user,
        "may_supersede": access.may(request.user, "keep equipment") and not hasattr(found, "superseded_by"),
        "look_back": found.as_found_within is False,
        "crumbs": [
            {"label": "Equipment", "url": reverse("equipment")},
            *crumb(found.equipment),
            {"label": found.certificate},
        ],
    }
    return render(request, "equipment/calibration.html", context)


@needs("review a calibration")
def review(request: HttpRequest, calibration_id) -> HttpResponse:
    """A second person has read the certificate."""
    found = studies.calibration(calibration_id)
    form = WordsForm(request.POST or None)
    refused = None
    if request.method == "POST" and form.is_valid():
        try:
            actions.review(calibration=found, by=request.user, at=now(), **form.cleaned_data)
        except Refused as answer:
            refused = answer
        else:
            messages.success(request, f"{found.certificate} is reviewed and counts from now on.")
            return redirect("calibration", found.pk)
    heading = f"Review certificate {found.certificate}"
    return page(request, form, heading, "Record the review", crumb(found.equipment), refused)


@needs("see the laboratory")
def look_back_page(request: HttpRequest, calibration_id) -> HttpResponse:
    """Everything done with the item since it was last known to be right; from here nonconforming work is opened."""
    found = studies.calibration(calibration_id)
    form = WordsForm(request.POST or None)
    form.fields["words"].label = "What was found, and how far it may reach"
    refused = None
    if request.method == "POST" and form.is_valid():
        try:
            made = nonconforming.from_look_back(calibration=found, by=request.user, at=now(), **form.cleaned_data)
        except Refused as answer:
            refused = answer
        else:
            messages.success(request, f"{made.code} is open. The studies it touches are held until work resumes.")
            return redirect("nonconformity", made.code)
    context = {
        "calibration": found,
        "item": found.equipment,
        "look": look_back.since_last_good(found),
        "opened": list(found.nonconformities.all()),
        "form": form,
        "refusals": web.panels(refused) if refused else [],
        "may_open": access.may(request.user, "handle nonconforming work"),
        "crumbs": [
            {"label": "Equipment", "url": reverse("equipment")},
            *crumb(found.equipment),
            {"label": found.certificate, "url": reverse("calibration", args=[found.pk])},
            {"label": "Look back"},
        ],
    }
    status = 422 if refused or form.errors else 200
    return render(request, "equipment/look_back.html", context, status=status)
