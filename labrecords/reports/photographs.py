"""Photographs of separated strips in a report: what is said of each, and the picture that goes with it."""

from collections import Counter
from collections.abc import Iterator

from labrecords.models import Photo, Study
from labrecords.queries import lab, photos, values

from .days import written_day


def said(study: Study) -> list[dict[str, str]]:
    """What a report says of every photograph that stands; no caption while the value is not shown."""
    hidden = _hidden(study)
    return [_said(name, photo, hidden) for name, photo in named(study)]


def named(study: Study) -> Iterator[tuple[str, Photo]]:
    """The photographs that stand, each with the name of its file: the strip, and which photograph of it."""
    of_strip: Counter[str] = Counter()
    for photo in photos.standing(study):
        label = photo.result.specimen.label
        of_strip[label] += 1
        yield f"photograph-{label}-{of_strip[label]}.jpg", photo


def _said(name: str, photo: Photo, hidden: set) -> dict[str, str]:
    specimen = photo.result.specimen
    return {
        "specimen": specimen.label,
        "name": name,
        "caption": "" if specimen.pk in hidden else photo.caption,
        "attached_on": written_day(photo.at, lab.zone()),
        "attached_by": photo.by.name,
        "sha256": photo.shown_sha256,
    }


def _hidden(study: Study) -> set:
    """The specimens whose values wait for a decision."""
    return set(values.undecided().filter(result__specimen__study=study).values_list("result__specimen", flat=True))
