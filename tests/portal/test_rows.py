"""The database shows a client's page that client's rows, whatever a query forgot to ask."""

import itertools
import os
import uuid

import pytest
from django.db import IntegrityError, ProgrammingError, connection, transaction

from labrecords.actions.access import record_opening
from labrecords.database.privileges import PORTAL_PRIVILEGES
from labrecords.models import Opening, Report
from labrecords.queries import access, portal
from tests.portal.test_who import ADDRESSES, of

READINGS = int(os.environ.get("LABRECORDS_READINGS", "1000"))  # the long form is 10000
WALLED = ("client", "project", "study", "report", "reportfile", "signature")


def count(table: str) -> int:
    with connection.cursor() as cursor:
        cursor.execute(f"select count(*) from labrecords_{table}")
        return cursor.fetchone()[0]


def own(cast, table: str, person) -> int:
    """How many rows are a person's company's, asked by the laboratory."""
    client = person.client
    found = {
        "client": type(client).objects.filter(pk=client.pk),
        "project": client.projects.all(),
        "report": Report.objects.filter(study__project__client=client),
    }
    return found[table].count()


@pytest.mark.parametrize("table", WALLED)
def test_with_no_client_said_nothing_is_seen(cast, table):
    assert count(table) > 0
    with portal.as_portal(None):
        assert count(table) == 0
    with portal.as_portal(uuid.uuid4()):
        assert count(table) == 0


@pytest.mark.parametrize("table", ["client", "project", "report"])
def test_each_sees_their_own_rows_and_no_others(cast, table):
    for person in (cast.world.clara, cast.world.otto):
        mine = own(cast, table, person)
        with portal.as_portal(person.client_id):
            assert count(table) == mine
        assert 0 < mine < count(table)


def test_every_table_the_role_reads_is_walled_off_or_the_laboratory_s_own(cast):
    with connection.cursor() as cursor:
        cursor.execute("select relname from pg_class where relrowsecurity")
        walled = {name for (name,) in cursor.fetchall()}
    readable = {table for table, rights in PORTAL_PRIVILEGES.items() if rights == "SELECT"}
    assert readable - walled == {"labrecords_laboratory"}


def test_pages_that_forget_their_filter_show_nothing_of_another_client(cast, reader, monkeypatch):
    """Every filter of the portal's queries is taken away at once; the rows of others stay out of sight."""
    everything = Report.objects.select_related("study__project__client", "signature")
    monkeypatch.setattr(access, "own_reports", lambda _person: everything.all())
    for name, foreign in (("clara", cast.otto), ("otto", cast.clara)):
        browser = reader(name)
        for address in ADDRESSES.values():
            if "{number}" in address:
                assert browser.get(address.format(**of(foreign))).status_code == 404
        listed = browser.get("/reports/").content.decode()
        assert foreign.number not in listed
    assert not any(secret in reader("clara").get("/reports/").content.decode() for secret in cast.secrets)


def test_control_without_the_wall_such_a_page_would_show_it(cast):
    assert {cast.clara.number, cast.otto.number} <= set(Report.objects.values_list("number", flat=True))


def test_no_opening_is_kept_of_a_report_that_is_not_seen(cast):
    before = Opening.objects.count()
    with pytest.raises((ProgrammingError, IntegrityError)), portal.as_portal(cast.world.clara.client_id):
        record_opening(report=cast.otto, name="page", by=cast.world.clara, at=cast.world.at)
    assert Opening.objects.count() == before


def test_readers_in_turn_over_one_connection_leak_nothing(cast):
    people = itertools.cycle([(cast.world.clara, cast.clara), (cast.world.otto, cast.otto), (None, None)])
    leaks = 0
    for number, (person, report) in zip(range(READINGS), people, strict=False):
        try:
            with portal.as_portal(person.client_id if person else None):
                seen = set(Report.objects.values_list("number", flat=True))
                leaks += seen != ({report.number} if report else set())
                if number % 7 == 0:
                    raise ZeroDivisionError  # a page that breaks off
        except ZeroDivisionError:
            continue
    assert leaks == 0
    assert Report.objects.count() == 2  # and the laboratory sees all, as before


def test_control_a_setting_of_the_session_would_leak(cast):
    with connection.cursor() as cursor:
        cursor.execute("select set_config('labrecords.client', %s, false)", [str(cast.world.otto.client_id)])
        try:
            with transaction.atomic():
                cursor.execute("set local role labrecords_portal")
                assert count("report") == 1  # nobody said which client in this transaction
                cursor.execute("set local role none")
        finally:
            cursor.execute("select set_config('labrecords.client', '', false)")
