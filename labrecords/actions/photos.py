"""Photographs of a separated strip: attached to a result, and set aside when attached in error."""

import uuid
from datetime import datetime

from labrecords.files import photographs
from labrecords.files.documents import safe_name, sha256
from labrecords.models import Photo, PhotoAside, Specimen, Study, User
from labrecords.queries import access, photos
from labrecords.rules.answers import Answer
from labrecords.rules.photograph import Sent, check_sent
from labrecords.rules.study_states import check_act

from . import locks, trail
from .refusals import one_act

ATTACH, SET_ASIDE = "attach a photograph", "set a photograph aside"


def attach(
    *,
    specimen: Specimen,
    name: str,
    content: bytes,
    caption: str = "",
    by: User,
    at: datetime,
    key: uuid.UUID | None = None,
) -> Photo:
    """Keep a photograph of a specimen's strip, to the byte, with its result as it stands.

    The same photograph under the same key again is answered with the first one, and nothing new is kept. Raises
    Refused when the key came with another photograph, when the bytes are no photograph or are kept already, when
    there is no result yet, and when the study is neither in testing nor in review.
    """
    access.demand(by, "enter a result")
    name, digest = safe_name(name), sha256(content)
    picture, problem = _decoded(name, content)  # before the transaction: nobody waits for it
    tried = f"{ATTACH} to {specimen.label}"
    with one_act(ATTACH, by=by, at=at, study=specimen.study, specimen=specimen, tried=tried) as stop:
        before = _before(key)
        if before is not None:
            first = (before.result.specimen_id, before.sha256, before.caption, before.by_id)
            if first != (specimen.pk, digest, caption, by.pk):
                stop([Answer("key-reused", "This key came before with another photograph.")])
            return before
        study = Study.objects.select_for_update().get(pk=specimen.study_id)
        stop(check_act(study.state, ATTACH))
        locks.hold_bytes(digest)
        known, result = photos.same_bytes(digest), specimen.results.order_by("-revision").first()
        kept_with = known.result.specimen.label if known else ""
        stop(check_sent(Sent(name, specimen.label, problem, kept_with, tested=result is not None)))
        kept = Photo.objects.create(
            result=result,
            name=name,
            caption=caption,
            media_type=picture.media_type,
            width=picture.width,
            height=picture.height,
            size=len(content),
            sha256=digest,
            content=content,
            shown=picture.shown,
            by=by,
            at=at,
            key=key,
        )
        after = {"id": kept.pk, "name": name, "caption": caption, "sha256": digest, "size": str(len(content))}
        trail.write("photo.attached", subject=f"specimen {specimen.label}", by=by, at=at, study=study, after=after)
    return kept


def _before(key: uuid.UUID | None) -> Photo | None:
    """What was kept under a key; whoever sends it at the same moment waits."""
    if key is None:
        return None
    locks.hold(key)
    return photos.under(key)


def _decoded(name: str, content: bytes) -> tuple[photographs.Picture | None, str]:
    try:
        return photographs.read(name, content), ""
    except photographs.NotAPhotograph as problem:
        return None, str(problem)


def set_aside(*, photo: Photo, reason: str, by: User, at: datetime) -> PhotoAside:
    """Say that a photograph was attached in error. It stays on record, and its bytes may be attached elsewhere."""
    access.demand(by, "enter a result")
    specimen = photo.result.specimen
    tried = f"{SET_ASIDE} of {specimen.label}"
    with one_act(SET_ASIDE, by=by, at=at, study=specimen.study, specimen=specimen, tried=tried) as stop:
        study = Study.objects.select_for_update().get(pk=specimen.study_id)
        stop(check_act(study.state, SET_ASIDE))
        if not reason.strip():
            stop([Answer("words-missing", "The reason was not written down.")])
        if PhotoAside.objects.filter(photo=photo).exists():
            stop([Answer("state-refused", "This photograph has been set aside.")])
        kept = PhotoAside.objects.create(photo=photo, reason=reason, by=by, at=at)
        after = {"id": kept.pk, "photograph": photo.pk, "sha256": photo.sha256}
        subject = f"specimen {specimen.label}"
        trail.write("photo.set-aside", subject=subject, by=by, at=at, study=study, after=after, why=reason)
    return kept
