"""The bench: what is open there, results entered one at a time, a run closed."""

from collections.abc import Mapping

from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.urls import reverse
from django.views.decorators.http import require_POST

from labrecords import web
from labrecords.actions import results
from labrecords.actions import runs as actions
from labrecords.actions.refusals import Refused
from labrecords.forms.photos import StripForm
from labrecords.forms.runs import ResultForm, TraceFilesForm
from labrecords.queries import bench as stands
from labrecords.queries import conditioning, derived, setups, studies, validation_plans, values
from labrecords.rules import labels, wording
from labrecords.rules.photograph import MOST_BYTES
from labrecords.web import needs, now

from . import outbox, scans, second_look, tray, waiting_traces, ways_on

DRAWINGS = {
    "AP": "modes/adhesive-peel.svg",
    "CO": "modes/cohesive-peel.svg",
    "DE": "modes/delamination.svg",
    "BS": "modes/break-at-the-seal.svg",
    "BR": "modes/break-elsewhere.svg",
}


@needs("open a run")
def bench(request: HttpRequest) -> HttpResponse:
    """Open runs, and studies in which one may be opened."""
    context = {
        "runs": list(studies.open_runs()),
        "studies": list(studies.at_the_bench()),
        **tray.contents(),
        "crumbs": [{"label": "Bench"}],
    }
    return render(request, "bench/bench.html", context)


@needs("open a run")
def run(request: HttpRequest, run_id) -> HttpResponse:
    """One specimen at a time: its label, its force, how it came apart."""
    found = studies.run(run_id)
    if request.method == "POST":
        return _enter(request, found)
    text = request.GET.get("specimen", "")[:200]
    before = stands.run_of(found.study, request.GET.get("from", ""))
    if not text:
        return _run_page(request, found, _form(found))
    told = scans.meaning(found, text, reader=request.user)
    first = {"specimen": told.specimen.label} if told.waits else {}
    return _run_page(request, found, _form(found, **first), told=told, before=before)


def _form(run, data=None, **first) -> ResultForm:
    setup = run.study.setup
    waiting = _next(run) if data is None else None
    initial = {
        "specimen": waiting.label if waiting else "",
        "unit": setup.unit,
        "technique": run.technique,
        "rate": setups.plain(run.rate),
        "rate_unit": run.rate_unit,
        "width_mm": setups.plain(setup.width_mm),
        "tested_at": now(),
        "key": web.new_key(),
    } | first
    form = ResultForm(data, initial=initial)
    form.fields["unit"].offer([(unit, unit) for unit in dict.fromkeys((setup.unit, "N"))])
    form.fields["modes"].choices = [
        (mode["key"], f"{mode['key']}: {mode['name']}") for mode in setup.method_version.modes
    ]
    return form


def _waiting(run) -> list:
    """The strips that wait: by their labels, or, in a validation study, the person's own in the drawn order."""
    drawn = validation_plans.next_for(run)
    return list(studies.waiting_specimens(run.study)) if drawn is None else drawn


def _next(run):
    """The strip that comes next, if any waits."""
    drawn = validation_plans.next_for(run)
    return studies.waiting_specimens(run.study).first() if drawn is None else next(iter(drawn), None)


def _enter(request: HttpRequest, run) -> HttpResponse:
    if other := outbox.another_person(request):
        return other
    form, by_script = _form(run, request.POST), web.wants_json(request)
    trace = _trace_of(run, form) if form.is_valid() else None
    if form.errors:
        return outbox.not_understood(form) if by_script else _run_page(request, run, form, status=422)
    try:
        kept = results.enter(
            specimen=form.cleaned_data["specimen"],
            reading=_reading(form.cleaned_data, run, trace),
            run=run,
            tested_by=run.person,
            entered_by=request.user,
            at=now(),
            key=form.cleaned_data["key"],
        )
    except Refused as refused:
        if by_script:
            press = second_look.press(refused, _looked_at(request.POST))
            return outbox.refused(refused, status=_status(refused), confirm=press, ways=_ways(run, form))
        return _run_page(request, run, _again(run, request, refused), refused=refused, status=_status(refused))
    if by_script:
        return outbox.kept(kept.result, _acknowledged(kept), _next(run))
    messages.success(request, _acknowledged(kept))
    return redirect("run", run.pk)


def _ways(run, form: ResultForm):
    return ways_on.from_entry(run, label_of(form["specimen"].value() or ""))


def _trace_of(run, form: ResultForm):
    """The trace that was shown beside the entry, if it is this specimen's and still waits."""
    given = form.cleaned_data
    if not given["trace"] or given["opened"]:
        return None
    found = waiting_traces.of(run, label_of(given["specimen"]))
    if found is not None and found.name == given["trace"]:
        return found.choice
    if stands.came_before(given["key"]):  # it has been kept or refused, and is given that answer again
        return waiting_traces.named(run, given["trace"])
    form.add_error("specimen", f"The trace on the page is not one that waits for {given['specimen']}.")
    return None


def label_of(text: str) -> str:
    """A label as it is written, however it was typed; anything else as it is."""
    label = labels.read(text)
    return label.text if label else text


def _reading(given: dict, run, trace=None) -> results.Reading:
    return results.Reading(
        trace=trace,
        technique=given["technique"],
        rate=given["rate"],
        rate_unit=given["rate_unit"],
        width_mm=given["width_mm"],
        tested_at=_tested_at(given["tested_at"], run),
        modes=tuple(given["modes"]),
        opened=given["opened"],
        typed=given["typed"],
        unit=given["unit"] if given["typed"] else "",
        remark=given["remark"],
        confirmed=second_look.pressed(given["confirmed"], _looked_at(given)),
        clock=_clock(given),
    )


def _clock(given: dict) -> results.DeviceClock | None:
    pulled_at = given["pulled_at"]
    return results.DeviceClock(pulled_at, given["clock_offset_ms"]) if pulled_at else None


def _looked_at(given: Mapping) -> str:
    return second_look.looked_at(given.get("specimen", ""), given.get("typed", ""), given.get("unit", ""))


def _tested_at(minute, run):
    """A page tells time to the minute: a strip pulled in the minute in which the run was opened was pulled in it."""
    return run.opened_at if minute == run.opened_at.replace(second=0, microsecond=0) else minute


def _again(run, request: HttpRequest, refused: Refused) -> ResultForm:
    """The form as typed, with a new key: what is sent next is another entry."""
    data = request.POST.copy()
    data["key"] = str(web.new_key())
    data["confirmed"] = second_look.press(refused, _looked_at(data))
    return _form(run, data)


AUTHORITY = {"not-authorised", "not-this-person", "not-allowed", "same-person"}


def _status(refused: Refused) -> int:
    return 403 if AUTHORITY & set(refused.codes) else 422


def _acknowledged(kept: results.Kept) -> str:
    result = kept.result
    value = f"{result.recorded} {result.recorded_unit}".strip() or "opened before the test"
    said = [f"Kept: {value} for {result.specimen.label}."]
    said += [f"Marked: {wording.WORDS[mark].headline}." for mark in kept.marks]
    said += [f"Held: {wording.WORDS[code].headline}; somebody else decides." for code in kept.held]
    return " ".join(said)


def _run_page(
    request: HttpRequest, run, form: ResultForm, *, refused=None, told=None, before=None, status: int = 200
) -> HttpResponse:
    """`before`: the run from which somebody comes with a specimen in hand, and with what was typed for it there."""
    trouble = bool(refused or form.errors)
    found = [(result, values.withheld(result, reader=request.user)) for result in studies.run_results(run)]
    context = {
        "run": run,
        "study": run.study,
        "form": form,
        "results": found,
        "photo_form": _photo_form(found),
        "most_bytes": MOST_BYTES,
        "waiting": _waiting(run),
        "unknown_limits": derived.unknown_of(run.study),
        "drawn": validation_plans.order(run.study),
        "mine": run.person_id == request.user.pk,
        "files_form": TraceFilesForm(),
        "refusals": web.panels(refused, ways=_ways(run, form)) if refused else [],
        "trouble": trouble,
        "before": before,
        "conditioning": [] if run.closed_at else conditioning.of_study(run.study, now()),
        "told": told if told and not told.waits else None,
        "modes": run.study.setup.method_version.modes,
        "keys": _mode_keys(form, run.study.setup.method_version.modes),
        "crumbs": crumbs(run.study, f"Run {run.number}"),
    } | ({} if run.closed_at else _in_hand(run, form, trouble=trouble))
    page = render(request, "bench/run.html", context, status=status)
    page["X-Person"] = str(request.user.pk)  # a page kept on the device is never another person's
    return page


def _photo_form(found: list) -> StripForm:
    """The form of a photograph, of the strip that was pulled last."""
    last = {"strip": found[0][0].specimen.label} if found else {}
    return StripForm(initial={"key": web.new_key()} | last)


def _in_hand(run, form: ResultForm, *, trouble: bool) -> dict:
    """The specimen whose turn it is, its trace if one waits, and the strip in which it stands."""
    label = label_of(form["specimen"].value() or "")
    specimen = stands.find(label)
    if specimen is not None and specimen.study_id != run.study_id:
        specimen = None
    trace = waiting_traces.of(run, label) if specimen else None
    if not form.is_bound:
        form.initial["trace"] = trace.name if trace else ""
    if trace is not None:
        form.fields["typed"].need = "optional: the trace gives it"
    elif not trouble:
        form.fields["typed"].widget.attrs["autofocus"] = True  # after Keep, the next thing to do
    places = stands.places(run, specimen)
    return {
        "specimen": specimen,
        "trace": trace,
        "places": places,
        "place": next((place for place in places if place.specimen == specimen), None),
        "counts": {state: sum(place.state == state for place in places) for state in ("kept", "void", "waiting")},
        "groups": [group for group in stands.groups(run) if specimen is None or group.pk != specimen.group_id],
    }


def _mode_keys(form: ResultForm, modes: list[dict]) -> list[dict]:
    chosen = form["modes"].value() or []
    return [
        mode | {"number": number, "drawing": DRAWINGS.get(mode["key"]), "chosen": mode["key"] in chosen}
        for number, mode in enumerate(modes, start=1)
    ]


@require_POST
@needs("open a run")
def close(request: HttpRequest, run_id) -> HttpResponse:
    """Close a run."""
    found = studies.run(run_id)
    try:
        actions.close_run(run=found, by=request.user, at=now())
    except Refused as refused:
        return _run_page(request, found, _form(found), refused=refused, status=409)
    messages.success(request, f"Run {found.number} is closed.")
    return redirect("study", found.study.code)


def crumbs(study, label: str) -> list[dict]:
    """The way from the bench to a page of a study there."""
    return [
        {"label": "Bench", "url": reverse("bench")},
        {"label": study.code, "url": reverse("study", args=[study.code])},
        {"label": label},
    ]
