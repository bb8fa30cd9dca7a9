"""Badges: made, given a PIN, shown at the bench, ended. No PIN is ever written into the trail or into a refusal."""

import functools
from dataclasses import dataclass
from datetime import datetime

from django.contrib.auth.hashers import check_password, make_password
from django.db import transaction

from labrecords.models import Badge, SignIn, User
from labrecords.queries import access
from labrecords.queries import badges as queries
from labrecords.queries import sign_ins as tries
from labrecords.rules import badge as rules
from labrecords.rules.answers import Answer
from labrecords.rules.guessing import wait_s

from . import numbering, sign_ins, trail
from .passwords import demand_password
from .refusals import Stop, one_act

MAKING, SETTING, ENDING = "make a badge", "set a badge's PIN", "end a badge"
WRONG = "The badge and the PIN do not belong together, or the badge has ended."
USED_UP = (
    f"Tries at this badge's PIN failed {rules.TRIES} times. Sign in with name and password once; the badge is good "
    "again after that."
)


class WeakPin(ValueError):
    """A PIN that is not taken; its message is a sentence to show."""


@dataclass(frozen=True)
class Shown:
    """Whose badge was shown with its PIN; or why nobody's, and for how many seconds to wait."""

    person: User | None = None
    problem: str = ""
    wait: int = 0


def make(*, pin: str, password: str, by: User, at: datetime) -> Badge:
    """A badge of one's own; one that there was before ends.

    Raises Refused, and WeakPin.
    """
    access.demand(by, "open a run")
    with one_act(MAKING, by=by, at=at) as stop:
        _start(pin, password, by, stop)
        before = queries.of(by)
        if before is not None:
            _end(before, "another was made", by, at, stop)
        label = numbering.next_labels("PB", 1)[0]
        _demand_strong(pin, label)
        made = Badge.objects.create(person=by, label=label, pin=make_password(pin), pin_set_at=at, made_at=at)
        trail.write("badge.made", subject=_subject(by), by=by, at=at, after={"badge": label})
    return made


def set_pin(*, pin: str, password: str, by: User, at: datetime) -> Badge:
    """Another PIN for the badge that one has.

    Raises Refused, and WeakPin.
    """
    with one_act(SETTING, by=by, at=at) as stop:
        _start(pin, password, by, stop)
        badge = Badge.objects.select_for_update().get(pk=_own(by).pk)
        _demand_strong(pin, badge.label)
        badge.pin, badge.pin_set_at = make_password(pin), at
        badge.save(update_fields=["pin", "pin_set_at"])
        trail.write("badge.pin-set", subject=_subject(by), by=by, at=at, after={"badge": badge.label})
    return badge


def _start(pin: str, password: str, by: User, stop: Stop) -> None:
    User.objects.select_for_update().get(pk=by.pk)
    demand_password(password, by=by, stop=stop)
    _demand_strong(pin, "")


def _demand_strong(pin: str, label: str) -> None:
    if said := rules.problem(pin, label=label):
        raise WeakPin(said)


def _own(person: User) -> Badge:
    badge = queries.of(person)
    if badge is None:
        raise access.NotFound("badge")
    return badge


def end(*, password: str, by: User, at: datetime) -> None:
    """End one's own badge."""
    with one_act(ENDING, by=by, at=at) as stop:
        demand_password(password, by=by, stop=stop)
        _end(_own(by), "ended by its owner", by, at, stop)


def end_for(*, badge: Badge, reason: str, by: User, at: datetime) -> None:
    """End another person's badge, for a reason such as one that was lost."""
    access.demand(by, "keep people")
    if badge.person_id == by.pk:
        raise ValueError("This one is your own: end it under Signing in, with your password.")
    with one_act(ENDING, by=by, at=at, tried=f"end the {badge} of {badge.person}") as stop:
        if not reason.strip():
            stop([Answer("words-missing", "The reason was not written down.")])
        _end(badge, reason, by, at, stop)


def _end(badge: Badge, reason: str, by: User, at: datetime, stop: Stop) -> None:
    kept = Badge.objects.select_for_update().get(pk=badge.pk)
    if kept.ended_at is not None:
        stop([Answer("badge-ended", f"The {kept} has ended.")])
    kept.ended_at, kept.ended_by, kept.ended_why = at, by, reason
    kept.save(update_fields=["ended_at", "ended_by", "ended_why"])
    after = {"badge": kept.label}
    trail.write("badge.ended", subject=_subject(kept.person), by=by, at=at, after=after, why=reason)


def _subject(person: User) -> str:
    return f"person {person.username}"


def show(*, label: str, pin: str, address: str, at: datetime) -> Shown:
    """Look at a badge and its PIN, slowly where guesses failed before; every look is kept with the sign-ins."""
    with transaction.atomic(durable=True):
        badge = Badge.objects.select_for_update().filter(label=label, ended_at__isnull=True).first()
        name = badge.person.username if badge else label
        if wait := wait_s(tries.tries(name, address, at)):
            return Shown(problem="There were many tries that failed.", wait=wait)
        if badge and rules.is_used_up(queries.failures(badge)):
            return Shown(problem=USED_UP)
        right = check_password(pin, badge.pin if badge else _nobodys()) and _works_here(badge)
        sign_ins.write(username=name, address=address, succeeded=right, way=SignIn.BY_BADGE, at=at)
    return Shown(badge.person) if right else Shown(problem=WRONG)


def _works_here(badge: Badge | None) -> bool:
    return badge is not None and access.may(badge.person, "open a run")


@functools.cache
def _nobodys() -> str:
    """A hash that a PIN is compared with where there is no badge, so that both take as long."""
    return make_password("nobody's")
