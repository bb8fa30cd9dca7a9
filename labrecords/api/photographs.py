"""Photographs of separated strips by program: sent, listed, and fetched as they are shown or as they came."""

from typing import TYPE_CHECKING

from django.http import HttpResponse
from drf_spectacular.types import OpenApiTypes
from rest_framework.request import Request
from rest_framework.response import Response

from labrecords import web
from labrecords.actions import photos as actions
from labrecords.queries import access, photos, studies
from labrecords.rules.photograph import MOST_BYTES

from .base import ProgramView
from .problems import Problem
from .schema import CODE, described, path_parameter
from .serializers.photographs import PhotographEntrySerializer, PhotographSerializer, PhotographsSerializer

if TYPE_CHECKING:
    from labrecords.models import Specimen

PHOTOGRAPH = path_parameter("photo_id", "Identifier, as the list of a study gives it.")


class PhotographEntry(ProgramView):
    """Where photographs are sent."""

    @described(
        "attach_photograph",
        "Attach a photograph to a specimen's result",
        ok=PhotographSerializer,
        status=201,
        says="Kept. A repeat of the same photograph under the same key gets this same answer, again with 201.",
        errors=(400, 401, 403, 404, 409, 413, 415, 422),
        request={"multipart/form-data": PhotographEntrySerializer},
        description=(
            "The photograph shows how the strip came apart, and is kept to the byte. What people are shown is drawn "
            "again from it, smaller and without the place and time that a camera notes."
        ),
    )
    def post(self, request: Request) -> Response:
        """Keep one photograph, or say why not."""
        access.demand(request.user, "enter a result")
        sent = PhotographEntrySerializer(data=request.data)
        sent.is_valid(raise_exception=True)
        given = dict(sent.validated_data)
        file, specimen = given.pop("file"), _specimen(given.pop("specimen"))
        if file.size > MOST_BYTES:
            raise Problem(413, "too-large", f"Send a photograph of at most {MOST_BYTES / 1e6:.0f} MB.")
        photo = actions.attach(
            specimen=specimen, name=file.name, content=file.read(), by=request.user, at=web.now(), **given
        )
        return Response(PhotographSerializer(photos.row(photo, reader=request.user)).data, status=201)


def _specimen(label: str) -> "Specimen":
    try:
        return studies.specimen(label)
    except access.NotFound:
        raise Problem(422, "specimen-unknown", f"No specimen has the label '{label}'. Check specimen.") from None


class StudyPhotographs(ProgramView):
    """The photographs of a study."""

    @described(
        "list_photographs",
        "Photographs of a study's strips, those set aside too",
        ok=PhotographsSerializer,
        parameters=[CODE],
    )
    def get(self, request: Request, code: str) -> Response:
        """All of them."""
        study = access.study(request.user, code)
        return Response(PhotographsSerializer({"photographs": photos.rows(study, reader=request.user)}).data)


class Picture(ProgramView):
    """A photograph as people are shown it."""

    @described(
        "read_picture",
        "The picture that is shown of a photograph",
        ok=OpenApiTypes.BINARY,
        media_type="image/jpeg",
        parameters=[PHOTOGRAPH],
    )
    def get(self, _request: Request, photo_id) -> HttpResponse:
        """JPEG, upright, at most 1,600 pixels wide or high."""
        return HttpResponse(bytes(photos.one(photo_id).shown), content_type="image/jpeg")


class Original(ProgramView):
    """A photograph as it came."""

    @described(
        "read_original",
        "A photograph as it came, to the byte",
        ok=OpenApiTypes.BINARY,
        media_type="image/*",
        parameters=[PHOTOGRAPH],
        description="Not found while the value is withheld: what the camera noted may tell it.",
    )
    def get(self, request: Request, photo_id) -> HttpResponse:
        """JPEG or PNG, with all that the camera noted."""
        photo = photos.one(photo_id)
        if photos.withheld(photo.result.specimen, reader=request.user):
            raise access.NotFound(str(photo_id))
        return HttpResponse(bytes(photo.content), content_type=photo.media_type)
