"""The run sheet: a group's specimens as on paper, for a look over a run and for catching up after one."""

from dataclasses import dataclass, field
from datetime import datetime

from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.urls import reverse
from django.utils import timezone

from labrecords import web
from labrecords.actions import results
from labrecords.actions.refusals import Refused
from labrecords.forms.runs import SheetForm, SheetRow, SheetRows
from labrecords.queries import bench, studies, validation_plans, values
from labrecords.rules import wording
from labrecords.web import needs, now

from . import second_look

COLUMNS = ("typed", "width_mm", "modes", "opened", "at", "remark")


@dataclass
class Outcome:
    """What came of one row that was sent: kept, or why not."""

    kept: results.Kept | None = None
    problems: list[str] = field(default_factory=list)
    refusals: list[dict] = field(default_factory=list)
    press: str = ""  # what the row says once the extra press was made, where that is all it needs


@needs("open a run")
def sheet(request: HttpRequest, run_id) -> HttpResponse:
    """Show the rows of the plan; keep those in which something stands, each through the gate on its own."""
    run = studies.run(run_id)
    group = _group(run, request.GET.get("group", ""))
    sent = request.POST if request.method == "POST" else None
    head, asked, outcomes = _head(run, sent), [], {}
    if sent is not None:
        asked = _asked(run, group, sent)
        if head.is_valid():
            outcomes = {form["specimen"].value(): _keep(request, run, head, form) for form in asked}
        if outcomes and all(outcome.kept for outcome in outcomes.values()):
            messages.success(request, _all_kept(outcomes))
            return redirect(request.get_full_path())
    formset, rows = _rows(run, group, asked, outcomes, request.user)
    context = {
        "run": run,
        "study": run.study,
        "group": group,
        "groups": bench.groups(run),
        "head": head,
        "formset": formset,
        "rows": rows,
        "columns": [SheetRow.base_fields[name].label for name in _columns(run)],
        "missed": _missed(head, outcomes) if sent is not None else "",
        "modes": run.study.setup.method_version.modes,
        "crumbs": _crumbs(run),
    }
    return render(request, "bench/sheet.html", context, status=200 if sent is None else 422)


def _group(run, number: str):
    return bench.group(run, int(number)) if number.isdecimal() and len(number) < 5 else None


def _columns(run) -> list[str]:
    return [name for name in COLUMNS if name != "width_mm" or run.study.setup.width_measured]


def _places(run, group) -> list[bench.Place]:
    if validation_plans.order(run.study) is not None:
        return bench.places(run, None)
    return bench.of_group(run, group)


def _head(run, sent) -> SheetForm:
    setup = run.study.setup
    head = SheetForm(sent, initial={"unit": setup.unit, "tested_at": now()})
    head.fields["unit"].offer([(unit, unit) for unit in dict.fromkeys((setup.unit, "N"))])
    return head


def _formset(run, data=None, initial=None):
    known = {mode["key"]: mode["name"] for mode in run.study.setup.method_version.modes}
    formset = SheetRows(data, prefix="rows", initial=initial, form_kwargs={"known": known})
    if not run.study.setup.width_measured:
        for form in formset.forms:
            del form.fields["width_mm"]
    return formset


def _asked(run, group, sent) -> list[SheetRow]:
    """The rows sent in which something stands; the plan says which rows there are, whatever is sent."""
    ours = {place.specimen.label for place in _places(run, group)}
    return [form for form in _formset(run, sent).forms if form.filled and form["specimen"].value() in ours]


def _keep(request: HttpRequest, run, head: SheetForm, form: SheetRow) -> Outcome:
    if not form.is_valid():
        told = [f"{form[name].label}: {sentence}" for name, found in form.errors.items() for sentence in found]
        return Outcome(problems=told)
    given = form.cleaned_data
    try:
        kept = results.enter(
            specimen=given["specimen"],
            reading=_reading(run, head.cleaned_data, given),
            run=run,
            tested_by=run.person,
            entered_by=request.user,
            at=now(),
            key=given["key"],
        )
    except Refused as refused:
        kept_words = "The refusal is kept in the record. What you typed is still in the row."
        press = second_look.press(refused, _looked_at(head.cleaned_data, given))
        return Outcome(refusals=web.panels(refused, kept=kept_words), press=press)
    return Outcome(kept=kept)


def _reading(run, head: dict, given: dict) -> results.Reading:
    return results.Reading(
        technique=run.technique,
        rate=run.rate,
        rate_unit=run.rate_unit,
        width_mm=given.get("width_mm") or run.study.setup.width_mm,
        tested_at=_tested_at(run, head["tested_at"], given["at"]),
        modes=given["modes"],
        opened=given["opened"],
        typed=given["typed"],
        unit=head["unit"] if given["typed"] else "",
        remark=given["remark"],
        confirmed=second_look.pressed(given["confirmed"], _looked_at(head, given)),
    )


def _looked_at(head: dict, given: dict) -> str:
    return second_look.looked_at(given["specimen"], given["typed"], head["unit"])


def _tested_at(run, moment: datetime, time) -> datetime:
    """The moment for all rows, at the row's own time; to the minute, so that of the run's opening is within it."""
    if time is not None:
        moment = timezone.localtime(moment).replace(hour=time.hour, minute=time.minute, second=0, microsecond=0)
    return run.opened_at if moment == run.opened_at.replace(second=0, microsecond=0) else moment


def _all_kept(outcomes: dict[str, Outcome]) -> str:
    said = [f"Kept: {len(outcomes)} result{'s' if len(outcomes) != 1 else ''}."]
    for label, outcome in outcomes.items():
        codes = (*outcome.kept.marks, *outcome.kept.held)
        said += [f"{label}: {wording.WORDS[code].headline}." for code in codes]
    return " ".join(said)


def _missed(head: SheetForm, outcomes: dict[str, Outcome]) -> str:
    if head.errors:
        return "Nothing was kept: the unit and the time above the rows come first."
    if not outcomes:
        return "Nothing was kept: nothing stands in any row."
    kept = sum(outcome.kept is not None for outcome in outcomes.values())
    return f"{kept} of {len(outcomes)} rows kept. What stands in the others is still there, with the reason beside it."


def _rows(run, group, asked: list[SheetRow], outcomes: dict[str, Outcome], reader):
    """The rows as they stand now: those that wait, and those that were not kept, with what was typed in them."""
    typed = {form["specimen"].value(): form for form in asked}
    missed = {label for label in typed if not (label in outcomes and outcomes[label].kept)}
    places = _places(run, group)
    to_type = [] if run.closed_at else [p for p in places if p.state == "waiting" or p.specimen.label in missed]
    formset = _formset(run, initial=[_initial(place.specimen.label, typed) for place in to_type])
    forms = {place.specimen.label: form for place, form in zip(to_type, formset.forms, strict=True)}
    standing = bench.results_of([place.specimen for place in places if place.state != "waiting"])
    rows = []
    for place in places:
        label = place.specimen.label
        outcome = outcomes.get(label)
        row = {"place": place, "outcome": outcome, "form": forms.get(label)}
        if row["form"] is not None:
            row["cells"] = _cells(row["form"], label, _columns(run), said=bool(outcome))
        if result := standing.get(place.specimen.pk):
            row |= {"result": result, "withheld": values.withheld(result, reader=reader)}
        rows.append(row)
    return formset, rows


def _initial(label: str, typed: dict[str, SheetRow]) -> dict:
    """A row for another go: what was typed, under a new key, and no press yet."""
    given = {name: typed[label][name].value() for name in typed[label].fields} if label in typed else {}
    return given | {"specimen": label, "key": web.new_key(), "confirmed": ""}


def _cells(form: SheetRow, label: str, columns: list[str], *, said: bool) -> list:
    for name in columns:
        field_of = form.fields[name]
        field_of.widget.attrs["aria-label"] = f"{field_of.label}, {label}"
        if said:
            field_of.widget.attrs["aria-describedby"] = f"said-{label}"
    return [form[name] for name in columns]


def _crumbs(run) -> list[dict]:
    return [
        {"label": "Bench", "url": reverse("bench")},
        {"label": run.study.code, "url": reverse("study", args=[run.study.code])},
        {"label": f"Run {run.number}", "url": reverse("run", args=[run.pk])},
        {"label": "Run sheet"},
    ]
