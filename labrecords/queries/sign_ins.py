"""Tries to sign in, as the rule against guessing asks for them."""

import hashlib
from datetime import datetime, timedelta

from django.db.models import QuerySet

from labrecords.models import SignIn, User
from labrecords.rules.guessing import Tries

HOUR = timedelta(hours=1)


def kept_as(username: str) -> str:
    """A name as it is kept: its owner's, or the beginning of a hash where nobody has it."""
    if User.objects.filter(username=username).exists():
        return username
    return f"nobody's, {hashlib.sha256(username.encode()).hexdigest()[:16]}"


def tries(username: str, address: str, now: datetime) -> Tries:
    """What is known of a name and an address before another try."""
    of_name = SignIn.objects.filter(username=kept_as(username))
    pair, here = of_name.filter(address=address), SignIn.objects.filter(address=address, at__gt=now - HOUR)
    pair_count, pair_since = _failures(pair, now)
    name_count, name_since = _failures(of_name, now)
    failed = here.filter(succeeded=False)
    return Tries(
        pair=pair_count,
        pair_since_s=pair_since,
        address=failed.count(),
        address_since_s=_since(failed, now),
        name=name_count,
        name_since_s=name_since,
        known=pair.filter(succeeded=True).exists(),
    )


def _failures(found: QuerySet[SignIn], now: datetime) -> tuple[int, float]:
    """How many failed since the last that went well, and how long ago the last one was."""
    good = found.filter(succeeded=True).order_by("-at", "-pk").values_list("at", flat=True).first()
    failed = found.filter(succeeded=False, at__gt=good) if good else found.filter(succeeded=False)
    return failed.count(), _since(failed, now)


def _since(failed: QuerySet[SignIn], now: datetime) -> float:
    last = failed.order_by("-at", "-pk").values_list("at", flat=True).first()
    return (now - last).total_seconds() if last else 0.0
