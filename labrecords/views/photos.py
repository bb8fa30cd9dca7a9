"""Photographs of strips: attached, shown without what the camera noted, saved as they came, and set aside."""

from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.urls import reverse
from django.utils.http import content_disposition_header

from labrecords import web
from labrecords.actions import photos as actions
from labrecords.actions.refusals import Refused
from labrecords.files.documents import safe_name
from labrecords.forms.photos import AsideForm, PhotoForm
from labrecords.queries import access, photos, studies
from labrecords.rules import study_states
from labrecords.rules.photograph import MOST_BYTES
from labrecords.web import needs, now


@needs("enter a result")
def attach(request: HttpRequest, label: str) -> HttpResponse:
    """Take or choose a photograph, below those that are kept already."""
    specimen = studies.specimen(label)
    sent = request.method == "POST"
    form = PhotoForm(request.POST, request.FILES) if sent else PhotoForm()
    refused = None
    if sent and form.is_valid():
        try:
            photo = take(request, specimen, form)
        except Refused as answer:
            refused = answer
        else:
            if photo is not None:
                messages.success(request, said_of(photo))
                return redirect("attach-photo", label)
    context = {
        "specimen": specimen,
        "form": form,
        "photos": section(request, specimen),
        "refusals": web.panels(refused, kept=KEPT) if refused else [],
        "crumbs": web.study_crumbs(specimen.study.code, _crumb(specimen), {"label": "Photographs"}),
    }
    return render(request, "studies/attach_photo.html", context, status=422 if refused or form.errors else 200)


KEPT = "The refusal is kept in the record. The caption is still on this page; choose the file again."


def take(request: HttpRequest, specimen, form: PhotoForm, **more):
    """Keep the photograph of a form that was understood; None, with the reason on the form, where it is too large."""
    file = form.cleaned_data["file"]
    if file.size > MOST_BYTES:  # beside the field, before it is read
        field = "taken" if form.cleaned_data["taken"] else "chosen"
        form.add_error(field, f"It has {file.size / 1e6:.0f} MB; the most is {MOST_BYTES / 1e6:.0f} MB.")
        return None
    given = {"name": file.name, "content": file.read(), "caption": form.cleaned_data["caption"]}
    return actions.attach(specimen=specimen, by=request.user, at=now(), **given, **more)


def said_of(photo) -> str:
    """That a photograph is kept, and with what."""
    return f"The photograph is kept with {photo.result.specimen.label}."


def section(request: HttpRequest, specimen) -> dict:
    """The photographs of a specimen as studies/photos.html shows them."""
    kept = list(photos.of_specimen(specimen))
    may = access.may(request.user, "enter a result") and specimen.results.exists()
    return {
        "standing": [photo for photo in kept if not hasattr(photo, "aside")],
        "aside": [photo for photo in kept if hasattr(photo, "aside")],
        "withheld": photos.withheld(specimen, reader=request.user),
        "may_attach": may and not study_states.check_act(specimen.study.state, "attach a photograph"),
    }


@needs("see the laboratory")
def shown(request: HttpRequest, photo_id) -> HttpResponse:  # noqa: ARG001 - a view is given it
    """The picture made of a photograph: small, upright, and without place or time."""
    return HttpResponse(bytes(photos.one(photo_id).shown), content_type="image/jpeg")


@needs("see the laboratory")
def original(request: HttpRequest, photo_id) -> HttpResponse:
    """A photograph as it came, to be saved. Its name and what the camera noted may tell a value that is withheld."""
    photo = photos.one(photo_id)
    if photos.withheld(photo.result.specimen, reader=request.user):
        raise access.NotFound(str(photo_id))
    response = HttpResponse(bytes(photo.content), content_type=photo.media_type)
    response["Content-Disposition"] = content_disposition_header(True, safe_name(photo.name))
    return response


@needs("enter a result")
def set_aside(request: HttpRequest, photo_id) -> HttpResponse:
    """Say why a photograph was attached in error."""
    photo = photos.one(photo_id)
    specimen = photo.result.specimen
    form = AsideForm(request.POST or None)
    refused = None
    if request.method == "POST" and form.is_valid():
        try:
            actions.set_aside(photo=photo, by=request.user, at=now(), **form.cleaned_data)
        except Refused as answer:
            refused = answer
        else:
            messages.success(request, f"The photograph of {specimen.label} is set aside. It stays on record.")
            return redirect("specimen", specimen.label)
    heading, words = "Set a photograph aside", f"Of {specimen.label}: it stays on record, with the reason."
    crumbs = web.study_crumbs(specimen.study.code, _crumb(specimen), {"label": heading})
    return web.form_page(request, form, heading, "Set it aside", crumbs, refused=refused, words=words)


def _crumb(specimen) -> dict:
    return {"label": specimen.label, "url": reverse("specimen", args=[specimen.label])}
