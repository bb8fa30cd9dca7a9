"""Who may do what to which table, as the database itself says it."""

import re

import psycopg
import pytest
from psycopg import errors

from labrecords.database import privileges
from labrecords.database.privileges import APP, PORTAL
from labrecords.database.roles import OWNER
from tests import databases


@pytest.fixture(scope="module")
def superuser(kept):
    with databases.superuser(kept) as connection:
        yield connection


@pytest.fixture(scope="module")
def runtime(kept):
    with databases.runtime(kept) as connection:
        yield connection


def granted(superuser, role) -> dict[str, set[str]]:
    """Rights on whole tables; and on columns, as "SELECT (id, xid)", where the table as a whole is not granted."""
    ask = (
        "select table_name, privilege_type{} from information_schema.{} where grantee = %s and table_schema = 'public'"
    )
    rights: dict[str, set[str]] = {}
    for table, right in superuser.execute(ask.format("", "table_privileges"), [role]):
        rights.setdefault(table, set()).add(right)
    columns: dict[tuple[str, str], list[str]] = {}
    for table, right, column in superuser.execute(ask.format(", column_name", "column_privileges"), [role]):
        if right not in rights.get(table, ()):
            columns.setdefault((table, right), []).append(column)
    for (table, right), names in columns.items():
        rights.setdefault(table, set()).add(f"{right} ({', '.join(sorted(names))})")
    return rights


def listed(rights: dict[str, str]) -> dict[str, set[str]]:
    """The same from the list; a comma inside brackets parts columns, not rights."""
    return {table: set(re.split(r", (?![^(]*\))", text)) for table, text in rights.items()}


def test_every_table_is_listed_and_nothing_else_is(superuser):
    there = {name for (name,) in superuser.execute("select tablename from pg_tables where schemaname = 'public'")}
    assert there == privileges.PRIVILEGES.keys()
    assert privileges.PORTAL_PRIVILEGES.keys() <= there


@pytest.mark.parametrize("role", [APP, PORTAL])
def test_the_rights_are_those_listed_and_no_others(superuser, role):
    wanted = listed({APP: privileges.PRIVILEGES, PORTAL: privileges.PORTAL_PRIVILEGES}[role])
    assert granted(superuser, role) == wanted


def test_one_right_too_many_would_be_seen(superuser):
    """The control."""
    with superuser.transaction(force_rollback=True):
        superuser.execute(f"GRANT UPDATE (body) ON labrecords_event TO {PORTAL}")
        superuser.execute(f"GRANT DELETE ON labrecords_result TO {APP}")
        assert "UPDATE (body)" in granted(superuser, PORTAL)["labrecords_event"]
        assert "DELETE" in granted(superuser, APP)["labrecords_result"]


@pytest.mark.parametrize("role", ["PUBLIC", APP, PORTAL])
def test_nothing_is_granted_to_everybody_nor_to_be_passed_on(superuser, role):
    found = superuser.execute(
        "select table_name, privilege_type from information_schema.table_privileges"
        " where table_schema = 'public' and grantee = %s and (grantee = 'PUBLIC' or is_grantable = 'YES')",
        [role],
    )
    assert found.fetchall() == []


@pytest.mark.parametrize("role", [APP, PORTAL])
def test_the_role_owns_nothing(superuser, role):
    for catalogue, column in [
        ("pg_class", "relowner"),
        ("pg_proc", "proowner"),
        ("pg_type", "typowner"),
        ("pg_namespace", "nspowner"),
        ("pg_database", "datdba"),
    ]:
        owned = superuser.execute(f"select count(*) from {catalogue} where {column} = %s::regrole", [role])
        assert owned.fetchone() == (0,), catalogue
    tables = superuser.execute("select count(*) from pg_class where relowner = %s::regrole", [OWNER])
    assert tables.fetchone()[0] > len(privileges.PRIVILEGES)  # the query does count what a role owns


@pytest.mark.parametrize("role", [APP, PORTAL])
def test_the_role_has_no_power_over_roles_or_rows(superuser, role):
    flags = superuser.execute(
        "select rolsuper, rolcreaterole, rolcreatedb, rolbypassrls, rolreplication, rolinherit"
        " from pg_roles where rolname = %s",
        [role],
    )
    assert flags.fetchone() == (False,) * 6


def test_the_runtime_role_is_a_member_of_the_portal_role_only(superuser):
    member_of = superuser.execute("select roleid::regrole::text from pg_auth_members where member = %s::regrole", [APP])
    assert member_of.fetchall() == [(PORTAL,)]


@pytest.mark.parametrize("role", [OWNER, "postgres", "pg_write_all_data", "pg_execute_server_program"])
def test_the_runtime_role_becomes_nobody_stronger(runtime, role):
    with pytest.raises(errors.InsufficientPrivilege):
        runtime.execute(f"SET ROLE {role}")
    with pytest.raises(errors.InsufficientPrivilege):
        runtime.execute(f"GRANT {role} TO {APP}")


@pytest.mark.parametrize(
    "statement",
    [
        "CREATE TABLE spare (id int)",
        "CREATE SCHEMA spare",
        "CREATE ROLE spare",
        "CREATE FUNCTION public.spare() RETURNS int LANGUAGE sql AS 'select 1'",
        "CREATE EVENT TRIGGER spare ON ddl_command_start EXECUTE FUNCTION labrecords_keep()",
        f"ALTER ROLE {APP} SUPERUSER",
        f"ALTER DEFAULT PRIVILEGES FOR ROLE {OWNER} GRANT ALL ON TABLES TO {APP}",
        "select setval('labrecords_event_number', 1)",
        "select pg_read_file('/etc/hostname')",
        "select lo_import('/etc/hostname')",
    ],
)
def test_the_runtime_role_makes_nothing_of_its_own(runtime, statement):
    with pytest.raises(errors.InsufficientPrivilege):
        runtime.execute(statement)


@pytest.fixture
def portal(runtime):
    with runtime.transaction(force_rollback=True):
        runtime.execute(f"SET LOCAL ROLE {PORTAL}")
        yield runtime


def test_the_portal_role_reads_reports(portal):
    count = "select count(*) from labrecords_report"
    assert portal.execute(count).fetchone() == (0,)  # of no client
    client = "(select client_id from labrecords_project limit 1)"
    portal.execute("set local role none")
    portal.execute(f"select set_config('labrecords.client', {client}::text, true)")
    portal.execute("set local role labrecords_portal")
    assert portal.execute(count).fetchone() == (1,)


@pytest.mark.parametrize(
    "what",
    [
        "* from labrecords_result",
        "* from labrecords_trace",
        "* from labrecords_refusal",
        "* from labrecords_user",
        "body from labrecords_event",
        "act, subject from labrecords_event",
        "* from labrecords_seal",
        "* from django_session",
    ],
)
def test_the_portal_role_reads_no_results_nor_anything_that_tells_them(portal, what):
    with pytest.raises(errors.InsufficientPrivilege), portal.transaction():
        portal.execute(f"select {what}")


def test_every_function_of_ours_names_the_places_it_searches(superuser):
    """The temporary schema last: unnamed it would be searched first for types and tables.

    PostgreSQL documentation, CREATE FUNCTION, "Writing SECURITY DEFINER Functions Safely".
    """
    loose = superuser.execute(
        "select proname from pg_proc where pronamespace = 'public'::regnamespace"
        " and not coalesce(proconfig @> array['search_path=pg_catalog, public, pg_temp'], false)"
        " and proname not like 'procrastinate%'"  # a library's, with the rights of whoever calls them
    )
    assert loose.fetchall() == []


def test_only_the_seal_is_written_with_its_owners_rights_and_nobody_else_may_use_it(superuser):
    powerful = superuser.execute(
        "select proname, has_function_privilege(%s, oid, 'execute'), has_function_privilege(%s, oid, 'execute')"
        " from pg_proc where pronamespace = 'public'::regnamespace and prosecdef",
        [APP, PORTAL],
    )
    assert powerful.fetchall() == [("labrecords_seal", False, False)]


def test_a_table_nobody_decided_about_stops_the_privileges(kept, monkeypatch):
    monkeypatch.setattr(privileges, "tables", lambda: {*privileges.PRIVILEGES, "spare"})
    with pytest.raises(LookupError, match="spare: add to PRIVILEGES"):
        privileges.apply()


def test_the_runtime_role_logs_in_as_itself(runtime):
    assert isinstance(runtime, psycopg.Connection)
    assert runtime.execute("select session_user, current_user").fetchone() == (APP, APP)
