"""The tray on the bench page: files that came by themselves, and whose each is."""

from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.urls import reverse
from django.views.decorators.http import require_POST

from labrecords import web
from labrecords.actions import tray as actions
from labrecords.actions.refusals import Refused
from labrecords.files.decoding import decode
from labrecords.files.problems import FileProblem
from labrecords.forms.tray import AsideForm, GiveForm
from labrecords.queries import access, studies, tray
from labrecords.web import needs, now

LINES = 8
RUN, STUDY = "run ", "study "


def contents() -> dict:
    """What bench/tray.html shows."""
    return {"tray": list(tray.waiting()), "untouched": tray.untouched()}


@needs("open a run")
def refresh(request: HttpRequest) -> HttpResponse:
    """The tray by itself, for the script that keeps it fresh."""
    return render(request, "bench/tray.html", contents())


@needs("open a run")
def one(request: HttpRequest, waiting_id) -> HttpResponse:
    """A file of the tray: its first lines, why it waits, and what may be done with it."""
    return _page(request, tray.waiting_file(waiting_id), give=_give_form())


def _give_form(data=None) -> GiveForm:
    form = GiveForm(data)
    runs = [(f"{RUN}{run.pk}", f"{run.study.code} run {run.number}, {run.person.name}") for run in studies.open_runs()]
    places = [(f"{STUDY}{study.code}", f"{study.code} {study.title}") for study in tray.studies_in_testing()]
    form.fields["to"].offer([("Open runs", runs), ("Studies in testing", places)] if runs else places)
    return form


@require_POST
@needs("open a run")
def give(request: HttpRequest, waiting_id) -> HttpResponse:
    """A file goes to a run or a study."""
    waiting = tray.waiting_file(waiting_id)
    form = _give_form(request.POST)
    if not form.is_valid():
        return _page(request, waiting, give=form)
    to = form.cleaned_data["to"]
    run = studies.run(to.removeprefix(RUN)) if to.startswith(RUN) else None
    study = run.study if run else access.study(request.user, to.removeprefix(STUDY))
    try:
        file = actions.give(waiting=waiting, study=study, by=request.user, at=now())
    except Refused as refused:
        return _page(request, waiting, give=form, refused=refused)
    messages.success(request, f"{waiting.name} is a trace file of {study.code}. Nothing is kept as a result yet.")
    return redirect("match-traces", run.pk, file.pk) if run else redirect("bench")


@require_POST
@needs("open a run")
def set_aside(request: HttpRequest, waiting_id) -> HttpResponse:
    """A file is nobody's."""
    waiting = tray.waiting_file(waiting_id)
    form = AsideForm(request.POST)
    if not form.is_valid():
        return _page(request, waiting, aside=form)
    try:
        actions.set_aside(waiting=waiting, by=request.user, at=now(), **form.cleaned_data)
    except Refused as refused:
        return _page(request, waiting, aside=form, refused=refused)
    messages.success(request, f"{waiting.name} is set aside.")
    return redirect("bench")


def _page(request: HttpRequest, waiting, *, give=None, aside=None, refused=None) -> HttpResponse:
    wrong = refused or any(form is not None and form.errors for form in (give, aside))
    context = {
        "waiting": waiting,
        "decision": getattr(waiting, "decision", None),
        "lines": "" if hasattr(waiting, "decision") else _first_lines(bytes(waiting.content)),
        "give_form": give or _give_form(),
        "aside_form": aside or AsideForm(),
        "refusals": web.panels(refused) if refused else [],
        "crumbs": [{"label": "Bench", "url": reverse("bench")}, {"label": waiting.name}],
    }
    return render(request, "bench/waiting.html", context, status=422 if wrong else 200)


def _first_lines(content: bytes) -> str:
    try:
        return "\n".join(line[:160] for line in decode(content).lines[:LINES])
    except FileProblem as problem:
        return problem.sentence
