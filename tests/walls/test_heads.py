"""Heads noted outside the database show what a chain alone cannot. A superuser's random edits are all found.

The long form: LABRECORDS_EDITS=500 .venv/bin/pytest -s tests/walls/test_heads.py -k random
"""

import io
import os
import random

import pytest
from django.conf import settings
from django.core.management import CommandError, call_command
from django.db import connection, transaction

from labrecords.actions import heads as noting
from labrecords.models import Event, Seal
from labrecords.queries import audit, heads
from tests import databases
from tests import world as cast

EDITS = int(os.environ.get("LABRECORDS_EDITS", "60"))
SEED = 20260520


@pytest.fixture(scope="module")
def world(committed):
    for _ in range(6):
        cast.enter(committed, specimen=next(committed.untouched))
    return committed


@pytest.fixture
def file(tmp_path, settings):
    settings.AUDIT_HEADS = tmp_path / "outside" / "heads.tsv"
    return settings.AUDIT_HEADS


@pytest.fixture
def noted(world, file):
    """The head as it is now, noted."""
    return [noting.note(at=world.at)]


@pytest.fixture
def tamper(world):
    """Change what the triggers guard, as the superuser with the triggers off; all of it is undone."""
    with databases.django_as_superuser(), transaction.atomic():
        with connection.cursor() as cursor:
            for table in ("event", "seal"):
                cursor.execute(f"alter table labrecords_{table} disable trigger user")
            yield cursor.execute
        transaction.set_rollback(True)


def test_the_head_is_noted_once_in_a_line_that_anybody_can_read(world, file, noted):
    assert noting.note(at=world.at) is None
    (line,) = file.read_text().splitlines()
    seq, digest, moment = line.split("\t")
    last = Seal.objects.last()
    assert (int(seq), digest) == (last.seq, bytes(last.hash).hex())
    assert moment == "2026-05-20T09:00:00.000000Z"
    assert heads.read(file) == noted


def test_a_good_trail_agrees_with_its_heads_and_goes_on(world, noted):
    assert audit.check_chain(noted).ok
    cast.enter(world, specimen=next(world.untouched))
    assert audit.check_chain(noted).ok


def cut(tamper, count=1):
    for seal in list(Seal.objects.order_by("-seq")[:count]):
        tamper("delete from labrecords_event where xid = %s", [seal.xid])
        tamper("delete from labrecords_seal where xid = %s", [seal.xid])


def test_a_cut_end_is_found(tamper, noted):
    cut(tamper)
    assert audit.check_chain().ok  # the control: the chain alone does not see it
    check = audit.check_chain(noted)
    assert check.first_bad == f"seal {noted[0].seq}"
    assert check.why.endswith(f"the trail ends at seal {noted[0].seq - 1}.")


def made_anew(tamper, first: int):
    """Every seal from one on, computed again, as somebody who rules the database could."""
    prev = bytes(Seal.objects.get(seq=first - 1).hash) if first > 1 else audit.ORIGIN
    for seal in Seal.objects.filter(seq__gte=first).order_by("seq"):
        bodies = Event.objects.filter(xid=seal.xid).order_by("id").values_list("body", flat=True)
        digest = audit.seal_hash(prev, bodies)
        tamper("update labrecords_seal set prev = %s, hash = %s where seq = %s", [prev, digest, seal.seq])
        prev = digest


def test_a_trail_made_anew_is_found(tamper, noted):
    event = Event.objects.order_by("id")[5]
    body = event.body.replace('"why":""', '"why":"because"')
    tamper("update labrecords_event set body = %s where id = %s", [body, event.pk])
    made_anew(tamper, Seal.objects.get(xid=event.xid).seq)
    assert audit.check_chain().ok  # the control
    check = audit.check_chain(noted)
    assert (check.first_bad, check.why) == (
        f"seal {noted[0].seq}",
        f"It is not the one that was noted outside on {noted[0].noted}.",
    )


# --- random edits


def change(tamper, event, chance):
    place = chance.randrange(len(event.body))
    body = event.body[:place] + ("x" if event.body[place] != "x" else "y") + event.body[place + 1 :]
    tamper("update labrecords_event set body = %s where id = %s", [body, event.pk])


def delete(tamper, event, chance):
    tamper("delete from labrecords_event where id = %s", [event.pk])


def insert(tamper, event, chance):
    tamper(
        "insert into labrecords_event (id, xid, at, actor, act, subject, body)"
        " select (select max(id) + 1 from labrecords_event), xid, at, actor, act, subject, body"
        " from labrecords_event where id = %s",
        [event.pk],
    )


def swap(tamper, event, chance):
    other = chance.choice(list(Event.objects.exclude(body=event.body).order_by("id")))
    tamper("update labrecords_event set body = %s where id = %s", [other.body, event.pk])
    tamper("update labrecords_event set body = %s where id = %s", [event.body, other.pk])


def cut_tail(tamper, event, chance):
    cut(tamper, chance.randint(1, 4))


def rehash(tamper, event, chance):
    change(tamper, event, chance)
    made_anew(tamper, Seal.objects.get(xid=event.xid).seq)


KINDS = (change, delete, insert, swap, cut_tail, rehash)


def edit_once(tamper, chance) -> str:
    """One edit at random; its kind."""
    kind = chance.choice(KINDS)
    kind(tamper, chance.choice(list(Event.objects.order_by("id"))), chance)
    return kind.__name__


def test_every_random_edit_of_a_superuser_is_found(tamper, noted):
    chance = random.Random(SEED)
    missed, alone = [], 0
    for number in range(EDITS):
        point = transaction.savepoint()
        kind = edit_once(tamper, chance)
        if audit.check_chain(noted).ok:
            missed.append((number, kind))
        alone += audit.check_chain().ok
        transaction.savepoint_rollback(point)
        assert audit.check_chain(noted).ok, "a false alarm"
    said = f"seed {SEED}: {EDITS} edits, {EDITS - len(missed)} found; {alone} would pass without noted heads"
    print(said)  # noqa: T201 - a fault test says what it found
    assert missed == []
    assert alone > 0, "the control: without noted heads some edits pass"


# --- the commands


def run(name, *arguments) -> tuple[int, str]:
    said = io.StringIO()
    try:
        call_command(name, *arguments, stdout=said, stderr=said)
    except SystemExit as ended:
        return ended.code, said.getvalue()
    return 0, said.getvalue()


def test_the_commands_note_and_compare(world, file):
    code, said = run("note_audit_head")
    assert code == 0
    assert f"seal {Seal.objects.count()}" in said
    assert run("note_audit_head") == (0, "Nothing has been sealed since the last note.\n")
    code, said = run("check_audit_trail")
    assert code == 0
    assert "It agrees with 1 heads noted outside" in said


def test_the_command_names_what_does_not_agree(tamper, noted):
    cut(tamper)
    code, said = run("check_audit_trail")
    assert code == 1
    assert f"First: seal {noted[0].seq}." in said


def test_a_file_that_is_none_is_said(world, file):
    with pytest.raises(CommandError, match="cannot be read"):
        call_command("check_audit_trail", heads=file)
    file.parent.mkdir()
    file.write_text("not a head\n")
    with pytest.raises(CommandError, match="line 1 is no noted head: 'not a head'"):
        call_command("check_audit_trail", stdout=io.StringIO())


def test_a_folder_that_cannot_be_written_is_said(world, tmp_path):
    (tmp_path / "file").write_text("")
    with pytest.raises(CommandError, match="cannot be written"):
        call_command("note_audit_head", file=tmp_path / "file" / "heads.tsv")


def test_a_release_notes_the_head_and_stands_if_it_cannot(world, file, tmp_path, caplog):
    noting.note_after_release(at=world.at)
    assert len(heads.read(file)) == 1
    (tmp_path / "blocked").write_text("")
    settings.AUDIT_HEADS = tmp_path / "blocked" / "heads.tsv"
    noting.note_after_release(at=world.at)
    assert "could not be noted" in caplog.text
