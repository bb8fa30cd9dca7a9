"""Corrections: asked for on a specimen's result, and decided by a second person."""

from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.urls import reverse

from labrecords import web
from labrecords.actions import corrections as actions
from labrecords.actions.refusals import Refused
from labrecords.forms.corrections import CorrectionForm, SecondForm
from labrecords.queries import access, corrections, studies, values
from labrecords.web import needs, now


@needs("correct a result")
def ask(request: HttpRequest, label: str) -> HttpResponse:
    """Say what a result is to read instead, and why."""
    specimen = studies.specimen(label)
    result = corrections.latest(specimen)
    form = _form(result, request.POST or None)
    refused = None
    if request.method == "POST" and form.is_valid():
        try:
            kept = actions.ask(specimen=specimen, by=request.user, at=now(), **form.cleaned_data)
        except Refused as answer:
            refused = answer
        else:
            made = corrections.one(kept.pk)
            said = "is corrected" if hasattr(made, "made") else "waits until a second person agrees to the correction"
            messages.success(request, f"{label} {said}.")
            return redirect("specimen", label)
    withheld = values.withheld(result, reader=request.user)
    context = {
        "specimen": specimen,
        "stood": "not shown" if withheld else _stood(result),
        "from_trace": result.source == "trace",
        "form": form,
        "refusals": web.panels(refused) if refused else [],
        "crumbs": _crumbs(specimen, "Correct"),
    }
    return render(request, "studies/correct.html", context, status=422 if refused or form.errors else 200)


def _form(result, data=None) -> CorrectionForm:
    setup = result.run.study.setup
    from_trace = result.source == "trace"
    first = {
        "typed": "" if from_trace else result.recorded,
        "unit": result.recorded_unit or setup.unit,
        "modes": result.modes,
        "opened": "opened-before-test" in result.marks,
        "remark": result.remark,
    }
    form = CorrectionForm(data, initial=first)
    form.fields["unit"].offer([(unit, unit) for unit in dict.fromkeys((setup.unit, "N"))])
    form.fields["modes"].choices = [
        (mode["key"], f"{mode['key']}: {mode['name']}") for mode in setup.method_version.modes
    ]
    if from_trace:
        for name in ("typed", "unit", "opened"):
            del form.fields[name]
    return form


@needs("see the laboratory")
def one(request: HttpRequest, correction_id) -> HttpResponse:
    """A correction: before and after, why, and the second person's word."""
    correction = corrections.one(correction_id)
    specimen = correction.result.specimen
    form = SecondForm(request.POST or None)
    refused = None
    if request.method == "POST":
        access.demand(request.user, "agree to a correction")
        if form.is_valid():
            given = {"agreed": form.cleaned_data["agreed"] == "yes", "words": form.cleaned_data["words"]}
            try:
                actions.decide(correction=correction, by=request.user, at=now(), **given)
            except Refused as answer:
                refused = answer
            else:
                said = "is corrected" if given["agreed"] else "stays as it was"
                messages.success(request, f"{specimen.label} {said}.")
                return redirect("specimen", specimen.label)
    waits = corrections.waiting().filter(pk=correction.pk).exists()
    context = {
        "correction": correction,
        "specimen": specimen,
        "reason": correction.get_reason_display(),
        "stood": _stood(correction.result),
        "asked": _asked(correction),
        "decision": getattr(correction, "decision", None),
        "made": getattr(correction, "made", None),
        "form": form if waits and access.may(request.user, "agree to a correction") else None,
        "own": waits and request.user.pk in (correction.by_id, correction.result.tested_by_id),
        "refusals": web.panels(refused) if refused else [],
        "crumbs": _crumbs(specimen, "Correction"),
    }
    return render(request, "studies/correction.html", context, status=422 if refused or form.errors else 200)


def _stood(result) -> str:
    """A result in a line, as it was kept."""
    value = f"{result.recorded} {result.recorded_unit}".strip() or "opened before the test"
    return "; ".join(filter(None, (value, ", ".join(result.modes), result.remark)))


def _asked(correction) -> str:
    """A correction in a line, as it was asked for; a trace's maximum stays."""
    value = f"{correction.typed} {correction.unit}".strip()
    if correction.opened:
        value = "opened before the test"
    elif not value:
        value = f"{correction.result.recorded} {correction.result.recorded_unit}".strip()
    return "; ".join(filter(None, (value, ", ".join(correction.modes), correction.remark)))


def _crumbs(specimen, label: str) -> list[dict]:
    corrected = {"label": specimen.label, "url": reverse("specimen", args=[specimen.label])}
    return web.study_crumbs(specimen.study.code, corrected, {"label": label})
