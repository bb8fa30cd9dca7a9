"""The page that opens a run: everything that has to be in order is asked before the first specimen."""

from urllib.parse import urlencode

from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.urls import reverse

from labrecords import web
from labrecords.actions import runs as actions
from labrecords.actions.refusals import Refused
from labrecords.forms.runs import RunForm
from labrecords.queries import access, bench, equipment, setups, studies
from labrecords.rules import wording
from labrecords.web import needs, now

from . import runs, ways_on

ITEMS = ("tester", "cell", "room_sensor", "width_gauge")


@needs("open a run")
def open_run(request: HttpRequest, code: str) -> HttpResponse:
    """Ask everything before the first specimen: calibration, authorisation, load cell, room."""
    study = access.study(request.user, code)
    form = RunForm(request.POST or None)
    if not access.may(request.user, "accept a load cell"):
        del form.fields["accept_cell"]
    standings, before = equipment.standings(now()), _run_before(request, study)
    own = before is not None and before.person_id == request.user.pk
    _offer(form, study, standings, before)
    refused = None
    if request.method == "POST" and form.is_valid():
        try:
            run = _open(request, study, form.cleaned_data)
        except Refused as answer:
            refused = answer
        else:
            return redirect(_same_specimen(request, run, before if own else None))
    context = {
        "form": form,
        "study": study,
        "before": before,
        "own": own,
        "setup": setups.described(study.setup),
        "standings": [row for row in standings if row.stops],
        "refusals": web.panels(refused, ways=ways_on.from_opening(form, ITEMS)) if refused else [],
        "crumbs": runs.crumbs(study, "Open a run"),
    }
    return render(request, "bench/open.html", context, status=422 if refused or form.errors else 200)


def _offer(form: RunForm, study, standings, before) -> None:
    """What may be chosen, and what is chosen already: the one room sensor, or all that the run before had."""
    for kind, field in (("tester", "tester"), ("cell", "cell"), ("sensor", "room_sensor"), ("gauge", "width_gauge")):
        form.fields[field].offer(_choices(standings, kind))
    _first_sensor(form)
    if before:
        form.initial |= _used(before, usable={row.item.pk for row in standings if not row.stops})
    if not study.setup.width_measured:
        del form.fields["width_gauge"]


def _used(before, *, usable: set) -> dict[str, str]:
    """What the run before had, as far as it may be used today: what stopped that run is chosen anew."""
    items = {name: getattr(before, name) for name in ITEMS}
    return {name: item.label for name, item in items.items() if item is not None and item.pk in usable}


def _run_before(request: HttpRequest, study):
    """The run of this study from which somebody goes on, another's or their own; the room is read anew."""
    return bench.run_of(study, request.GET.get("from", ""))


def _same_specimen(request: HttpRequest, run, before) -> str:
    """The page of a run that was just opened, with the specimen in hand, and what was typed for it `before`."""
    label, where = runs.label_of(request.GET.get("specimen", "")[:200]), reverse("run", args=[run.pk])
    asked = {"specimen": label} | ({"from": before.pk} if before else {})
    return f"{where}?{urlencode(asked)}" if label else where


def _first_sensor(form: RunForm) -> None:
    """Where there are room sensors, the room was read from one of them; the first is offered."""
    sensors = [label for label, _ in form.fields["room_sensor"].choices if label]
    form.fields["room_sensor"].required = bool(sensors)
    form.fields["room_sensor"].initial = sensors[0] if sensors else ""


def _choices(standings, kind: str) -> list[tuple[str, str]]:
    return [
        (row.item.label, f"{row.item.name} ({row.item.label}){_capacity(row.item)}{_caution(row)}")
        for row in standings
        if row.item.kind == kind
    ]


def _capacity(item) -> str:
    return "" if item.capacity_n is None else f", {item.capacity_n:g} N"


def _caution(row) -> str:
    return f": {wording.WORDS[row.stops[0].code].headline}" if row.stops else ""


def _open(request: HttpRequest, study, given: dict):
    why = given.get("accept_cell", "").strip()
    return actions.open_run(
        study=study,
        tester=studies.equipment(given["tester"]),
        cell=studies.equipment(given["cell"]),
        person=request.user,
        room_sensor=_chosen(given, "room_sensor"),
        width_gauge=_chosen(given, "width_gauge"),
        room_c=float(given["room_c"]),
        room_humidity_percent=float(given["room_humidity_percent"]),
        cell_accepted_by=request.user if why else None,
        cell_accepted_why=why,
        by=request.user,
        at=now(),
    )


def _chosen(given: dict, name: str):
    return studies.equipment(given[name]) if given.get(name) else None
