"""Keeps who tried to sign in, and from where."""

from datetime import datetime

from django.db import transaction

from labrecords.models import SignIn
from labrecords.queries import sign_ins


@transaction.atomic(durable=True)
def keep(*, username: str, address: str, succeeded: bool, at: datetime) -> SignIn:
    """One try with name and password, kept for good."""
    return write(username=username, address=address, succeeded=succeeded, way=SignIn.BY_PASSWORD, at=at)


def write(*, username: str, address: str, succeeded: bool, way: str, at: datetime) -> SignIn:
    """One try, within the transaction of whoever looks at it."""
    name = sign_ins.kept_as(username)
    return SignIn.objects.create(username=name, address=address, succeeded=succeeded, way=way, at=at)
