"""Trace files at the bench: received, their columns confirmed, matched to specimens, then each through the gate."""

from dataclasses import replace
from datetime import datetime

from django.conf import settings
from django.contrib import messages
from django.http import HttpRequest, HttpResponse, JsonResponse
from django.shortcuts import redirect, render
from django.urls import reverse

from labrecords import web
from labrecords.actions import results
from labrecords.actions import traces as actions
from labrecords.actions.refusals import Refused
from labrecords.files import problems, sniff
from labrecords.files.accepting import accept
from labrecords.files.cells import DELIMITERS
from labrecords.files.headings import UNITS
from labrecords.files.kept import Kept
from labrecords.files.layout import Layout, Series
from labrecords.forms.runs import CurveRows, LayoutForm, TraceFilesForm
from labrecords.queries import access, studies, traces, values
from labrecords.rules import wording
from labrecords.stats import units
from labrecords.web import needs, now

SEPARATORS = {words: sign for sign, words in DELIMITERS.items()}


@needs("enter a result")
def receive(request: HttpRequest, run_id) -> HttpResponse:
    """Keep the files as they came, and show those that can be read, and why the others cannot."""
    run = studies.run(run_id)
    is_sent = request.method == "POST"
    form = TraceFilesForm(request.POST, request.FILES) if is_sent else TraceFilesForm()
    told = []
    if is_sent:
        told = [_take(request, run, file) for file in request.FILES.getlist("files")]
        if told and all(row["file"] for row in told):
            messages.success(request, _taken(told))
            if len(told) == 1:
                return redirect("match-traces", run.pk, told[0]["file"].pk)
            return redirect("receive-traces", run.pk)
    context = {
        "run": run,
        "study": run.study,
        "form": form if not told else TraceFilesForm(),
        "told": told,
        "files": list(traces.received_files(run.study)),
        "crumbs": _crumbs(run, "Trace files"),
    }
    return render(request, "bench/files.html", context, status=422 if is_sent else 200)


def _taken(told: list[dict]) -> str:
    new = sum(not row["again"] for row in told)
    said = [f"{new} file{'s are' if new != 1 else ' is'} kept."]
    if new < len(told):
        said.append(f"{len(told) - new} had come before, with the same bytes.")
    return " ".join([*said, "Confirm whose each curve is."])


def _take(request: HttpRequest, run, file) -> dict:
    """One file: kept if its curves can be found; otherwise nothing of it is kept."""
    if file.size > settings.TRACE_FILE_LIMIT_BYTES:
        limit = settings.TRACE_FILE_LIMIT_BYTES // (1024 * 1024)
        problem = f"It has {file.size / 1024 / 1024:.0f} MB; the most is {limit} MB. Export fewer specimens a file."
        return {"name": file.name, "file": None, "problem": problem}
    data = file.read()
    try:
        accept(data, name=file.name, remembered=_remembered(run))
        received = actions.receive_file(study=run.study, name=file.name, content=data, by=request.user, at=now())
    except problems.FileProblem as problem:
        return {"name": file.name, "file": None, "problem": problem.sentence}
    except Refused as refused:
        return {"name": file.name, "file": None, "problem": str(refused)}
    return {"name": file.name, "file": received.file, "problem": "", "again": received.again}


def _remembered(run) -> Layout | None:
    kept = traces.remembered_layout(run.tester)
    return Layout.from_json(kept) if kept else None


@needs("enter a result")
def match(request: HttpRequest, run_id, file_id) -> HttpResponse:
    """The columns as found, the curves with their specimens, and nothing kept before the person says so."""
    run = studies.run(run_id)
    file = traces.received_file(run.study, file_id)
    if file is None:
        raise access.NotFound(str(file_id))
    data = bytes(file.content)
    found = sniff.sniff(data, remembered=_remembered(run))
    layout_form = _layout_form(found, request)
    layout, problem = _layout(found, layout_form)
    segments = []
    if problem is None:
        try:
            segments = Kept(file.sha256, file.name, data).read(layout).segments
        except problems.FileProblem as unreadable:
            problem = unreadable.sentence
    outcomes = None
    rows = _rows(run, segments, file)
    if request.method == "POST" and "keep" in request.POST and problem is None:
        rows = _bound_rows(run, request)
        if rows.is_valid():
            outcomes = _keep_all(request, run, file, layout, segments, rows)
        if web.wants_json(request):
            return _few(outcomes)
        if outcomes is not None:
            rows = _after(run, segments, outcomes, request)
    _ask_only_where_odd(rows, segments, outcomes)
    context = {
        "run": run,
        "study": run.study,
        "file": file,
        "next_file": _next_file(run, file),
        "shown_at": now().isoformat(),
        "found": found,
        "columns": [heading.text or f"column {place + 1}" for place, heading in _headings(found)],
        "layout_form": layout_form,
        "problem": problem,
        "rows": rows,
        "curves": (curves := _curves(run, segments, rows, file, request.user)),
        "figure": _figure(curves),
        "preview": [] if any("withheld" in curve for curve in curves) else found.preview[:5],
        "outcomes": outcomes,
        "crumbs": _crumbs(run, file.name),
    }
    wrong = problem or (rows.is_bound and not rows.is_valid()) or (outcomes and any(o["refusals"] for o in outcomes))
    return render(request, "bench/match.html", context, status=422 if wrong else 200)


def _few(outcomes: list[dict] | None) -> JsonResponse:
    """The answer to a script that has a file's curves kept a few at a time: which are, and which were refused."""
    if outcomes is None:
        return JsonResponse({"outcome": "not-understood"}, status=422)
    kept = [outcome["row"] for outcome in outcomes if outcome["kept"]]
    refused = [outcome["row"] for outcome in outcomes if not outcome["kept"]]
    return JsonResponse({"outcome": "done", "kept": kept, "refused": refused})


def _ask_only_where_odd(rows: CurveRows, segments, outcomes) -> None:
    """The extra press is offered for a curve that was found odd, and for no other."""
    asked = set(wording.checks())
    odd = {outcome["segment"] for outcome in outcomes or [] if asked & set(outcome.get("codes", ()))}
    for segment, form in zip(segments, rows.forms, strict=False):
        if segment.index not in odd and not form["confirmed"].value():
            del form.fields["confirmed"]


def _next_file(run, file):
    """A file of the study with a curve that no result has taken yet."""
    waiting = (other for other in traces.received_files(run.study) if other.pk != file.pk)
    return next((other for other in waiting if not other.traces.all()), None)


def _layout_form(found, request: HttpRequest) -> LayoutForm:
    layout = found.layout
    series = layout.series[0] if layout.series else Series(force=1, displacement=0)
    initial = {
        "delimiter": DELIMITERS[layout.delimiter],
        "decimal": layout.decimal,
        "displacement": "" if series.displacement is None else series.displacement,
        "displacement_unit": layout.displacement_unit,
        "force": series.force,
        "force_unit": layout.force_unit,
        "time": "" if series.time is None else series.time,
        "time_unit": layout.time_unit or "s",
    }
    posted = request.POST if request.method == "POST" and "layout-force" in request.POST else None
    form = LayoutForm(posted, initial=initial, prefix="layout")
    names = [
        (
            str(place),
            f"{place + 1}: {heading.text}" if found.columns and place < len(found.columns) else f"column {place + 1}",
        )
        for place, heading in _headings(found)
    ]
    form.fields["delimiter"].offer([(words, words) for words in SEPARATORS])
    for role in ("displacement", "force", "time"):
        form.fields[f"{role}_unit"].offer([(unit, unit) for unit in UNITS[role]])
    form.fields["force"].offer(names)
    form.fields["displacement"].offer([("", "none, from time and rate"), *names])
    form.fields["displacement"].required = False
    form.fields["time"].offer([("", "none"), *names])
    return form


def _headings(found):
    width = max((len(row) for row in found.preview), default=0)
    empty = type("Heading", (), {"text": ""})
    return [(place, found.columns[place] if place < len(found.columns) else empty) for place in range(width)]


def _layout(found, form: LayoutForm) -> tuple[Layout, str | None]:
    """The layout as the person corrected it, or as found; several series of a file keep their places."""
    if not form.is_bound:
        problem = None if found.layout.series else "Choose the columns of grip travel and force."
        return found.layout, problem
    if not form.is_valid():
        return found.layout, "Choose the columns and their units."
    given = form.cleaned_data
    series = found.layout.series
    if len(series) <= 1:
        series = (
            Series(**{role: int(given[role]) for role in ("force", "displacement", "time") if given[role] != ""}),
        )
    try:
        layout = replace(
            found.layout,
            delimiter=SEPARATORS[given["delimiter"]],
            decimal=given["decimal"],
            series=series,
            force_unit=given["force_unit"],
            displacement_unit=given["displacement_unit"],
            time_unit=given["time_unit"] or None,
        )
    except ValueError as wrong:
        return found.layout, str(wrong)
    return layout, None


def _mode_choices(run) -> list[tuple[str, str]]:
    return [(mode["key"], f"{mode['key']}: {mode['name']}") for mode in run.study.setup.method_version.modes]


def _rows(run, segments, file) -> CurveRows:
    used = {trace.segment for trace in file.traces.all()}
    rows = CurveRows(
        prefix="curves",
        initial=[
            {
                "keep": segment.index not in used,
                "specimen": segment.codes[0].text if segment.codes else "",
                "key": web.new_key(),
            }
            for segment in segments
        ],
    )
    return _with_modes(run, rows)


def _bound_rows(run, request: HttpRequest) -> CurveRows:
    return _with_modes(run, CurveRows(request.POST, prefix="curves"))


def _with_modes(run, rows: CurveRows) -> CurveRows:
    for form in rows.forms:
        if not run.study.setup.width_measured:
            del form.fields["width_mm"]
        form.fields["modes"].choices = _mode_choices(run)
    return rows


def _curves(run, segments, rows: CurveRows, file, reader) -> list[dict]:
    """Each curve with its form, and what was measured, for the person to look at before keeping."""
    setup = run.study.setup
    kept = {trace.segment: trace.result for trace in traces.kept_of(file)}
    return [
        {"form": form, "segment": segment, **_told(kept.get(segment.index), setup, segment, reader)}
        for segment, form in zip(segments, rows.forms, strict=False)
    ]


def _told(result, setup, segment, reader) -> dict:
    """What is said of a curve; nothing of the force to whoever may yet decide on its result."""
    used = {"used": result.specimen.label if result else None}
    if result is not None and values.withheld(result, reader=reader):
        return used | {"wrong": "Not shown: its result waits for a decision.", "withheld": True}
    return used | _measured(setup, segment)


def _measured(setup, segment) -> dict:
    from labrecords.reports.digits import fixed

    try:
        _, reduced = traces.reduced_as_locked(setup, segment)
    except ValueError as problem:
        return {"wrong": str(problem)}
    strength = units.strength(reduced.peak_force_n, float(setup.width_mm), setup.unit)
    return {
        "reduced": reduced,
        "peak_n": fixed(reduced.peak_force_n, 3),
        "strength": fixed(strength, setup.decimals),
        "travel_mm": fixed(reduced.end_mm - reduced.start_mm, 1),
        "points": len(segment.force_n),
    }


def _figure(curves: list[dict]) -> dict | None:
    from labrecords.reports.figures import preview_figure

    readable = [
        (f"Curve {curve['segment'].index}", curve["segment"], curve["reduced"])
        for curve in curves
        if "reduced" in curve
    ]
    drawn = preview_figure(readable)
    return web.figure_context(drawn) if drawn else None


def _keep_all(request, run, file, layout, segments, rows) -> list[dict]:
    """Each curve goes through the gate on its own; the layout is remembered once something was kept."""
    at, shown_at = now(), _shown_at(request)
    outcomes = [
        {"row": form.prefix} | _keep(request, run, file, layout, segment, form.cleaned_data, at, shown_at)
        for segment, form in zip(segments, rows.forms, strict=False)
        if form.cleaned_data.get("keep")
    ]
    if any(outcome["kept"] for outcome in outcomes) and layout.to_json() != traces.remembered_layout(run.tester):
        actions.remember_layout(tester=run.tester, layout=layout.to_json(), by=request.user, at=at)
    return outcomes


def _shown_at(request: HttpRequest) -> datetime:
    """When the page with the curves was drawn: they had been pulled by then. The same for every sending of it."""
    try:
        moment = datetime.fromisoformat(request.POST.get("shown_at", ""))
    except ValueError:
        return now()
    # further out, another zone's day may have no date
    return moment if moment.tzinfo and 1900 <= moment.year <= 2999 else now()


def _keep(request, run, file, layout, segment, given, at, tested_at) -> dict:
    setup = run.study.setup
    reading = results.Reading(
        technique=run.technique,
        rate=run.rate,
        rate_unit=run.rate_unit,
        width_mm=given.get("width_mm") or setup.width_mm,
        tested_at=tested_at,
        modes=tuple(given["modes"]),
        trace=results.TraceChoice(file=file, segment=segment.index, layout=layout.to_json()),
        confirmed=wording.checks() if given["confirmed"] else (),
    )
    told = {
        "segment": segment.index,
        "specimen": given["specimen"],
        "kept": None,
        "refusals": [],
        "marks": [],
        "held": [],
    }
    try:
        kept = results.enter(
            specimen=given["specimen"],
            reading=reading,
            run=run,
            tested_by=run.person,
            entered_by=request.user,
            at=at,
            key=given["key"],
        )
    except Refused as refused:
        return told | {"refusals": web.panels(refused), "codes": refused.codes}
    words = wording.WORDS
    return told | {
        "kept": kept.result,
        "marks": [words[mark].headline for mark in kept.marks],
        "held": [words[code].headline for code in kept.held],
    }


def _after(run, segments, outcomes, request: HttpRequest) -> CurveRows:
    """The rows for another go: what was kept is unticked, what was refused keeps what was typed, under a new key."""
    kept = {outcome["segment"] for outcome in outcomes if outcome["kept"]}
    asked = _bound_rows(run, request)
    asked.is_valid()
    initial = []
    for segment, form in zip(segments, asked.forms, strict=False):
        given = dict(form.cleaned_data) | {"key": web.new_key()}
        initial.append(given | {"keep": given.get("keep") and segment.index not in kept})
    return _with_modes(run, CurveRows(prefix="curves", initial=initial))


def _crumbs(run, label: str) -> list[dict]:
    return [
        {"label": "Bench", "url": reverse("bench")},
        {"label": run.study.code, "url": reverse("study", args=[run.study.code])},
        {"label": f"Run {run.number}", "url": reverse("run", args=[run.pk])},
        {"label": label},
    ]
