"""People as the gate sees them."""

import uuid
from collections import defaultdict
from datetime import date, datetime

from django.db.models import Max, QuerySet

from labrecords.models import ApiToken, Authorisation, MethodVersion, Result, User
from labrecords.rules import facts
from labrecords.rules.authorisation import last_day

from . import lab
from .access import NotFound, may


def authorisations_of(person: User, version: MethodVersion, *, before: datetime) -> tuple[facts.Authorisation, ...]:
    """All authorisations of a person for a method version, withdrawn ones with their day, and when last used."""
    held = Authorisation.objects.filter(person=person, method_version=version).select_related("withdrawal")
    used = last_used(version, before=before, person=person).get(person.pk, {}) if held else {}
    return tuple(as_facts(item, last_used=used.get(item.technique)) for item in held)


def as_facts(item: Authorisation, *, last_used: date | None = None) -> facts.Authorisation:
    """An authorisation as the gate sees it."""
    return facts.Authorisation(
        technique=item.technique,
        from_on=item.from_on,
        until_on=item.until_on,
        withdrawn_from=item.withdrawal.from_on if hasattr(item, "withdrawal") else None,
        last_used=last_used,
    )


def last_used(
    version: MethodVersion, *, before: datetime, person: User | None = None
) -> dict[uuid.UUID, dict[str, date]]:
    """By person and technique, the latest day before a moment on which a result was kept under a method version."""
    if not version.disuse_months:
        return {}
    results = Result.objects.filter(run__study__setup__method_version=version, tested_at__lt=before)
    if person is not None:
        results = results.filter(tested_by=person)
    found = results.order_by().values("tested_by", "technique").annotate(latest=Max("tested_at"))
    zone = lab.zone()
    used: dict[uuid.UUID, dict[str, date]] = defaultdict(dict)
    for row in found:
        used[row["tested_by"]][row["technique"]] = row["latest"].astimezone(zone).date()
    return used


def used_by_version(moment: datetime) -> dict[uuid.UUID, dict[uuid.UUID, dict[str, date]]]:
    """`last_used` of every method version by its identifier."""
    return {version.pk: last_used(version, before=moment) for version in MethodVersion.objects.all()}


def last_day_of(held: Authorisation, used: dict[uuid.UUID, dict[uuid.UUID, dict[str, date]]]) -> date:
    """The last day on which an authorisation holds, with `used` from `used_by_version`."""
    latest = used.get(held.method_version_id, {}).get(held.person_id, {}).get(held.technique)
    return last_day(as_facts(held, last_used=latest), disuse_months=held.method_version.disuse_months)


def anybody() -> bool:
    """Whether there are people yet; a new laboratory has none."""
    return User.objects.exists()


def person(username: str) -> User:
    """A person with roles, authorisations and tokens."""
    found = (
        User.objects.prefetch_related(
            "groups", "authorisations__method_version__method", "authorisations__withdrawal", "tokens"
        )
        .select_related("client")
        .filter(username=username)
        .first()
    )
    if found is None:
        raise NotFound(username)
    return found


def who_may_sign_in(person_id: str) -> User | None:
    """A person with an open account by the identifier in a session; None where there is none."""
    return User.objects.filter(pk=person_id, is_active=True).first()


def with_mail() -> QuerySet[User]:
    """People of the laboratory who have an e-mail address and an open account."""
    return User.objects.filter(is_active=True, client__isnull=True).exclude(email="").order_by("name")


def manager_addresses() -> list[str]:
    """Where the lab managers read their mail."""
    return sorted(person.email for person in with_mail() if may(person, "keep equipment"))


def authorisation(authorisation_id) -> Authorisation:
    """An authorisation by its identifier."""
    found = Authorisation.objects.select_related("person").filter(pk=authorisation_id).first()
    if found is None:
        raise NotFound(str(authorisation_id))
    return found


def token(token_id) -> ApiToken:
    """A token's record by its identifier; the token itself is not kept."""
    found = ApiToken.objects.select_related("person").filter(pk=token_id).first()
    if found is None:
        raise NotFound(str(token_id))
    return found
