"""Second factors of a person, and how many tries at them have failed."""

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import datetime

from django.conf import settings
from django.db.models import QuerySet

from labrecords.models import RecoveryCode, Refusal, SecondFactor, User
from labrecords.rules.guessing import Tries
from labrecords.rules.passkey import Key
from labrecords.rules.second_factor import APP, PASSKEY

from .access import NotFound

AT_SIGN_IN = "sign in"  # tries there are slowed by name and address, with those at the password
GUESSES = ["wrong-code", "used-code", "wrong-passkey"]


@dataclass(frozen=True)
class Held:
    """Which kinds of second factor a person has."""

    app: bool = False
    passkey: bool = False

    @property
    def any(self) -> bool:
        """Whether there is a second factor at all."""
        return self.app or self.passkey


def active(person: User) -> QuerySet[SecondFactor]:
    """A person's second factors that have not ended."""
    return SecondFactor.objects.filter(person=person, ended_at__isnull=True)


def held(person: User) -> Held:
    """Which kinds a person has now."""
    kinds = set(active(person).values_list("kind", flat=True))
    return Held(app=APP in kinds, passkey=PASSKEY in kinds)


def every(person: User) -> list[SecondFactor]:
    """All of a person's second factors, those that ended too, with who ended them."""
    return list(SecondFactor.objects.filter(person=person).select_related("ended_by"))


def one(person: User, factor_id) -> SecondFactor:
    """One that a person has now; another person's is not there."""
    found = active(person).filter(pk=factor_id).first()
    if found is None:
        raise NotFound(str(factor_id))
    return found


def by_id(factor_id) -> SecondFactor:
    """One that somebody has now, for whoever keeps people."""
    found = SecondFactor.objects.select_related("person").filter(pk=factor_id, ended_at__isnull=True).first()
    if found is None:
        raise NotFound(str(factor_id))
    return found


def codes_left(person: User) -> int:
    """How many recovery codes a person may still use."""
    return RecoveryCode.objects.filter(person=person, used_at__isnull=True, ended_at__isnull=True).count()


def keys(factors: Iterable[SecondFactor]) -> list[Key]:
    """Those of some factors that are passkeys, as the ceremonies take them."""
    return [
        Key(bytes(factor.credential_id), bytes(factor.public_key), factor.counter)
        for factor in factors
        if factor.kind == PASSKEY
    ]


def keys_at(person: User, site: str) -> list[Key]:
    """A person's passkeys that are bound to a host name."""
    return keys(active(person).filter(kind=PASSKEY, site=site))


def must_enrol(person: User) -> bool:
    """Whether the person's roles ask for a second factor and there is none."""
    wanted = settings.SECOND_FACTOR_ROLES
    return bool(wanted) and not person.roles.isdisjoint(wanted) and not active(person).exists()


def tries(person: User, now: datetime) -> Tries:
    """Tries of a signed-in person that failed since a second factor last was right."""
    used = [factor.last_used_at or factor.added_at for factor in active(person)]
    since = max(used, default=person.created_at)
    failed = Refusal.objects.filter(by=person, at__gt=since, codes__overlap=GUESSES).exclude(act=AT_SIGN_IN)
    last = failed.values_list("at", flat=True).first()
    ago = (now - last).total_seconds() if last else 0.0
    return Tries(
        pair=failed.count(), pair_since_s=ago, address=0, address_since_s=0.0, name=0, name_since_s=0.0, known=True
    )
