"""Checks before use, their control chart, and which load cell fits a force."""

from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.urls import reverse
from django.views.decorators.http import require_POST

from labrecords import web
from labrecords.actions import checks as actions
from labrecords.actions.refusals import Refused
from labrecords.forms.equipment import BaselineForm, CheckForm, FitForm
from labrecords.queries import access, cell_fit, checks, studies
from labrecords.web import needs, now

from .equipment import crumb

# The share of the weak end that noise may be where no method says otherwise. common practice, no source
NOISE_SHARE = 0.01
SHOWN = 100  # readings on a chart; all of them stay on record


@needs("see the laboratory")
def of_cell(request: HttpRequest, label: str) -> HttpResponse:
    """The checks of a cell: take one, and see the control charts of every pair it was checked in."""
    cell = studies.equipment(label)
    form = _check_form(request.POST or None)
    refused = None
    if request.method == "POST":
        access.demand(request.user, "take a check")
        if form.is_valid():
            try:
                kept = _take(request, cell, dict(form.cleaned_data))
            except Refused as answer:
                refused = answer
            else:
                _say(request, kept)
                return redirect("cell-checks", label)
    return _page(request, cell, form, refused)


def _check_form(data) -> CheckForm:
    form = CheckForm(data, initial={"taken_at": now()})
    form.fields["tester"].offer([(item.label, str(item)) for item in studies.equipment_of("tester")])
    standards = [*studies.equipment_of("mass"), *studies.equipment_of("strip")]
    form.fields["standard"].offer([(item.label, f"{item}, {item.nominal_n:g} N") for item in standards])
    return form


def _take(request, cell, given: dict):
    items = {name: studies.equipment(given.pop(name)) for name in ("tester", "standard")}
    value = float(given.pop("value_n"))
    return actions.take(cell=cell, value_n=value, by=request.user, at=now(), **items, **given)


def _say(request, kept) -> None:
    if kept.accepted:
        messages.success(request, f"The check is accepted: {kept.value_n:g} N.")
        return
    why = "; ".join(kept.signals) or "it lies outside the tolerance"
    messages.warning(request, f"The check is not accepted: {why}. The load cell is out of service until it is lifted.")


def _page(request, cell, form, refused=None, baseline=None) -> HttpResponse:
    from labrecords.reports.equipment_figures import check_figures

    charts, pairs = [], checks.pairs(cell)
    for number, (tester, standard) in enumerate(pairs):
        newest = list(checks.readings(tester, cell, standard))[-SHOWN:]
        drawn = check_figures(newest, checks.baseline(tester, cell, standard))
        figures = [web.figure_context(figure) | {"id": f"{figure.id}-{number}"} for figure in drawn]
        charts.append({"tester": tester, "standard": standard, "figures": figures})
    baseline = baseline or BaselineForm(auto_id="baseline_%s")
    offered = [(f"{one.label} {other.label}", f"{one.name}, with {other.name}") for one, other in pairs]
    baseline.fields["pair"].offer(offered)
    context = {
        "item": cell,
        "form": form,
        "charts": charts,
        "baseline_form": baseline if pairs and access.may(request.user, "keep equipment") else None,
        "may_check": access.may(request.user, "take a check"),
        "refusals": web.panels(refused) if refused else [],
        "crumbs": [{"label": "Equipment", "url": reverse("equipment")}, *crumb(cell), {"label": "Checks"}],
    }
    status = 422 if refused or form.errors or baseline.errors else 200
    return render(request, "equipment/checks.html", context, status=status)


@require_POST
@needs("keep equipment")
def set_baseline(request: HttpRequest, label: str) -> HttpResponse:
    """Limits for a pair, from its readings so far."""
    cell = studies.equipment(label)
    form = BaselineForm(request.POST, auto_id="baseline_%s")
    form.fields["pair"].offer([(f"{one.label} {other.label}", "") for one, other in checks.pairs(cell)])
    refused = None
    if form.is_valid():
        tester, standard = (studies.equipment(part) for part in form.cleaned_data["pair"].split())
        name = form.cleaned_data["name"]
        try:
            actions.set_baseline(tester=tester, cell=cell, standard=standard, name=name, by=request.user, at=now())
        except Refused as answer:
            refused = answer
        else:
            messages.success(request, "The limits hold from the next check on.")
            return redirect("cell-checks", label)
    return _page(request, cell, _check_form(None), refused, baseline=form)


@needs("see the laboratory")
def fit(request: HttpRequest) -> HttpResponse:
    """Every load cell ranked for the forces expected: of a study, or as typed."""
    from labrecords.reports.equipment_figures import fit_figure

    form = FitForm(request.GET or None)
    fits, figure = [], None
    if form.is_valid():
        ends = {name: float(form.cleaned_data[name]) for name in ("weak_n", "strong_n")}
        fits = cell_fit.ranked(noise_share=NOISE_SHARE, moment=now(), **ends)
        figure = fit_figure(fits, **ends)
    context = {
        "form": form,
        "fits": fits,
        "earlier": cell_fit.earlier_forces(),
        "figure": web.figure_context(figure) if figure else None,
        "crumbs": [{"label": "Equipment", "url": reverse("equipment")}, {"label": "Which load cell fits"}],
    }
    return render(request, "equipment/fit.html", context, status=422 if form.errors else 200)
