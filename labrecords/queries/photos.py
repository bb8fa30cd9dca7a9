"""Photographs of strips: those of a specimen or a study, and one with its bytes."""

import uuid
from dataclasses import dataclass

from django.db.models import F, Func, QuerySet, TextField, Value

from labrecords.models import Photo, Specimen, Study, User

from . import values
from .access import NotFound


def of_specimen(specimen: Specimen) -> QuerySet[Photo]:
    """The photographs of a specimen, those set aside too, in the order in which they came, without their bytes."""
    found = Photo.objects.filter(result__specimen=specimen).select_related("by", "aside__by")
    return found.defer("content", "shown")


def one(photo_id) -> Photo:
    """A photograph with its bytes."""
    found = Photo.objects.select_related("by", "aside__by", "result__specimen__study").filter(pk=photo_id).first()
    if found is None:
        raise NotFound(str(photo_id))
    return found


def same_bytes(digest: str) -> Photo | None:
    """A photograph with these bytes that has not been set aside; None where there is none."""
    found = Photo.objects.filter(sha256=digest, aside__isnull=True).select_related("result__specimen")
    return found.defer("content", "shown").first()


def under(key: uuid.UUID) -> Photo | None:
    """The photograph that was kept under a sender's key."""
    found = Photo.objects.filter(key=key).select_related("result__specimen", "by")
    return found.defer("content", "shown").first()


@dataclass(frozen=True)
class Row:
    """A photograph as a program reads it: whether it stands, and whether what was written of it is withheld."""

    photo: Photo
    standing: bool
    withheld: bool

    def __getattr__(self, name: str):
        return getattr(self.photo, name)


def row(photo: Photo, *, reader: User) -> Row:
    """One photograph as the reader may read it."""
    return Row(photo, standing=not hasattr(photo, "aside"), withheld=withheld(photo.result.specimen, reader=reader))


def rows(study: Study, *, reader: User) -> list[Row]:
    """Every photograph of a study as the reader may read it, in the order in which they came, without their bytes."""
    found = Photo.objects.filter(result__specimen__study=study).select_related("by", "aside", "result__specimen")
    hidden = _withheld_in(study, reader)
    return [
        Row(photo, standing=not hasattr(photo, "aside"), withheld=photo.result.specimen_id in hidden)
        for photo in found.defer("content", "shown")
    ]


def _withheld_in(study: Study, reader: User) -> set[uuid.UUID]:
    waiting = values.latest(study).filter(deviations__in=values.undecided()).distinct()
    found = waiting.prefetch_related("deviations__decision")
    return {result.specimen_id for result in found if values.withheld(result, reader=reader)}


def withheld(specimen: Specimen, *, reader: User) -> bool:
    """Whether what was written of a specimen's photographs is kept from the reader, as its value is."""
    result = specimen.results.prefetch_related("deviations__decision").order_by("-revision").first()
    return result is not None and values.withheld(result, reader=reader)


def standing(study: Study) -> QuerySet[Photo]:
    """A study's photographs that were not set aside, strip by strip in the order in which they came.

    Without their bytes: `shown_sha256`, the hash of the picture that is shown, is made in the database.
    """
    found = Photo.objects.filter(result__specimen__study=study, aside__isnull=True)
    found = found.select_related("by", "result__specimen").annotate(shown_sha256=_hash_of("shown"))
    return found.defer("content", "shown").order_by("result__specimen__label", "at", "pk")


def _hash_of(field: str) -> Func:
    return Func(Func(F(field), function="sha256"), Value("hex"), function="encode", output_field=TextField())


def picture(photo: Photo) -> bytes:
    """The picture that is shown of a photograph, one at a time: a study's would not be held at once."""
    return bytes(Photo.objects.values_list("shown", flat=True).get(pk=photo.pk))
