"""Refusals: stored with their reasons, then raised, so that the page, the API and the record say the same."""

import contextlib
from collections.abc import Callable, Iterator, Sequence
from datetime import datetime
from typing import NoReturn

from django.db import transaction

from labrecords.models import Refusal, Run, Specimen, Study, User
from labrecords.rules import wording
from labrecords.rules.answers import Answer, Kind, codes

from . import trail


class Refused(Exception):
    """What was asked for was not done; `refusal` is the stored record, `answers` its reasons."""

    def __init__(self, refusal: Refusal, answers: Sequence[Answer]) -> None:
        self.refusal = refusal
        self.answers = tuple(answers)
        super().__init__("; ".join(answer.why for answer in answers))

    @property
    def codes(self) -> tuple[str, ...]:
        """Codes of all reasons."""
        return codes(self.answers)


class _Stopped(Exception):
    def __init__(self, answers: Sequence[Answer]) -> None:
        self.answers = tuple(answers)


Stop = Callable[[Sequence[Answer]], None]


def stops(answers: Sequence[Answer], *, kinds: tuple[Kind, ...] = (Kind.REFUSE, Kind.CHECK)) -> tuple[Answer, ...]:
    """Those of the answers that keep an act from being done."""
    return tuple(answer for answer in answers if wording.kind_of(answer.code) in kinds)


def store(
    answers: Sequence[Answer],
    *,
    act: str,
    tried: str,
    by: User,
    at: datetime,
    study: Study | None = None,
    specimen: Specimen | None = None,
    run: Run | None = None,
) -> Refused:
    """Keep a refusal and its event; call inside the transaction that would have done the act."""
    refusal = Refusal.objects.create(
        study=study,
        specimen=specimen,
        run=run,
        act=act,
        tried=tried,
        codes=list(codes(answers)),
        answers=[as_json(answer) for answer in answers],
        by=by,
        at=at,
    )
    after = {"refusal": refusal.pk, "codes": refusal.codes, "answers": refusal.answers, "tried": tried}
    trail.write("entry.refused", subject=act, by=by, at=at, study=study, after=after)
    return Refused(refusal, answers)


def as_json(answer: Answer) -> dict[str, object]:
    """One reason as it is stored and as the API gives it: the code, the words shown, the facts."""
    words = wording.WORDS[answer.code]
    return {
        "code": answer.code,
        "headline": words.headline,
        "rule": words.rule,
        "why": answer.why,
        "who": words.who,
        "next": words.next,
        "facts": dict(answer.facts),
    }


def from_json(stored: dict) -> Answer:
    """The reason again, from what was stored."""
    return Answer(stored["code"], stored["why"], stored["facts"])


@contextlib.contextmanager
def one_act(
    act: str,
    *,
    by: User,
    at: datetime,
    tried: str = "",
    study: Study | None = None,
    specimen: Specimen | None = None,
) -> Iterator[Stop]:
    """One durable transaction for one act that may be refused.

    Inside, call the given `stop` with the answers: when one of them stands in the way, what the act had done so
    far is undone, the refusal is stored in the same transaction, and Refused is raised once it has committed.
    """
    refused = None
    with transaction.atomic(durable=True):
        try:
            with transaction.atomic():
                yield _stop
        except _Stopped as stopped:
            refused = store(stopped.answers, act=act, tried=tried or act, by=by, at=at, study=study, specimen=specimen)
    if refused is not None:
        raise refused


def _stop(answers: Sequence[Answer]) -> None:
    against = stops(answers)
    if against:
        _raise(against)


def _raise(answers: Sequence[Answer]) -> NoReturn:
    raise _Stopped(answers)
