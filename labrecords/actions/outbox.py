"""Entries refused on arrival that whoever typed them sets aside: the reason and what was typed stay on record."""

import uuid
from collections.abc import Mapping
from datetime import datetime

from django.db import transaction

from labrecords.models import Entry, Refusal, Run, Specimen, User
from labrecords.queries import access
from labrecords.rules import labels
from labrecords.rules.answers import Answer

from . import locks
from .refusals import store

CODE = "set-aside"


def set_aside(
    *, run: Run, key: uuid.UUID, typed: Mapping[str, str], reason: str, by: User, at: datetime
) -> Refusal | None:
    """Keep that an entry was set aside, with its reason and what was typed; None where it has been kept after all.

    `key` is the entry's own: the same key again gives the first answer.
    """
    access.demand(by, "enter a result")
    with transaction.atomic(durable=True):
        locks.hold(key)
        if Entry.objects.filter(key=key, result__isnull=False).exists():
            return None
        return _before(key, by) or _keep(run, key, typed, reason, by, at)


def _before(key: uuid.UUID, by: User) -> Refusal | None:
    return Refusal.objects.filter(by=by, codes=[CODE], answers__contains=[{"facts": {"key": str(key)}}]).first()


def _keep(run: Run, key: uuid.UUID, typed: Mapping[str, str], reason: str, by: User, at: datetime) -> Refusal:
    value = f"{typed.get('typed', '')} {typed.get('unit', '')}".strip()
    if photograph := typed.get("photograph"):
        value = f"photograph {photograph}"
    return store(
        [Answer("set-aside", f"{by.name} set it aside: {reason}", {**typed, "key": str(key), "reason": reason})],
        act="set an entry aside",
        tried=f"{value} for {typed.get('specimen', '')}",
        by=by,
        at=at,
        study=run.study,
        specimen=_specimen(typed.get("specimen", "")),
        run=run,
    ).refusal


def _specimen(text: str) -> Specimen | None:
    label = labels.read(text)
    return label and Specimen.objects.filter(label=label.text).first()
