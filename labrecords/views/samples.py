"""Samples: a lot received, conditioned and cut; specimens set aside and replaced; labels to print."""

from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.views.decorators.http import require_POST

from labrecords import web
from labrecords.actions import arrivals as arrived
from labrecords.actions import samples as actions
from labrecords.actions import voids
from labrecords.actions.refusals import Refused
from labrecords.forms.samples import (
    ConditioningForm,
    CustodyForm,
    CutForm,
    DiscardForm,
    DiscrepancyAnswerForm,
    DiscrepancyForm,
    ReceiptForm,
    ReplacementForm,
    TreatmentForm,
    VoidForm,
)
from labrecords.queries import access, conditioning, studies
from labrecords.queries import samples as arrivals
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
        "cut_form": _cut_form(),
        "cutting_map": arrivals.cutting_map(found),
        "remnants": arrivals.remnants_at(found),
        "discard_form": DiscardForm(prefix="discard"),
        "discrepancies": list(found.discrepancies.select_related("by", "answer__by")),
        "treatments": [(made, arrivals.days_for_a_year(made)) for made in found.treatments.all()],
        "ready_at": conditioning.ready_at(found),
        "may_answer": access.may(request.user, "answer for a client"),
        "discrepancy_form": DiscrepancyForm(prefix="discrepancy"),
        "treatment_form": _treatment_form(found),
        "custody_form": CustodyForm(initial={"happened_at": now()}, prefix="custody"),
        "crumbs": web.study_crumbs(found.study.code, {"label": f"Lot {found.name}"}),
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


def _cut_form(data=None) -> CutForm:
    form = CutForm(data, prefix="cut")
    form.fields["cutter"].offer([(item.label, str(item)) for item in studies.equipment_of("cutter")])
    return form


def _treatment_form(found, data=None) -> TreatmentForm:
    form = TreatmentForm(data, prefix="treatment")
    form.fields["group"].offer(arrivals.arms(found))
    return form


@require_POST
@needs("receive samples")
def find_discrepancy(request: HttpRequest, label: str) -> HttpResponse:
    """Something is not as agreed."""
    found = studies.lot(label)
    form = DiscrepancyForm(request.POST, prefix="discrepancy")
    if not form.is_valid():
        return _page(request, form, found.study, f"A discrepancy of lot {found.name}", "Record", None)
    arrived.find_discrepancy(lot=found, by=request.user, at=now(), **form.cleaned_data)
    messages.success(request, f"Recorded. Lot {found.name} waits until the client has answered.")
    return redirect("lot", label)


@needs("answer for a client")
def answer_discrepancy(request: HttpRequest, discrepancy_id) -> HttpResponse:
    """What the client said of a discrepancy."""
    found = arrivals.discrepancy(discrepancy_id)
    form = DiscrepancyAnswerForm(request.POST or None)
    refused = None
    if request.method == "POST" and form.is_valid():
        given = form.cleaned_data | {"proceeds": form.cleaned_data["proceeds"] == "yes"}
        try:
            arrived.answer_discrepancy(discrepancy=found, by=request.user, at=now(), **given)
        except Refused as answer:
            refused = answer
        else:
            messages.success(request, "The client's answer is recorded.")
            return redirect("lot", found.lot.label)
    heading = f"The client's answer for lot {found.lot.name}"
    return _page(request, form, found.lot.study, heading, "Record the answer", refused, words=found.words)


@require_POST
@needs("receive samples")
def treat(request: HttpRequest, label: str) -> HttpResponse:
    """What an arm of the lot went through."""
    found = studies.lot(label)
    form = _treatment_form(found, request.POST)
    refused = None
    if form.is_valid():
        given = dict(form.cleaned_data)
        given |= {
            name: None if given[name] is None else float(given[name]) for name in ("ageing_c", "ambient_c", "q10")
        }
        given["arm"], given["time_point"] = given.pop("group").split(" | ")
        try:
            arrived.record_treatment(lot=found, by=request.user, at=now(), **given)
        except Refused as answer:
            refused = answer
        else:
            messages.success(request, "Recorded.")
            return redirect("lot", label)
    return _page(request, form, found.study, f"What an arm of lot {found.name} went through", "Record", refused)


@require_POST
@needs("receive samples")
def cut(request: HttpRequest, label: str) -> HttpResponse:
    """Cut and label every specimen the plan asks of this lot."""
    found = studies.lot(label)
    form = _cut_form(request.POST)
    if not form.is_valid():
        return _page(request, form, found.study, f"Cut lot {found.name}", "Cut and label", None)
    try:
        given = dict(form.cleaned_data)
        given["cutter"] = studies.equipment(given["cutter"]) if given["cutter"] else None
        made = actions.cut(lot=found, by=request.user, at=now(), **given)
    except Refused as refused:
        return _page(request, form, found.study, f"Cut lot {found.name}", "Cut and label", refused)
    messages.success(request, f"{len(made)} specimens of lot {found.name} are labelled.")
    return redirect("lot", label)


@require_POST
@needs("receive samples")
def discard(request: HttpRequest, label: str) -> HttpResponse:
    """The remnants of a lot go."""
    found = studies.lot(label)
    form = DiscardForm(request.POST, prefix="discard")
    heading = f"Discard the remnants of lot {found.name}"
    if not form.is_valid():
        return _page(request, form, found.study, heading, "Discard", None)
    try:
        actions.discard_remnants(lot=found, by=request.user, at=now(), **form.cleaned_data)
    except Refused as refused:
        return _page(request, form, found.study, heading, "Discard", refused)
    messages.success(request, "Recorded.")
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


def _page(request, form, study, heading: str, button: str, refused, words: str = "") -> HttpResponse:
    crumbs = web.study_crumbs(study.code, {"label": heading})
    return web.form_page(request, form, heading, button, crumbs, refused=refused, words=words, study=study)
