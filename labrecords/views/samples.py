"""Samples: a lot received, conditioned and cut; specimens set aside and replaced; labels to print."""

from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.urls import reverse
from django.views.decorators.http import require_POST

from labrecords import web
from labrecords.actions import samples as actions
from labrecords.actions import voids
from labrecords.actions.refusals import Refused
from labrecords.forms.samples import ConditioningForm, CustodyForm, CutForm, ReceiptForm, ReplacementForm, VoidForm
from labrecords.queries import access, studies
from labrecords.web import needs, now


@needs("receive samples")
def receive(request: HttpRequest, code: str) -> HttpResponse:
    """A lot of the plan came in."""
    study = access.study(request.user, code)
    form = ReceiptForm(request.POST or None, initial={"received_at": now()})
    form.fields["name"].offer([(name, name) for name in studies.missing_lots(study)])
    refused = None
    if request.method == "POST" and form.is_valid():
        try:
            lot = actions.receive(study=study, by=request.user, at=now(), **form.cleaned_data)
        except Refused as answer:
            refused = answer
        else:
            messages.success(request, f"Lot {lot.name} is received as {lot.label}.")
            return redirect("lot", lot.label)
    return _page(request, form, study, "Receive a lot", "Receive the lot", refused)


@needs("see the laboratory")
def lot(request: HttpRequest, label: str) -> HttpResponse:
    """One lot: its receipt, conditioning, custody, packs and specimens."""
    found = studies.lot(label)
    context = {
        "lot": found,
        "study": found.study,
        "conditionings": list(found.conditionings.select_related("by").order_by("started_at")),
        "custody": list(found.custody.select_related("by")),
        "specimens": list(
            found.study.specimens.filter(pack__lot=found)
            .select_related("pack", "group", "void", "replaces")
            .order_by("label")
        ),
        "may": access.may(request.user, "receive samples"),
        "conditioning_form": ConditioningForm(initial={"started_at": now()}, prefix="conditioning"),
        "cut_form": CutForm(prefix="cut"),
        "custody_form": CustodyForm(initial={"happened_at": now()}, prefix="custody"),
        "crumbs": [*_crumbs(found.study), {"label": f"Lot {found.name}"}],
    }
    return render(request, "studies/lot.html", context)


@require_POST
@needs("receive samples")
def condition(request: HttpRequest, label: str) -> HttpResponse:
    """A lot goes into the conditioned room."""
    found = studies.lot(label)
    form = ConditioningForm(request.POST, prefix="conditioning")
    if not form.is_valid():
        return _page(request, form, found.study, f"Condition lot {found.name}", "Record", None)
    given = dict(form.cleaned_data)
    given |= {name: float(given[name]) for name in ("temperature_c", "humidity_percent")}
    try:
        actions.condition(lot=found, by=request.user, at=now(), **given)
    except Refused as refused:
        return _page(request, form, found.study, f"Condition lot {found.name}", "Record", refused)
    messages.success(request, f"Lot {found.name} is being conditioned.")
    return redirect("lot", label)


@require_POST
@needs("receive samples")
def cut(request: HttpRequest, label: str) -> HttpResponse:
    """Cut and label every specimen the plan asks of this lot."""
    found = studies.lot(label)
    form = CutForm(request.POST, prefix="cut")
    if not form.is_valid():
        return _page(request, form, found.study, f"Cut lot {found.name}", "Cut and label", None)
    try:
        made = actions.cut(lot=found, by=request.user, at=now(), **form.cleaned_data)
    except Refused as refused:
        return _page(request, form, found.study, f"Cut lot {found.name}", "Cut and label", refused)
    messages.success(request, f"{len(made)} specimens of lot {found.name} are labelled.")
    return redirect("lot", label)


@require_POST
@needs("receive samples")
def custody(request: HttpRequest, label: str) -> HttpResponse:
    """Where a lot went."""
    found = studies.lot(label)
    form = CustodyForm(request.POST, prefix="custody")
    if not form.is_valid():
        return _page(request, form, found.study, f"Where lot {found.name} went", "Record", None)
    actions.add_custody(lot=found, by=request.user, at=now(), **form.cleaned_data)
    messages.success(request, "Recorded.")
    return redirect("lot", label)


@needs("void a specimen")
def void(request: HttpRequest, label: str) -> HttpResponse:
    """Set a specimen aside, for a cause of the method's list."""
    specimen = studies.specimen(label)
    form = VoidForm(request.POST or None)
    causes = specimen.study.setup.method_version.void_causes
    form.fields["cause"].offer([(cause["key"], cause["words"]) for cause in causes])
    refused = None
    if request.method == "POST" and form.is_valid():
        try:
            voids.void(specimen=specimen, by=request.user, at=now(), **form.cleaned_data)
        except Refused as answer:
            refused = answer
        else:
            messages.success(request, f"{label} is void. Its value, if it had one, is kept and printed.")
            return redirect("specimen", label)
    return _page(request, form, specimen.study, f"Void {label}", "Void the specimen", refused)


@needs("receive samples")
def replace(request: HttpRequest, label: str) -> HttpResponse:
    """Cut a replacement that names the void specimen."""
    specimen = studies.specimen(label)
    form = ReplacementForm(request.POST or None)
    form.fields["pack"].offer([(pack.pk, f"{pack.label} (pack {pack.number})") for pack in studies.packs_for(specimen)])
    refused = None
    if request.method == "POST" and form.is_valid():
        pack = studies.pack(form.cleaned_data["pack"])
        try:
            made = voids.replace(specimen=specimen, pack=pack, by=request.user, at=now())
        except Refused as answer:
            refused = answer
        else:
            messages.success(request, f"{made.label} replaces {label}.")
            return redirect("specimen", made.label)
    return _page(request, form, specimen.study, f"Replace {label}", "Cut the replacement", refused)


def _crumbs(study) -> list[dict]:
    return [
        {"label": "Studies", "url": reverse("studies")},
        {"label": study.code, "url": reverse("study", args=[study.code])},
    ]


def _page(request, form, study, heading: str, button: str, refused) -> HttpResponse:
    context = {
        "form": form,
        "study": study,
        "heading": heading,
        "button": button,
        "refusals": web.panels(refused) if refused else [],
        "crumbs": [*_crumbs(study), {"label": heading}],
    }
    status = 422 if refused or form.errors else 200
    return render(request, "studies/form.html", context, status=status)
