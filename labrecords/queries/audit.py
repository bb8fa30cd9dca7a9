"""The audit trail, computed again: whether every event is still what was sealed when its transaction committed."""

import hashlib
import json
import unicodedata
from collections import defaultdict
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass

from django.db.models import Exists, OuterRef

from labrecords.models import Event, Seal
from labrecords.rules.canonical import instant

from .heads import Head

ORIGIN = b"\x00"
AT_ONCE = 1000


@dataclass(frozen=True)
class ChainCheck:
    """The verdict. `first_bad` names the first event or seal that is not as it was; `why` says what is wrong.

    `head` is the hash of the last good seal in hexadecimal digits. A trail cut off at its end looks whole, and so does
    one that was made anew: only heads noted elsewhere, in a file or on a report, show it.
    """

    ok: bool
    seals: int
    events: int
    first_bad: str
    why: str
    head: str


@dataclass(frozen=True)
class _Fault:
    where: str
    why: str


def seal_hash(prev: bytes, bodies: Iterable[str]) -> bytes:
    """The hash of a seal over a transaction's event bodies in order, after the seal whose hash is `prev`.

    SHA-256 of byte 1, `prev`, and the SHA-256 of the leaves; a leaf is the SHA-256 of byte 0 and the body. The
    first bytes keep leaf and seal apart, as in RFC 6962, section 2.1.

    >>> seal_hash(ORIGIN, ["{}"]).hex()[:16]
    '80356aa86cd9b12b'
    """
    leaves = b"".join(leaf(body) for body in bodies)
    return hashlib.sha256(b"\x01" + prev + hashlib.sha256(leaves).digest()).digest()


def leaf(body: str) -> bytes:
    """The hash of one event's body, as a seal is made over it."""
    return hashlib.sha256(b"\x00" + body.encode()).digest()


def check_chain(noted: Sequence[Head] = ()) -> ChainCheck:
    """Compute every seal again from the events, up to the first that does not agree. Reads as a stream.

    `noted` are heads from outside the database; a trail that does not pass through each of them is not whole.
    """
    seals = events = 0
    head = ORIGIN
    outside = defaultdict(list)
    for one in noted:
        outside[one.seq].append(one)
    for seal, events_of in sealed():
        fault = _fault(seal, events_of, seq=seals + 1, prev=head) or _elsewhere(seal, outside.pop(seal.seq, ()))
        if fault is not None:
            return ChainCheck(False, seals, events, fault.where, fault.why, head.hex())
        seals, events, head = seals + 1, events + len(events_of), bytes(seal.hash)
    for one in sorted((one for rest in outside.values() for one in rest), key=lambda one: one.seq):
        why = f"Seal {one.seq} was noted outside on {one.noted}; the trail ends at seal {seals}."
        return ChainCheck(False, seals, events, f"seal {one.seq}", why, head.hex())
    return _ended(seals, events, head)


def _elsewhere(seal: Seal, noted: Sequence[Head]) -> _Fault | None:
    for one in noted:
        if bytes(seal.hash).hex() != one.hash:
            return _Fault(f"seal {seal.seq}", f"It is not the one that was noted outside on {one.noted}.")
    return None


def _ended(seals: int, events: int, head: bytes) -> ChainCheck:
    loose = Event.objects.exclude(Exists(Seal.objects.filter(xid=OuterRef("xid")))).order_by("id").first()
    if loose is None:
        return ChainCheck(True, seals, events, "", "", head.hex())
    return ChainCheck(False, seals, events, _named(loose), "It has never been sealed.", head.hex())


def sealed(first: int = 1) -> Iterator[tuple[Seal, list[Event]]]:
    """Every seal from the first wanted on, in order, with the events of its transaction in order. Reads as a stream."""
    batch: list[Seal] = []
    for seal in Seal.objects.filter(seq__gte=first).order_by("seq").iterator(chunk_size=AT_ONCE):
        batch.append(seal)
        if len(batch) == AT_ONCE:
            yield from _with_events(batch)
            batch = []
    yield from _with_events(batch)


def _with_events(seals: list[Seal]) -> Iterator[tuple[Seal, list[Event]]]:
    events: dict[int, list[Event]] = {seal.xid: [] for seal in seals}
    for event in Event.objects.filter(xid__in=events.keys()).order_by("id"):
        events[event.xid].append(event)
    for seal in seals:
        yield seal, events[seal.xid]


def _fault(seal: Seal, events: list[Event], *, seq: int, prev: bytes) -> _Fault | None:
    name = f"seal {seal.seq}"
    if seal.seq != seq:
        return _Fault(name, f"Seal {seq} is missing.")
    if bytes(seal.prev) != prev:
        return _Fault(name, "It does not follow from the seal before it.")
    if len(events) != seal.events:
        among = f"{name}, over the events {seal.first_event} to {seal.last_event}"
        return _Fault(among, f"It was made over {seal.events} events; {len(events)} are there.")
    for event in events:
        if not _agrees(event):
            return _Fault(_named(event), "Its columns and its body do not say the same.")
    if bytes(seal.hash) != seal_hash(prev, (event.body for event in events)):
        return _Fault(" or ".join(_named(event) for event in events), f"It is not what {name} was made over.")
    return None


def _agrees(event: Event) -> bool:
    """The columns, by which events are found, say what the sealed body says."""
    try:
        body = json.loads(event.body)
        said = (body["act"], body["subject"], body["by"]["name"], body["at"])
    except (ValueError, TypeError, KeyError):
        return False
    shown = [unicodedata.normalize("NFC", text) for text in (event.act, event.subject, event.actor)]
    return said == (*shown, instant(event.at))


def _named(event: Event) -> str:
    return f"event {event.pk} ({event.act}, {event.subject})"
