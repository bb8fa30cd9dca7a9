"""The role in which client pages read: even a page that forgot its filter could not show a result."""

import pytest
from django.db import ProgrammingError, connection, transaction
from psycopg import errors

from labrecords.actions.access import record_opening
from labrecords.database.privileges import PORTAL_PRIVILEGES, PRIVILEGES
from labrecords.models import Event, Opening, Result, Seal
from labrecords.queries import access, portal
from tests.portal.test_who import ADDRESSES, of


def ask(statement):
    with connection.cursor() as cursor:
        cursor.execute(statement)
        return cursor.fetchone()


def role():
    return ask("select current_user")[0]


def refused(statement) -> bool:
    try:
        with portal.as_portal(None):
            ask(statement)
    except ProgrammingError as error:
        return isinstance(error.__cause__, errors.InsufficientPrivilege)
    return False


def test_the_role_is_taken_for_one_block_only(cast):
    with portal.as_portal(cast.world.clara.client_id):
        assert role() == "labrecords_portal"
    assert role() == "labrecords_app"
    with pytest.raises(ZeroDivisionError), portal.as_portal(cast.world.clara.client_id):
        raise ZeroDivisionError
    assert role() == "labrecords_app"


def test_the_block_is_a_transaction_of_its_own(cast):
    with (
        transaction.atomic(),
        pytest.raises(RuntimeError, match="durable"),
        portal.as_portal(cast.world.clara.client_id),
    ):
        pytest.fail("a block within a transaction")


def test_results_and_everything_unlisted_are_closed(cast):
    readable = {table for table, rights in PORTAL_PRIVILEGES.items() if rights.startswith("SELECT")}
    assert not refused("select count(*) from labrecords_report")
    assert "labrecords_result" not in PORTAL_PRIVILEGES
    open_to_it = {table for table in PRIVILEGES if not refused(f'select * from "{table}" limit 1')}
    assert open_to_it == readable


def test_nothing_can_be_changed(cast):
    assert all(refused(f'delete from "{table}" returning 1') for table in PRIVILEGES)
    assert refused("update labrecords_report set title = 'x' returning 1")
    assert refused("truncate labrecords_opening")


def test_the_trail_cannot_be_read(cast):
    assert refused("select body from labrecords_event limit 1")
    assert not refused("select count(id) from labrecords_event")


def test_every_page_runs_in_the_role(cast, reader, monkeypatch):
    browser, own = reader("clara"), access.own_reports
    monkeypatch.setattr(access, "own_reports", lambda person: [list(Result.objects.all()), own(person)][1])
    for address in ADDRESSES.values():
        with pytest.raises(ProgrammingError, match="permission denied for table labrecords_result"):
            browser.get(address.format(**of(cast.clara)))
    assert Opening.objects.count() == 0


def test_the_event_of_an_opening_is_sealed_in_the_role(cast):
    before = Seal.objects.count()
    with portal.as_portal(cast.world.clara.client_id):
        record_opening(report=cast.clara, name="page", by=cast.world.clara, at=cast.world.at)
        with connection.cursor() as cursor:
            cursor.execute("set constraints all immediate")
            cursor.execute("set constraints all deferred")
    sealed = Seal.objects.latest("seq")
    assert Seal.objects.count() == before + 1
    assert sealed.last_event == Event.objects.get(act="report.opened").pk
