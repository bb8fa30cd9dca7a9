"""What each role may do, asked of a real server."""

import psycopg
import pytest
from psycopg import errors

from labrecords.database import roles
from tests.database.conftest import ask, connect

OWNER, APP, PORTAL = "labrecords_owner", "labrecords_app", "labrecords_portal"
DATABASE = "labrecords"


@pytest.mark.parametrize(
    ("name", "flags"),
    [
        (OWNER, {"rolcanlogin", "rolcreatedb", "rolinherit"}),
        (APP, {"rolcanlogin"}),
        (PORTAL, set()),
    ],
)
def test_flags(server, name, flags):
    every = (
        *("rolcanlogin", "rolcreatedb", "rolinherit", "rolsuper"),
        *("rolcreaterole", "rolreplication", "rolbypassrls"),
    )
    with connect(server) as connection:
        found = connection.execute(f"SELECT {', '.join(every)} FROM pg_roles WHERE rolname = %s", [name]).fetchone()
    assert {flag for flag, is_set in zip(every, found, strict=True) if is_set} == flags


def test_the_owner_owns_the_database_and_can_make_tables_and_trusted_extensions(server):
    owner = "SELECT pg_get_userbyid(datdba) FROM pg_database WHERE datname = 'labrecords'"
    assert ask(server, owner) == [OWNER]
    with connect(server, user=OWNER, database=DATABASE) as connection:
        connection.execute("CREATE TABLE made (number int)")
        connection.execute("DROP TABLE made")
        connection.execute("CREATE EXTENSION btree_gist")
        connection.execute("DROP EXTENSION btree_gist")


def test_the_runtime_role_owns_nothing(server):
    owned = "SELECT count(*) FROM pg_shdepend WHERE refobjid = 'labrecords_app'::regrole AND deptype = 'o'"
    assert ask(server, owned, database=DATABASE) == [0]
    control = owned.replace(APP, OWNER)
    assert ask(server, control, database=DATABASE) != [0]


@pytest.mark.parametrize(
    "statement",
    [
        "CREATE TABLE public.mine (number int)",
        "CREATE TEMPORARY TABLE mine (number int)",
        "CREATE SCHEMA mine",
        "CREATE DATABASE mine",
        "CREATE ROLE mine",
        "SET ROLE labrecords_owner",
        "SET session_replication_role = replica",
        "COPY (SELECT 1) TO PROGRAM 'cat'",
    ],
)
def test_the_runtime_role_may_not(server, statement):
    with (
        connect(server, user=APP, database=DATABASE) as connection,
        pytest.raises(errors.InsufficientPrivilege),
    ):
        connection.execute(statement)


def test_the_runtime_role_becomes_the_portal_for_one_transaction(server):
    with connect(server, user=APP, database=DATABASE) as connection:
        with connection.transaction():
            connection.execute("SET LOCAL ROLE labrecords_portal")
            assert connection.execute("SELECT current_user").fetchone() == (PORTAL,)
        assert connection.execute("SELECT current_user").fetchone() == (APP,)


def test_the_runtime_role_has_not_the_portals_rights_before(server):
    # PostgreSQL documentation, pg_has_role: MEMBER may become the role, USAGE has its rights at once
    has = "SELECT pg_has_role('labrecords_app', 'labrecords_portal', '{}')"
    assert ask(server, has.format("MEMBER")) == [True]
    assert ask(server, has.format("USAGE")) == [False]


def test_nobody_logs_in_as_the_portal(server):
    with pytest.raises(psycopg.OperationalError, match="not permitted to log in"):
        connect(server, user=PORTAL, database=DATABASE)


def test_the_public_may_not_connect(server):
    with connect(server) as connection:
        connection.execute("CREATE ROLE passer_by LOGIN")
    with pytest.raises(psycopg.OperationalError, match="permission denied for database"):
        connect(server, user="passer_by", database=DATABASE)
    assert ask(server, "SELECT current_user", user=APP, database=DATABASE) == [APP]


@pytest.mark.parametrize(
    ("setting", "value"),
    [
        ("synchronous_commit", "on"),  # although this quick server was started with off
        ("lock_timeout", "10s"),
        ("statement_timeout", "1min"),
        ("idle_in_transaction_session_timeout", "5min"),
    ],
)
def test_settings_of_the_runtime_role(server, setting, value):
    assert ask(server, f"SHOW {setting}", user=APP, database=DATABASE) == [value]


def test_provisioning_twice_is_as_good_as_once(server):
    roles.provision(server)
    with connect(server) as connection:
        connection.execute("COMMENT ON DATABASE labrecords IS NULL")
        connection.execute("ALTER ROLE labrecords_app CREATEDB")
    roles.provision(server)
    assert ask(server, "SELECT rolcreatedb FROM pg_roles WHERE rolname = 'labrecords_app'") == [False]


def test_a_dropped_database_is_made_again(used_server):
    with connect(used_server) as connection:
        connection.execute("DROP DATABASE labrecords")
    used_server.ensure()
    assert ask(used_server, "SELECT current_user", user=APP, database=DATABASE) == [APP]
