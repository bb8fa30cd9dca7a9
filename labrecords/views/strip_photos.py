"""A photograph from the page of a run: sent by its form, or by the device that keeps it until it is answered."""

from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect
from django.views.decorators.http import require_POST

from labrecords import web
from labrecords.actions.refusals import Refused
from labrecords.forms.photos import StripForm
from labrecords.queries import access, studies
from labrecords.web import needs

from . import outbox, photos, runs


@needs("enter a result")
@require_POST
def attach(request: HttpRequest, run_id) -> HttpResponse:
    """Keep a photograph of a strip; to a script as an answer, to a browser as the run's page."""
    if other := outbox.another_person(request):
        return other
    run, form = studies.run(run_id), StripForm(request.POST, request.FILES)
    photo, refused = None, None
    try:
        photo = _taken(request, form) if form.is_valid() else None
    except Refused as answer:
        refused = answer
    answered = _to_script if web.wants_json(request) else _to_browser
    return answered(request, run, form, photo, refused)


def _taken(request: HttpRequest, form: StripForm):
    label = runs.label_of(form.cleaned_data["strip"])
    try:
        specimen = studies.specimen(label)
    except access.NotFound:
        form.add_error("strip", f"No specimen has the label {label}. Scan it, or type its code.")
        return None
    return photos.take(request, specimen, form, key=form.cleaned_data["key"])


def _to_script(_request: HttpRequest, _run, form: StripForm, photo, refused: Refused | None) -> HttpResponse:
    if refused is not None:
        return outbox.refused(refused, status=422)
    return outbox.kept_photograph(photo, photos.said_of(photo)) if photo else outbox.not_understood(form)


def _to_browser(request: HttpRequest, run, form: StripForm, photo, refused: Refused | None) -> HttpResponse:
    if photo is not None:
        messages.success(request, photos.said_of(photo))
        return redirect("run", run.pk)
    heading, crumbs = "Photograph a strip", runs.crumbs(run.study, f"Run {run.number}")
    return web.form_page(request, form, heading, "Attach the photograph", crumbs, refused=refused, words=AGAIN)


AGAIN = "Nothing was attached. What you typed is still here; choose the file again."
