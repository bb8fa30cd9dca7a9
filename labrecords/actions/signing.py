"""Signatures: the person shows who they are again, and the signature is bound to what was signed."""

from datetime import datetime

from django.contrib.auth.hashers import check_password

from labrecords.models import Signature, Study, User
from labrecords.rules.answers import Answer

from . import trail
from .refusals import Stop


def sign(
    *,
    meaning: str,
    content_sha256: str,
    password: str,
    stop: Stop,
    by: User,
    at: datetime,
    study: Study | None = None,
) -> Signature:
    """Keep a signature with name, time and meaning; a wrong password stops the act, and is itself kept."""
    demand_password(password, by=by, stop=stop)
    signature = Signature.objects.create(
        signer=by,
        signer_name=by.name,
        meaning=meaning,
        content_sha256=content_sha256,
        authenticated_by="password, typed again at signing",
        at=at,
    )
    after = {"signature": signature.pk, "meaning": meaning, "content_sha256": content_sha256}
    trail.write("signature.made", subject=f"person {by.username}", by=by, at=at, study=study, after=after)
    return signature


def demand_password(password: str, *, by: User, stop: Stop) -> None:
    """Stop the act unless the password is this person's; asked early where much work lies before the signature."""
    if not check_password(password, by.password):
        stop([Answer("wrong-password", "The password typed is not the one of this account.")])
