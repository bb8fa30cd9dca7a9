"""Photographs of strips: those of a specimen, and one with its bytes."""

from django.db.models import QuerySet

from labrecords.models import Photo, Specimen, User

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


def withheld(specimen: Specimen, *, reader: User) -> bool:
    """Whether what was written of a specimen's photographs is kept from the reader, as its value is."""
    result = specimen.results.prefetch_related("deviations__decision").order_by("-revision").first()
    return result is not None and values.withheld(result, reader=reader)
