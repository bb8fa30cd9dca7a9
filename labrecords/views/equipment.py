"""Equipment: what is in order, what is not, and the whole file of each item."""

from django.contrib import messages
from django.core.exceptions import ValidationError
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.urls import reverse
from django.utils.http import content_disposition_header
from django.views.decorators.http import require_POST

from labrecords import web
from labrecords.actions import equipment as actions
from labrecords.actions.refusals import Refused
from labrecords.files.documents import MOST_BYTES, safe_name
from labrecords.forms.equipment import DescriptionForm, DocumentForm, EquipmentForm, EventForm
from labrecords.forms.listing import NUMBER, TIME, Choice, Column, Listing, Nothing
from labrecords.queries import access, equipment, equipment_file, scanners, studies
from labrecords.rules import wording
from labrecords.web import needs, now


@needs("see the laboratory")
def equipment_list(request: HttpRequest) -> HttpResponse:
    """All equipment, what stops work first."""
    found = sorted(equipment.standings(now()), key=lambda row: (not row.stops, row.days_left or 0))
    may_keep = access.may(request.user, "keep equipment")
    context = {
        "listing": _listing(request, [(row, *state(row)) for row in found], may_keep),
        "may_keep": may_keep,
        "crumbs": [{"label": "Equipment"}],
    }
    return render(request, "equipment/list.html", context)


# Rows are an item's standing with the kind of its state and the word for it.
COLUMNS = (
    Column("item", "Item", lambda row: row[0].item.name, lambda row: str(row[0].item)),
    Column("kind", "Kind", lambda row: row[0].item.get_kind_display()),
    Column("state", "State", lambda row: row[2]),
    Column(
        "due",
        "Due",
        lambda row: row[0].calibration.due_on if row[0].calibration else None,
        lambda row: row[0].calibration.due_on if row[0].calibration else "no calibration",
        kind=TIME,
    ),
    Column("capacity", "Capacity, N", lambda row: row[0].item.capacity_n, kind=NUMBER, right=True),
    Column(
        "verified",
        "Verified from, to, N",
        lambda row: _verified(row[0], "low"),
        lambda row: _range(row[0]),
        kind=NUMBER,
    ),
    Column("where", "Where", lambda row: row[0].item.location),
)
CHOICES = (
    Choice("kind", "Kind", lambda row: row[0].item.get_kind_display()),
    Choice("state", "State", lambda row: row[1], {"stop": "stops work", "due": "due soon", "ok": "in order"}),
)


def _verified(row, end: str):
    return getattr(row.calibration, f"verified_{end}_n", None)


def _range(row) -> str:
    low, high = _verified(row, "low"), _verified(row, "high")
    return "not stated" if low is None else f"{low:g} to {high:g}"


def _listing(request: HttpRequest, rows, may_keep: bool) -> Listing:
    nothing = Nothing("No equipment is registered. A manager registers the tester and its load cells first.")
    if may_keep:
        nothing = Nothing(
            "No equipment is registered. Begin with the tester and its load cells: a run needs one of each.",
            reverse("register-equipment"),
            "Register the first item",
        )
    return Listing(
        rows,
        COLUMNS,
        request.GET,
        ("item", "items"),
        order="what stops work first",
        nothing=nothing,
        choices=CHOICES,
    )


def state(row) -> tuple[str, str]:
    """The kind of state and the word for an item's standing."""
    if row.stops:
        return "stop", wording.WORDS[row.stops[0].code].headline.capitalize()
    if row.days_left is not None and row.days_left <= 14:
        return "due", f"Due in {row.days_left} days"
    return "ok", "In calibration" if row.calibration else "In service"


@needs("see the laboratory")
def item(request: HttpRequest, label: str) -> HttpResponse:
    """One item: its file, calibrations with drift, documents, and what happened to it."""
    from labrecords.reports.equipment_figures import drift_figure

    found = studies.equipment(label)
    calibrations = list(studies.calibrations(found))
    figure = drift_figure(calibrations)
    context = {
        "item": found,
        "is_cell": found.kind == "cell",
        "facts": equipment_file.described(found),
        "status": equipment.status_at(found, now()),
        "calibrations": calibrations,
        "counting": {made.pk for made in equipment.counting().filter(equipment=found)},
        "figure": web.figure_context(figure) if figure else None,
        "is_tester": found.kind == "tester",
        "scanner_checks": scanners.checks_of(found) if found.kind == "tester" else [],
        "may_test": access.may(request.user, "open a run"),
        "documents": list(found.documents.select_related("by").defer("content")),
        "events": list(found.events.select_related("by")),
        "may_keep": access.may(request.user, "keep equipment"),
        "may_review": access.may(request.user, "review a calibration"),
        "event_form": EventForm(initial={"happened_at": now()}),
        "document_form": DocumentForm(auto_id="document_%s"),
        "crumbs": [{"label": "Equipment", "url": reverse("equipment")}, {"label": found.name}],
    }
    return render(request, "equipment/item.html", context)


@needs("keep equipment")
def register(request: HttpRequest) -> HttpResponse:
    """An item of any kind."""
    form = EquipmentForm(request.POST or None)
    if request.method == "POST" and form.is_valid():
        given = dict(form.cleaned_data)
        numbers = {name: as_float(given.pop(name)) for name in ("capacity_n", "resolution_n", "nominal_n")}
        try:
            made = actions.register(by=request.user, at=now(), **given, **numbers)
        except ValidationError as error:
            web.put_on_form(form, error)
        else:
            messages.success(request, f"{made.name} is registered as {made.label}. Its label goes on the item.")
            return redirect("equipment-item", made.label)
    return page(request, form, "Register equipment", "Register", [])


def as_float(value) -> float | None:
    """A typed number as the record keeps it."""
    return None if value is None else float(value)


@needs("keep equipment")
def describe(request: HttpRequest, label: str) -> HttpResponse:
    """Say anew where an item stands and how it is kept."""
    found = studies.equipment(label)
    now_reads = {name: getattr(found, name) for name in (*actions.CHANGEABLE, "edition")}
    form = DescriptionForm(request.POST or None, initial=now_reads)
    refused = None
    if request.method == "POST" and form.is_valid():
        try:
            actions.describe(equipment=found, by=request.user, at=now(), **form.cleaned_data)
        except Refused as answer:
            refused = answer
            form.data = form.data.copy()
            form.data["edition"] = found.edition  # what is sent next has seen what the panel says
        except ValidationError as error:
            web.put_on_form(form, error)
        else:
            messages.success(request, f"{found.name} is described anew.")
            return redirect("equipment-item", label)
    return page(request, form, f"Describe {found.name} anew", "Record", crumb(found), refused)


@require_POST
@needs("keep equipment")
def keep_document(request: HttpRequest, label: str) -> HttpResponse:
    """A manual, drawing or certificate."""
    found = studies.equipment(label)
    form = DocumentForm(request.POST, request.FILES, auto_id="document_%s")
    refused = None
    if form.is_valid():
        file = form.cleaned_data["file"]
        if file.size > MOST_BYTES:
            form.add_error("file", f"It has {file.size / 1e6:.0f} MB; the most is {MOST_BYTES / 1e6:.0f} MB.")
        else:
            try:
                actions.keep_document(
                    equipment=found,
                    title=form.cleaned_data["title"],
                    name=file.name,
                    content=file.read(),
                    by=request.user,
                    at=now(),
                )
            except Refused as answer:
                refused = answer
            else:
                messages.success(request, f"{file.name} is kept with {found.name}.")
                return redirect("equipment-item", label)
    return page(request, form, f"A document of {found.name}", "Keep", crumb(found), refused)


@needs("see the laboratory")
def document(request: HttpRequest, document_id) -> HttpResponse:  # noqa: ARG001 - a view is given it
    """A document as it came, to be saved."""
    found = equipment_file.document(document_id)
    response = HttpResponse(bytes(found.content), content_type=found.media_type)
    response["Content-Disposition"] = content_disposition_header(True, safe_name(found.name))
    return response


@require_POST
@needs("keep equipment")
def event(request: HttpRequest, label: str) -> HttpResponse:
    """What happened to an item: out of service, back, checked, repaired."""
    found = studies.equipment(label)
    form = EventForm(request.POST)
    refused = None
    if form.is_valid():
        try:
            kept = actions.happened(equipment=found, by=request.user, at=now(), **form.cleaned_data)
        except Refused as answer:
            refused = answer
        else:
            messages.success(request, f"{found.name}: {kept.kind}, recorded.")
            return redirect("equipment-item", label)
    return page(request, form, f"What happened to {found.name}", "Record", crumb(found), refused)


def crumb(found) -> list[dict]:
    """The way from the list to an item."""
    return [{"label": found.name, "url": reverse("equipment-item", args=[found.label])}]


def page(request, form, heading: str, button: str, crumbs: list[dict], refused=None) -> HttpResponse:
    """A page with one form about equipment."""
    way = [{"label": "Equipment", "url": reverse("equipment")}, *crumbs, {"label": heading}]
    return web.form_page(request, form, heading, button, way, refused=refused)
