"""People and their roles, authorisations and tokens."""

import hashlib
import secrets
from collections.abc import Iterable
from datetime import date, datetime

from django.contrib.auth.models import Group
from django.db import transaction

from labrecords.models import ApiToken, Authorisation, Client, MethodVersion, Study, User, Withdrawal
from labrecords.queries import access
from labrecords.rules import authority

from . import trail


def set_roles(person: User, roles: Iterable[str]) -> None:
    """Give a person exactly these roles."""
    groups = [Group.objects.get_or_create(name=role)[0] for role in sorted(roles)]
    person.groups.set(groups)


def add_first_manager(*, username: str, name: str, password: str, at: datetime) -> User:
    """The first person of a new laboratory, who adds all others."""
    if User.objects.exists():
        raise ValueError("There are people already; a manager adds further ones.")
    return _add(username, name, password, {authority.MANAGER}, at, client=None, email="", by=None)


def add_person(
    *,
    username: str,
    name: str,
    password: str | None,
    roles: Iterable[str],
    by: User,
    at: datetime,
    client: Client | None = None,
    email: str = "",
) -> User:
    """A person, with roles; a contact of a client belongs to that client."""
    access.demand(by, "keep people")
    unknown = set(roles) - set(authority.ROLES)
    if unknown:
        raise ValueError(f"roles must be among {', '.join(authority.ROLES)}, came as {', '.join(unknown)}")
    if (client is not None) != (authority.CLIENT in set(roles)):
        raise ValueError("A person with the role client belongs to a client, and nobody else does.")
    return _add(username, name, password, roles, at, client=client, email=email, by=by)


@transaction.atomic(durable=True)
def _add(username, name, password, roles, at, *, client, email, by):
    person = User.objects.create_person(
        username, name=name, password=password, client=client, email=email, created_at=at
    )
    set_roles(person, roles)
    after = {
        "user": username,
        "name": name,
        "roles": sorted(roles),
        "client": client.code if client else None,
    }
    trail.write("person.added", subject=f"person {username}", by=by or person, at=at, after=after)
    return person


@transaction.atomic(durable=True)
def change_roles(*, person: User, roles: Iterable[str], by: User, at: datetime) -> None:
    """Give a person exactly these roles, from the next request on. A client's contact stays one."""
    access.demand(by, "keep people")
    wanted, before = set(roles), set(person.roles)
    if (authority.CLIENT in wanted) != (person.client_id is not None):
        raise ValueError("A person with the role client belongs to a client, and nobody else does.")
    if person.pk == by.pk and authority.MANAGER not in wanted:
        raise ValueError("Nobody takes the role of manager from themselves: ask another manager.")
    set_roles(person, wanted)
    trail.write(
        "person.roles-changed",
        subject=f"person {person.username}",
        by=by,
        at=at,
        before={"roles": sorted(before)},
        after={"roles": sorted(wanted)},
    )


@transaction.atomic(durable=True)
def close_account(*, person: User, reason: str, by: User, at: datetime) -> None:
    """End a person's access at once. The name stays on everything they did, and is never used again."""
    access.demand(by, "keep people")
    if person.pk == by.pk:
        raise ValueError("Nobody closes their own account: ask another manager.")
    person.is_active = False
    person.save(update_fields=["is_active"])
    ApiToken.objects.filter(person=person, revoked_at__isnull=True).update(revoked_at=at)
    trail.write("person.account-closed", subject=f"person {person.username}", by=by, at=at, why=reason)


def authorise(
    *,
    person: User,
    method_version: MethodVersion,
    technique: str,
    from_on: date,
    until_on: date,
    evidence: str,
    by: User,
    at: datetime,
    evidence_kind: str = "comparison",
) -> Authorisation:
    """Authorise a person for a technique of a method version, until and including a day."""
    access.demand(by, "authorise people")
    with transaction.atomic(durable=True):
        return grant(
            person=person,
            method_version=method_version,
            technique=technique,
            from_on=from_on,
            until_on=until_on,
            evidence=evidence,
            evidence_kind=evidence_kind,
            by=by,
            at=at,
        )


def grant(
    *,
    person: User,
    method_version: MethodVersion,
    technique: str,
    from_on: date,
    until_on: date,
    evidence: str,
    evidence_kind: str,
    by: User,
    at: datetime,
    study: Study | None = None,
) -> Authorisation:
    """An authorisation with its event, inside the transaction of a larger act; `study` is the one that showed it."""
    if until_on < from_on:
        raise ValueError(f"until_on must not lie before from_on ({from_on}), came as {until_on}")
    granted = Authorisation.objects.create(
        person=person,
        method_version=method_version,
        technique=technique,
        from_on=from_on,
        until_on=until_on,
        evidence_kind=evidence_kind,
        evidence=evidence,
        study=study,
        granted_by=by,
        at=at,
    )
    after = {
        "id": granted.pk,
        "method": str(method_version),
        "technique": technique,
        "from": from_on,
        "until": until_on,
        "evidence": evidence,
    }
    trail.write("person.authorised", subject=f"person {person.username}", by=by, at=at, after=after)
    return granted


@transaction.atomic(durable=True)
def withdraw(*, authorisation: Authorisation, from_on: date, reason: str, by: User, at: datetime) -> Withdrawal:
    """End an authorisation: from that day on it no longer holds."""
    access.demand(by, "authorise people")
    withdrawal = Withdrawal.objects.create(authorisation=authorisation, from_on=from_on, reason=reason, by=by, at=at)
    subject = f"person {authorisation.person.username}"
    after = {"id": withdrawal.pk, "technique": authorisation.technique, "from": from_on}
    trail.write("person.authorisation-withdrawn", subject=subject, by=by, at=at, after=after, why=reason)
    return withdrawal


@transaction.atomic(durable=True)
def give_token(*, person: User, label: str, by: User, at: datetime) -> str:
    """A new token for the programming interface. It is returned once and only its hash is kept."""
    access.demand(by, "keep people")
    token = secrets.token_urlsafe(32)
    ApiToken.objects.create(person=person, label=label, digest=digest(token), created_at=at)
    trail.write("token.given", subject=f"person {person.username}", by=by, at=at, after={"label": label})
    return token


@transaction.atomic(durable=True)
def revoke_token(*, token: ApiToken, by: User, at: datetime) -> None:
    """End a token; it is refused from the next request on."""
    access.demand(by, "keep people")
    token.revoked_at = at
    token.save(update_fields=["revoked_at"])
    subject = f"person {token.person.username}"
    trail.write("token.revoked", subject=subject, by=by, at=at, after={"label": token.label})


def digest(token: str) -> str:
    """What is kept of a token."""
    return hashlib.sha256(token.encode()).hexdigest()
