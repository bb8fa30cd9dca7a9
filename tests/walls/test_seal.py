"""The seals of the audit trail: one a transaction, in one chain, over the events in their order."""

import contextlib
import hashlib
import itertools
import uuid
from datetime import date

import pytest
from django.db import DatabaseError, connection, transaction
from psycopg import errors

from labrecords.actions import access, trail
from labrecords.actions.refusals import Refused
from labrecords.database.privileges import PORTAL
from labrecords.models import (
    Authorisation,
    Calibration,
    EquipmentEvent,
    Event,
    Opening,
    Refusal,
    Report,
    Result,
    Review,
    Seal,
    Signature,
    Void,
)
from tests import databases
from tests import world as cast
from tests.walls.refused import refused_as

SHA256 = "0" * 64


@pytest.fixture
def world(committed):
    return committed


def write(world, act="remark.made", **after):
    return trail.write(act, subject="test", by=world.runa, at=world.at, after=after)


class Undone(Exception):
    pass


@contextlib.contextmanager
def undone():
    """A transaction, or a savepoint within one, that does not come to its end."""
    with contextlib.suppress(Undone), transaction.atomic():
        yield
        raise Undone


def execute(statement, parameters=()):
    with connection.cursor() as cursor:
        cursor.execute(statement, parameters)


def recomputed(seals, bodies) -> list[bytes]:
    """The hashes as the migration's comment defines them, by hashlib alone."""
    found, prev = [], b"\x00"
    for seal in seals:
        leaves = b"".join(hashlib.sha256(b"\x00" + body.encode()).digest() for body in bodies[seal.xid])
        prev = hashlib.sha256(b"\x01" + prev + hashlib.sha256(leaves).digest()).digest()
        found.append(prev)
    return found


def bodies_by_transaction() -> dict[int, list[str]]:
    events = Event.objects.order_by("id").values_list("xid", "body")
    grouped = itertools.groupby(sorted(events, key=lambda row: row[0]), key=lambda row: row[0])  # a stable sort
    return {xid: [body for _, body in rows] for xid, rows in grouped}


# --- the chain -----------------------------------------------------------------------------------


def test_each_transaction_with_events_has_one_seal_over_all_of_them(world):
    cast.enter(world, specimen=next(world.untouched))
    with transaction.atomic():
        written = [write(world, number=str(number)) for number in range(3)]
    seal = Seal.objects.last()
    assert (seal.first_event, seal.last_event, seal.events) == (written[0].pk, written[-1].pk, 3)
    assert {seal.xid: seal.events for seal in Seal.objects.all()} == {
        xid: len(bodies) for xid, bodies in bodies_by_transaction().items()
    }


def test_the_hashes_are_those_computed_from_the_bodies_alone(world):
    seals = list(Seal.objects.order_by("seq"))
    assert len(seals) > 10
    assert [bytes(seal.hash) for seal in seals] == recomputed(seals, bodies_by_transaction())


def test_control_one_changed_letter_gives_other_hashes_from_there_on(world):
    seals, bodies = list(Seal.objects.order_by("seq")), bodies_by_transaction()
    kept = [bytes(seal.hash) for seal in seals]
    bodies[seals[3].xid][0] = bodies[seals[3].xid][0].replace("a", "o", 1)
    found = recomputed(seals, bodies)
    assert found[:3] == kept[:3]
    assert not set(found[3:]) & set(kept)


def test_the_chain_starts_at_zero_without_gap_or_fork(world):
    seals = list(Seal.objects.order_by("seq"))
    assert [seal.seq for seal in seals] == list(range(1, len(seals) + 1))
    assert [bytes(seal.prev) for seal in seals] == [b"\x00", *(bytes(seal.hash) for seal in seals[:-1])]
    assert len({bytes(seal.prev) for seal in seals}) == len(seals)


def test_a_transaction_rolled_back_leaves_no_event_no_seal_and_no_gap(world):
    seals, events = Seal.objects.count(), Event.objects.count()
    with undone():
        write(world)
        execute("set constraints all immediate")  # even when it had been sealed
        assert Seal.objects.count() == seals + 1
    assert (Seal.objects.count(), Event.objects.count()) == (seals, events)
    with transaction.atomic():
        write(world)
    assert Seal.objects.last().seq == seals + 1


def test_a_savepoints_events_are_sealed_with_their_transaction(world):
    with transaction.atomic():
        outer = write(world)
        with transaction.atomic():
            inner = write(world)
        with undone():
            gone = write(world)
        last = write(world)
    seal = Seal.objects.last()
    assert (seal.first_event, seal.last_event, seal.events) == (outer.pk, last.pk, 3)
    sealed = Event.objects.filter(xid=seal.xid)
    assert set(sealed.values_list("pk", flat=True)) == {outer.pk, inner.pk, last.pk}
    assert gone.pk not in {event.pk for event in sealed}


def test_a_transaction_without_events_has_no_seal(world):
    before = Seal.objects.count()
    with transaction.atomic():
        execute("select 1")
    assert Seal.objects.count() == before


def test_the_portals_own_event_is_sealed_too(world):
    report = a_report(world)
    with transaction.atomic():
        execute(f"select set_config('labrecords.client', '{world.clara.client_id}', true)")
        execute(f"set local role {PORTAL}")
        access.record_opening(report=report, name="page", by=world.clara, at=world.at)
    assert Opening.objects.filter(report=report).count() == 1
    assert Event.objects.get(xid=Seal.objects.last().xid).act == "report.opened"


# --- what cannot be done to it -------------------------------------------------------------------


@pytest.mark.parametrize("number", [None, -1], ids=["next in order", "a number before the sealed one"])
def test_nothing_is_added_to_a_sealed_transaction(world, number):
    before = Event.objects.count()
    with refused_as("event-after-seal"), transaction.atomic():
        first = write(world)
        execute("set constraints all immediate")
        execute("set constraints all deferred")
        if number is None:
            write(world)
        else:
            insert_event(id=first.pk + number)
    assert Event.objects.count() == before


def insert_event(**columns):
    """A raw INSERT by the runtime role with columns of its choice."""
    row = {"at": cast.NOW, "actor": "a", "act": "b", "subject": "c", "body": "{}"} | columns
    places = ", ".join(["%s"] * len(row))
    execute(f"insert into labrecords_event ({', '.join(row)}) values ({places})", list(row.values()))


def test_the_sender_chooses_neither_number_nor_transaction(world):
    sealed = Seal.objects.first()
    with transaction.atomic():
        insert_event(id=-5, xid=sealed.xid, subject="forged")
        found = Event.objects.get(subject="forged")
        assert found.pk > sealed.last_event
        assert found.xid != sealed.xid
        transaction.set_rollback(True)


def test_the_runtime_role_writes_no_seals(world):
    row = {"seq": 10**6, "xid": 1, "first_event": 1, "last_event": 1, "events": 1, "prev": b"p", "hash": b"h"}
    with pytest.raises(DatabaseError) as refused, transaction.atomic():
        Seal.objects.create(**row)
    assert isinstance(refused.value.__cause__, errors.InsufficientPrivilege)


def test_a_snapshot_that_does_not_see_the_head_forks_nothing(world):
    """At REPEATABLE READ the sealing read may be old: the commit fails, and the chain stays one."""
    before = Seal.objects.count()
    name = connection.settings_dict["NAME"]
    with databases.runtime(name) as other, refused_as("labrecords_seal_pkey"), other.transaction():
        other.execute("set transaction isolation level repeatable read")
        other.execute("select 1 from labrecords_seal limit 1")
        with transaction.atomic():
            write(world)
        other.execute(
            "insert into labrecords_event (at, actor, act, subject, body) values (now(), 'a', 'b', 'c', '{}')"
        )
    assert Seal.objects.count() == before + 1


def test_a_restored_history_of_another_server_is_not_taken_for_ones_own(world):
    """Transactions count from the start again on another server, so its numbers come again here."""
    with databases.django_as_superuser(), transaction.atomic():
        execute("alter table labrecords_seal disable trigger user")
        execute("update labrecords_seal set xid = txid_current() where seq = 2")
        before = Seal.objects.count()
        write(world)
        execute("set constraints all immediate")
        assert Seal.objects.count() == before + 1
        transaction.set_rollback(True)


# --- no record without its event -----------------------------------------------------------------


def a_result(world):
    reading = cast.reading(world)
    return Result(
        specimen=next(world.untouched),
        run=world.run,
        technique="A",
        rate=reading.rate,
        rate_unit=reading.rate_unit,
        width_mm=reading.width_mm,
        recorded="1.52",
        recorded_unit="lbf/in",
        source="typed",
        peak_force_n=6.76,
        strength="1.52",
        modes=["AP"],
        tested_at=world.at,
        tested_by=world.runa,
        entered_by=world.runa,
        at=world.at,
    )


def a_refusal(world):
    return Refusal(study=world.study, act="a", tried="t", codes=["no-mode"], answers=[], by=world.runa, at=world.at)


def a_void(world):
    return Void(specimen=next(world.untouched), cause="cut", words="Nicked.", by=world.runa, at=world.at)


def a_review(world):
    return Review(study=world.study, accepted=True, words="w", content_sha256=SHA256, by=world.sefa, at=world.at)


def a_signature(world):
    return Signature(
        signer=world.signe, signer_name="S", meaning="m", content_sha256=SHA256, authenticated_by="p", at=world.at
    )


def a_report_row(world):
    signature = a_signature(world)
    signature.save()
    write(world, "signature.made", signature=signature.pk)
    number = f"R-{Report.objects.count() + 1}"
    return Report(
        study=world.study,
        number=number,
        title="T",
        content="{}",
        content_sha256=SHA256,
        signature=signature,
        at=world.at,
    )


def an_authorisation(world):
    return Authorisation(
        person=world.timo,
        method_version=world.method,
        technique="A",
        from_on=date(2026, 1, 1),
        until_on=date(2026, 12, 31),
        evidence="e",
        granted_by=world.magnus,
        at=world.at,
    )


def a_calibration(world):
    return Calibration(
        equipment=world.cell,
        certificate="C",
        provider="P",
        performed_on=date(2026, 1, 1),
        due_on=date(2026, 12, 31),
        passed=True,
        by=world.magnus,
        at=world.at,
    )


def an_equipment_event(world):
    return EquipmentEvent(
        equipment=world.tester, kind="back in service", happened_at=world.at, reason="r", by=world.magnus, at=world.at
    )


def a_report(world):
    with transaction.atomic():
        report = a_report_row(world)
        report.save()
        write(world, "report.released", report=report.pk)
    return report


RECORDS = {
    "result.kept": a_result,
    "entry.refused": a_refusal,
    "specimen.voided": a_void,
    "study.reviewed": a_review,
    "signature.made": a_signature,
    "report.released": a_report_row,
    "person.authorised": an_authorisation,
    "calibration.recorded": a_calibration,
    "equipment.back-in-service": an_equipment_event,
}
WALLED = {
    *("result", "refusal", "void", "deviationdecision", "signature", "report", "review", "archiveorder", "archive"),
    *("authorisation", "withdrawal", "methodversion", "calibration", "calibrationreview", "equipmentevent"),
    *("equipmentdocument", "checkbaseline", "checkreading", "discrepancy", "discrepancyanswer", "treatment"),
    *("nonconformity", "studyhold", "reportinquestion", "nonconformitystep", "reportlink", "photo", "photoaside"),
    *("settingevidence", "derivedlimit", "limitdecision", "pullorder", "validationdecision", "linkrevocation"),
    *("uncertaintybudget", "budgetdecision", "correction", "correctiondecision", "reportamendment", "reportwithdrawal"),
}


def test_every_deed_that_bears_on_results_needs_its_event(world):
    with connection.cursor() as cursor:
        cursor.execute("select tgrelid::regclass::text from pg_trigger where tgname = 'need_event' and tgenabled = 'A'")
        assert {name for (name,) in cursor.fetchall()} == {f"labrecords_{name}" for name in WALLED}


@pytest.mark.parametrize("act", RECORDS)
def test_a_record_without_its_event_does_not_commit(world, act):
    kind = type(RECORDS[act](world)) if act != "report.released" else Report
    before = kind.objects.count()
    with refused_as("event-missing"), transaction.atomic():
        RECORDS[act](world).save()
    assert kind.objects.count() == before


@pytest.mark.parametrize("act", RECORDS)
def test_the_event_of_another_act_does_not_do(world, act):
    with refused_as("event-missing"), transaction.atomic():
        row = RECORDS[act](world)
        row.save()
        write(world, "remark.made", id=row.pk)


@pytest.mark.parametrize("act", RECORDS)
def test_the_event_of_another_record_does_not_do(world, act):
    with refused_as("event-missing"), transaction.atomic():
        RECORDS[act](world).save()
        write(world, act, id=uuid.uuid4())


@pytest.mark.parametrize("act", RECORDS)
def test_the_event_of_an_earlier_transaction_does_not_do(world, act):
    with transaction.atomic():
        row = RECORDS[act](world)
        write(world, act, id=row.pk)
    with refused_as("event-missing"), transaction.atomic():
        row.save()


@pytest.mark.parametrize("act", RECORDS)
def test_control_with_its_event_it_commits(world, act):
    with transaction.atomic():
        row = RECORDS[act](world)
        row.save()
        write(world, act, id=row.pk)
    assert type(row).objects.filter(pk=row.pk).exists()


def test_a_refusal_through_the_gate_is_sealed_as_well(world):
    with pytest.raises(Refused) as refused:
        cast.enter(world, specimen=next(world.untouched), technique="C")
    event = Event.objects.get(xid=Seal.objects.last().xid)
    assert event.act == "entry.refused"
    assert str(refused.value.refusal.pk) in event.body
