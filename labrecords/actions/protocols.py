"""Protocols: a plan put to the client in versions, what the client says, and the version on which a study is locked."""

from collections.abc import Callable
from datetime import date, datetime
from typing import Any

from labrecords.models import Protocol, ProtocolAnswer, Signature, Study, User
from labrecords.queries import access, lab, protocols
from labrecords.reports import protocol as words_of
from labrecords.rules import protocol as rules
from labrecords.rules.answers import Answer
from labrecords.rules.canonical import sha256
from labrecords.rules.second_factor import Given
from labrecords.rules.study_states import DRAFT

from . import trail
from .refusals import Stop, one_act
from .signing import NOTHING, show, sign

SIGNED_HERE = "signed here by the client"


def put(*, study: Study, words: str, password: str, by: User, at: datetime, given: Given = NOTHING) -> Protocol:
    """Freeze the plan as the next version, sign it, and lay it before the client."""
    access.demand(by, "plan a study")
    shown = show(password=password, given=given, by=by, at=at)
    with one_act("put a protocol", by=by, at=at, study=study, tried=f"put {study.code} to the client") as stop:
        held = Study.objects.select_for_update().get(pk=study.pk)
        if held.state != DRAFT:
            stop([Answer("setup-locked", f"{held.code} is {held.state}.")])
        text = words_of.text(held)
        newest = protocols.newest(held)
        stop(rules.check_put(protocols.standing(newest, text), agreement=held.agreement))
        version = _next(newest)
        signature = sign(
            meaning=f"protocol of {held.code}, version {version}, put to the client",
            content_sha256=sha256(text),
            shown=shown,
            stop=stop,
            by=by,
            at=at,
            study=held,
        )
        kept = _keep(held, version, text, words=words, signature=signature, by=by, at=at)
        after = {"version": version, "content_sha256": kept.content_sha256}
        trail.write("protocol.put", subject=f"study {held.code}", by=by, at=at, study=held, after=after, why=words)
    return kept


def _next(newest: Protocol | None) -> int:
    return newest.version + 1 if newest else 1


def _keep(study: Study, version: int, text: str, *, words="", signature=None, by: User, at: datetime) -> Protocol:
    return Protocol.objects.create(
        study=study,
        version=version,
        content=text,
        content_sha256=sha256(text),
        words=words,
        signature=signature,
        by=by,
        at=at,
    )


def settle(*, study: Study, by: User, at: datetime) -> Protocol:
    """The version on which a study is locked: the newest if it says what the plan says, else the next one.

    Call inside the act of locking, which has seen to it that whoever must agree has agreed.
    """
    text = words_of.text(study)
    newest = protocols.newest(study)
    if protocols.standing(newest, text).same:
        return newest
    return _keep(study, _next(newest), text, by=by, at=at)


def against(study: Study) -> list[Answer]:
    """What the protocol has against locking the set-up."""
    found = protocols.standing(protocols.newest(study), words_of.text(study))
    return rules.check_lock(found, agreement=study.agreement)


def answer(
    *,
    protocol: Protocol,
    agreed: bool,
    words: str,
    password: str,
    by: User,
    at: datetime,
    given: Given = NOTHING,
) -> ProtocolAnswer:
    """Somebody of the client agrees to a version, or does not, with a signature."""
    access.demand(by, "agree to a protocol")
    if by.client_id is None or by.client_id != protocol.study.project.client_id or protocol.signature_id is None:
        raise access.NotFound(protocol.study.code)
    shown = show(password=password, given=given, by=by, at=at)
    verb = "agreed to" if agreed else "not agreed to"

    def signed(stop: Stop) -> Signature:
        return sign(
            meaning=f"protocol of {protocol.study.code}, version {protocol.version}, {verb}",
            content_sha256=protocol.content_sha256,
            shown=shown,
            stop=stop,
            by=by,
            at=at,
            study=protocol.study,
        )

    said = {"said_by": by.name, "said_on": lab.day(at), "received_as": SIGNED_HERE}
    return _answer(protocol, agreed=agreed, words=words, signed=signed, by=by, at=at, **said)


def record(
    *,
    protocol: Protocol,
    agreed: bool,
    words: str,
    said_by: str,
    said_on: date,
    received_as: str,
    by: User,
    at: datetime,
) -> ProtocolAnswer:
    """Record what the client said elsewhere, in a letter or a message that is kept."""
    access.demand(by, "answer for a client")
    said = {"said_by": said_by, "said_on": said_on, "received_as": received_as}

    def not_to_come(stop: Stop) -> None:
        if said_on > lab.day(at):
            stop([Answer("in-the-future", f"{said_on} has not come yet.")])

    return _answer(protocol, agreed=agreed, words=words, signed=not_to_come, by=by, at=at, **said)


def _answer(
    protocol: Protocol,
    *,
    agreed: bool,
    words: str,
    signed: Callable[[Stop], Signature | None],
    by: User,
    at: datetime,
    **said: Any,
) -> ProtocolAnswer:
    study = protocol.study
    tried = f"answer version {protocol.version} of the protocol of {study.code}"
    with one_act("answer a protocol", by=by, at=at, study=study, tried=tried) as stop:
        held = Study.objects.select_for_update().get(pk=study.pk)
        stop(
            rules.check_answer(
                version=protocol.version,
                newest=protocols.newest(held).version,
                answered=ProtocolAnswer.objects.filter(protocol=protocol).exists(),
                draft=held.state == DRAFT,
            )
        )
        if not agreed and not words.strip():
            stop([Answer("words-missing", "What must be changed was not written down.")])
        kept = ProtocolAnswer.objects.create(
            protocol=protocol, agreed=agreed, words=words, signature=signed(stop), by=by, at=at, **said
        )
        after = {"version": protocol.version, "agreed": agreed} | said
        trail.write(
            "protocol.answered", subject=f"study {study.code}", by=by, at=at, study=study, after=after, why=words
        )
    return kept
