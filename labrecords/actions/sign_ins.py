"""Keeps who tried to sign in, and from where."""

from datetime import datetime

from django.db import transaction

from labrecords.models import SignIn
from labrecords.queries import sign_ins


@transaction.atomic(durable=True)
def keep(*, username: str, address: str, succeeded: bool, at: datetime) -> SignIn:
    """One try, kept for good."""
    name = sign_ins.kept_as(username)
    return SignIn.objects.create(username=name, address=address, succeeded=succeeded, at=at)
