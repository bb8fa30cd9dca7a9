"""Second factors: added, shown, ended. No secret is ever written into the trail or into a refusal."""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime

from django.conf import settings

from labrecords.models import RecoveryCode, SecondFactor, User
from labrecords.queries import access
from labrecords.queries import second_factors as queries
from labrecords.rules import passkey, sealed
from labrecords.rules import second_factor as rules
from labrecords.rules.answers import Answer
from labrecords.rules.guessing import wait_s
from labrecords.rules.second_factor import APP, PASSKEY, Given

from . import trail
from .passwords import demand_password
from .refusals import Stop, one_act

ADDING = "add a second factor"


class NameTaken(ValueError):
    """The person has a second factor of this name."""


@dataclass(frozen=True)
class Taken:
    """What was taken of what somebody showed, in words, or what stands against it."""

    what: str = ""
    answers: Sequence[Answer] = ()


def sealed_secret(secret: str, *, person: User) -> bytes:
    """An app's secret as it is kept."""
    return sealed.seal(secret, key=settings.SECRET_KEY, owner=person.pk.bytes)


def opened_secret(kept: bytes, *, person: User) -> str:
    """An app's secret again. Raises NotOpened where SECRET_KEY is another one now."""
    return sealed.opened(bytes(kept), key=settings.SECRET_KEY, owner=person.pk.bytes)


def add_app(
    *, secret: str, code: str, name: str, password: str, by: User, at: datetime
) -> tuple[SecondFactor, list[str]]:
    """An authenticator app, once it has shown a right code; and ten recovery codes, if it is the first factor.

    Raises Refused, and NameTaken.
    """
    with one_act(ADDING, by=by, at=at, tried=f"add the authenticator app “{name}”") as stop:
        _start(name, password, by, stop)
        step = rules.step_of(secret, code, at)
        stop(rules.check_step(step=step, last=0, name=f"“{name}”"))
        kept = sealed_secret(secret, person=by)
        made = _add(SecondFactor(kind=APP, secret=kept, counter=step), name, by, at)
        codes = _first_codes(by, at)
    return made, codes


def add_passkey(
    *, answer: str, challenge: str, site: rules.Site, name: str, password: str, by: User, at: datetime
) -> tuple[SecondFactor, list[str]]:
    """A passkey that was just made at this site; and ten recovery codes, if it is the first factor.

    Raises Refused, and NameTaken.
    """
    with one_act(ADDING, by=by, at=at, tried=f"add the passkey “{name}”") as stop:
        _start(name, password, by, stop)
        key = _created(answer, challenge, site, stop)
        row = SecondFactor(
            kind=PASSKEY,
            credential_id=key.credential_id,
            public_key=key.public_key,
            counter=key.counter,
            site=site.name,
        )
        made = _add(row, name, by, at)
        codes = _first_codes(by, at)
    return made, codes


def _start(name: str, password: str, by: User, stop: Stop) -> None:
    User.objects.select_for_update().get(pk=by.pk)
    demand_password(password, by=by, stop=stop)
    if queries.active(by).filter(name=name).exists():
        raise NameTaken("You have a second factor of this name. Give another name.")


def _created(answer: str, challenge: str, site: rules.Site, stop: Stop) -> passkey.Key:
    try:
        key = passkey.created(answer, site=site, challenge=challenge)
    except passkey.NotShown as wrong:
        stop([Answer("wrong-passkey", f"{wrong}")])
        raise
    if SecondFactor.objects.filter(credential_id=key.credential_id).exists():
        stop([Answer("wrong-passkey", "This passkey is known already.")])
    return key


def _add(row: SecondFactor, name: str, by: User, at: datetime) -> SecondFactor:
    row.person, row.name, row.added_at = by, name, at
    row.save(force_insert=True)
    trail.write("factor.added", subject=_subject(by), by=by, at=at, after=_described(row))
    return row


def _described(factor: SecondFactor) -> dict[str, object]:
    return {"factor": factor.pk, "kind": factor.get_kind_display(), "name": factor.name}


def _subject(person: User) -> str:
    return f"person {person.username}"


def _first_codes(person: User, at: datetime) -> list[str]:
    return [] if queries.codes_left(person) else _make_codes(person, at)


def make_recovery_codes(*, password: str, by: User, at: datetime) -> list[str]:
    """Ten new recovery codes, returned once; those before them end."""
    with one_act("make recovery codes", by=by, at=at) as stop:
        User.objects.select_for_update().get(pk=by.pk)
        demand_password(password, by=by, stop=stop)
        if not queries.held(by).any:
            stop([Answer("factor-missing", "Recovery codes stand for a second factor, and there is none.")])
        return _make_codes(by, at)


def _make_codes(person: User, at: datetime) -> list[str]:
    _end_codes(person, at)
    codes = [rules.new_recovery_code() for _ in range(rules.RECOVERY_CODES)]
    for code in codes:
        RecoveryCode.objects.create(person=person, digest=rules.digest_of(code), made_at=at)
    trail.write("recovery-codes.made", subject=_subject(person), by=person, at=at, after={"codes": len(codes)})
    return codes


def _end_codes(person: User, at: datetime) -> None:
    open_codes = RecoveryCode.objects.filter(person=person, used_at__isnull=True, ended_at__isnull=True)
    open_codes.update(ended_at=at)


def end(*, factor: SecondFactor, password: str, by: User, at: datetime) -> None:
    """End one's own second factor."""
    with one_act("end a second factor", by=by, at=at, tried=f"end the {factor}") as stop:
        demand_password(password, by=by, stop=stop)
        if factor.person_id != by.pk:
            raise access.NotFound(str(factor.pk))
        _end(factor, "ended by its owner", by, at, stop)


def end_for(*, factor: SecondFactor, reason: str, by: User, at: datetime) -> None:
    """End another person's second factor, for a reason such as a device that was lost."""
    access.demand(by, "keep people")
    if factor.person_id == by.pk:
        raise ValueError("This one is your own: end it under Signing in, with your password.")
    with one_act("end a second factor", by=by, at=at, tried=f"end the {factor} of {factor.person}") as stop:
        if not reason.strip():
            stop([Answer("words-missing", "The reason was not written down.")])
        _end(factor, reason, by, at, stop)


def _end(factor: SecondFactor, reason: str, by: User, at: datetime, stop: Stop) -> None:
    kept = SecondFactor.objects.select_for_update().get(pk=factor.pk)
    if kept.ended_at is not None:
        stop([Answer("factor-ended", f"The {kept} has ended.")])
    kept.ended_at, kept.ended_by, kept.ended_why = at, by, reason
    kept.save(update_fields=["ended_at", "ended_by", "ended_why"])
    if not queries.held(kept.person).any:
        _end_codes(kept.person, at)
    trail.write("factor.ended", subject=_subject(kept.person), by=by, at=at, after=_described(kept), why=reason)


def show_at_sign_in(*, given: Given, by: User, at: datetime) -> str:
    """Look at what is shown after the password: a code, a passkey or a recovery code. Says in words what was taken.

    Raises Refused. Waits are kept by whoever calls: they go by name and address.
    """
    tried = "sign in with a second factor"
    with one_act(queries.AT_SIGN_IN, by=by, at=at, tried=tried) as stop:
        if rules.is_recovery(given.code):
            return _use_recovery_code(given.code, by, at, stop)
        taken = _taken(by, given, at)
        stop(taken.answers)
        return taken.what


def _use_recovery_code(code: str, by: User, at: datetime, stop: Stop) -> str:
    found = RecoveryCode.objects.select_for_update().filter(person=by, digest=rules.digest_of(code)).first()
    if found is None:
        stop([Answer("wrong-code", "This is not one of your recovery codes.")])
    elif found.used_at or found.ended_at:
        stop([Answer("used-code", "This recovery code was used already, or has ended.")])
    else:
        found.used_at = at
        found.save(update_fields=["used_at"])
        left = {"left": queries.codes_left(by)}
        trail.write("recovery-code.used", subject=_subject(by), by=by, at=at, after=left)
    return "a recovery code"


def take(by: User, given: Given, *, at: datetime) -> Taken:
    """Take what a signed-in person shows, slowly where guesses failed before; inside a transaction."""
    wait = wait_s(queries.tries(by, at))
    if wait:
        return Taken(answers=[Answer("code-wait", f"The next try is looked at in {wait} s.", {"seconds": str(wait)})])
    return _taken(by, given, at)


def _taken(by: User, given: Given, at: datetime) -> Taken:
    factors = list(queries.active(by).select_for_update())
    if given.code:
        return _take_code([factor for factor in factors if factor.kind == APP], given.code, by, at)
    if given.assertion:
        return _take_passkey(factors, given, at)
    return Taken(answers=[Answer("factor-missing", "Neither a code nor a passkey came with the password.")])


def _take_code(apps: list[SecondFactor], code: str, by: User, at: datetime) -> Taken:
    against = [Answer("wrong-code", "It is not a code that an authenticator app of yours shows now.")]
    for app in apps:
        step, said = _looked_at(app, code, by, at)
        if not said:
            _use(app, step, at)
            return Taken("a code of the authenticator app")
        if said[0].code != "wrong-code":
            against = said
    return Taken(answers=against)


def _looked_at(app: SecondFactor, code: str, by: User, at: datetime) -> tuple[int, list[Answer]]:
    try:
        step = rules.step_of(opened_secret(app.secret, person=by), code, at)
    except sealed.NotOpened:
        return 0, [Answer("factor-unreadable", f"SECRET_KEY is not the one under which the {app} was added.")]
    return step or 0, rules.check_step(step=step, last=app.counter, name=f"“{app.name}”")


def _take_passkey(factors: list[SecondFactor], given: Given, at: datetime) -> Taken:
    site = given.site
    if site is None:
        return Taken(answers=[Answer("wrong-passkey", "Passkeys are not taken at this address.")])
    here = [factor for factor in factors if factor.site == site.name]
    try:
        key, counter = passkey.asserted(given.assertion, site=site, challenge=given.challenge, known=queries.keys(here))
    except passkey.NotShown as wrong:
        return Taken(answers=[Answer("wrong-passkey", str(wrong))])
    factor = next(one for one in here if one.kind == PASSKEY and bytes(one.credential_id) == key.credential_id)
    against = rules.check_counter(came=counter, last=factor.counter, name=f"“{factor.name}”")
    if not against:
        _use(factor, counter, at)
    return Taken("a passkey", against)


def _use(factor: SecondFactor, counter: int, at: datetime) -> None:
    factor.counter, factor.last_used_at = counter, at
    factor.save(update_fields=["counter", "last_used_at"])
