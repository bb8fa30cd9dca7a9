"""Signatures: the person shows who they are again, and the signature is bound to what was signed."""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime

from django.db import transaction

from labrecords.models import Signature, Study, User
from labrecords.queries import second_factors
from labrecords.rules.answers import Answer
from labrecords.rules.second_factor import Given

from . import trail
from .passwords import password_answers
from .refusals import Stop
from .second_factors import take

NOTHING = Given()


@dataclass(frozen=True)
class Shown:
    """How somebody showed who they are, or what stands against it."""

    how: str
    answers: Sequence[Answer] = ()


@transaction.atomic(durable=True)
def show(*, password: str, given: Given, by: User, at: datetime) -> Shown:
    """Look at the password and, where the person has one, at the second factor, before the act that is signed.

    In a transaction of its own, since a code that was shown is spent, whatever becomes of the act.
    """
    wrong = password_answers(password, by=by)
    if wrong:
        return Shown("", wrong)
    if not second_factors.held(by).any:
        return Shown("password, typed again at signing")
    taken = take(by, given, at=at)
    return Shown(f"password and {taken.what}, given at signing", taken.answers)


def sign(
    *,
    meaning: str,
    content_sha256: str,
    shown: Shown,
    stop: Stop,
    by: User,
    at: datetime,
    study: Study | None = None,
) -> Signature:
    """Keep a signature with name, time and meaning; what was not shown rightly stops the act, and is itself kept."""
    stop(shown.answers)
    signature = Signature.objects.create(
        signer=by,
        signer_name=by.name,
        meaning=meaning,
        content_sha256=content_sha256,
        authenticated_by=shown.how,
        at=at,
    )
    after = {
        "signature": signature.pk,
        "meaning": meaning,
        "content_sha256": content_sha256,
        "authenticated_by": shown.how,
    }
    trail.write("signature.made", subject=f"person {by.username}", by=by, at=at, study=study, after=after)
    return signature
