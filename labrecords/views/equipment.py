"""Equipment: what is in calibration, what is not, and the records behind it."""

from django.contrib import messages
from django.core.exceptions import ValidationError
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.urls import reverse
from django.views.decorators.http import require_POST

from labrecords import web
from labrecords.actions import equipment as actions
from labrecords.actions.refusals import Refused
from labrecords.forms.equipment import CalibrationForm, EquipmentForm, ServiceForm, WordsForm
from labrecords.queries import access, equipment, studies
from labrecords.rules import wording
from labrecords.web import needs, now


@needs("see the laboratory")
def equipment_list(request: HttpRequest) -> HttpResponse:
    """All equipment, what stops work first."""
    rows = equipment.standings(now())
    context = {
        "rows": [(row, *state(row)) for row in sorted(rows, key=lambda row: (not row.stops, row.days_left or 0))],
        "may_keep": access.may(request.user, "keep equipment"),
        "crumbs": [{"label": "Equipment"}],
    }
    return render(request, "equipment/list.html", context)


def state(row) -> tuple[str, str]:
    """The word and the shape for an item's standing."""
    if row.stops:
        return "stop", wording.WORDS[row.stops[0].code].headline.capitalize()
    if row.days_left is not None and row.days_left <= 14:
        return "due", f"Due in {row.days_left} days"
    return "ok", "In calibration"


@needs("see the laboratory")
def item(request: HttpRequest, label: str) -> HttpResponse:
    """One item, its calibrations and what happened to it."""
    found = studies.equipment(label)
    context = {
        "item": found,
        "status": equipment.status_at(found, now()),
        "calibrations": list(studies.calibrations(found)),
        "events": list(found.events.select_related("by")),
        "may_keep": access.may(request.user, "keep equipment"),
        "may_review": access.may(request.user, "review a calibration"),
        "service_form": ServiceForm(),
        "crumbs": [{"label": "Equipment", "url": reverse("equipment")}, {"label": found.name}],
    }
    return render(request, "equipment/item.html", context)


@needs("keep equipment")
def register(request: HttpRequest) -> HttpResponse:
    """A tester or load cell."""
    form = EquipmentForm(request.POST or None)
    if request.method == "POST" and form.is_valid():
        given = dict(form.cleaned_data)
        numbers = {name: _float(given.pop(name)) for name in ("capacity_n", "resolution_n")}
        try:
            made = actions.register(by=request.user, at=now(), **given, **numbers)
        except ValidationError as error:
            web.put_on_form(form, error)
        else:
            messages.success(request, f"{made.name} is registered as {made.label}. Record its calibration next.")
            return redirect("equipment-item", made.label)
    return _page(request, form, "Register equipment", "Register", [])


def _float(value) -> float | None:
    return None if value is None else float(value)


@needs("keep equipment")
def calibrate(request: HttpRequest, label: str) -> HttpResponse:
    """A calibration as its certificate states it."""
    found = studies.equipment(label)
    form = CalibrationForm(request.POST or None)
    if request.method == "POST" and form.is_valid():
        given = dict(form.cleaned_data)
        floats = ("verified_low_n", "verified_high_n", "noise_n", "expanded_uncertainty_percent")
        numbers = {name: _float(given.pop(name)) for name in floats}
        given["passed"] = given["passed"] == "yes"
        try:
            actions.record_calibration(equipment=found, by=request.user, at=now(), **given, **numbers)
        except ValidationError as error:
            web.put_on_form(form, error)
        else:
            messages.success(request, "The calibration is recorded. It counts once somebody else has reviewed it.")
            return redirect("equipment-item", label)
    return _page(request, form, f"Record a calibration of {found.name}", "Record", _crumb(found))


@needs("review a calibration")
def review(request: HttpRequest, calibration_id) -> HttpResponse:
    """A second person has read the certificate."""
    calibration = studies.calibration(calibration_id)
    form = WordsForm(request.POST or None)
    refused = None
    if request.method == "POST" and form.is_valid():
        try:
            actions.review_calibration(calibration=calibration, by=request.user, at=now(), **form.cleaned_data)
        except Refused as answer:
            refused = answer
        else:
            messages.success(request, f"{calibration.certificate} is reviewed and counts from now on.")
            return redirect("equipment-item", calibration.equipment.label)
    heading = f"Review certificate {calibration.certificate}"
    return _page(request, form, heading, "Record the review", _crumb(calibration.equipment), refused)


@require_POST
@needs("keep equipment")
def service(request: HttpRequest, label: str) -> HttpResponse:
    """Out of service, or back."""
    found = studies.equipment(label)
    form = ServiceForm(request.POST)
    if not form.is_valid():
        return _page(request, form, f"{found.name}: reason", "Record", _crumb(found))
    act = actions.put_back if request.POST.get("act") == "back" else actions.take_out_of_service
    event = act(equipment=found, reason=form.cleaned_data["reason"], by=request.user, at=now())
    messages.success(request, f"{found.name} is {event.kind}.")
    return redirect("equipment-item", label)


def _crumb(item) -> list[dict]:
    return [{"label": item.name, "url": reverse("equipment-item", args=[item.label])}]


def _page(request, form, heading: str, button: str, crumbs: list[dict], refused=None) -> HttpResponse:
    context = {
        "form": form,
        "heading": heading,
        "button": button,
        "refusals": web.panels(refused) if refused else [],
        "crumbs": [{"label": "Equipment", "url": reverse("equipment")}, *crumbs, {"label": heading}],
    }
    return render(request, "studies/form.html", context, status=422 if refused or form.errors else 200)
