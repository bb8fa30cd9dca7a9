"""Ways past the rule that records are kept, tried on every table of records, as three different roles."""

import contextlib

import pytest
from psycopg import errors, sql

from labrecords.database.privileges import APP
from labrecords.models import Seal
from tests import databases
from tests.walls.refused import refused_as
from tests.walls.rows import KEPT

CONTROL = "labrecords_control"
UPDATE = "UPDATE {table} SET {key} = {key}"
DELETE = "DELETE FROM {table}"
TRUNCATE = "TRUNCATE {table} CASCADE"
MERGE = "MERGE INTO {table} t USING {table} s ON t.{key} = s.{key} WHEN MATCHED THEN UPDATE SET {key} = s.{key}"
REPLICA = "SET LOCAL session_replication_role = replica; "

# What changes rows, and what takes the protection off them. {key} is the primary key.
CHANGES = {
    "update": UPDATE,
    "delete": DELETE,
    "truncate": "TRUNCATE {table}",
    "truncate with what hangs on it": TRUNCATE,
    "insert or update": (
        "INSERT INTO {table} SELECT * FROM {table} ON CONFLICT ({key}) DO UPDATE SET {key} = excluded.{key}"
    ),
    "merge": MERGE,
    "merge that deletes": "MERGE INTO {table} t USING {table} s ON t.{key} = s.{key} WHEN MATCHED THEN DELETE",
    "lock rows": "SELECT 1 FROM {table} FOR UPDATE",
}
TABLE_CHANGES = {
    "disable the trigger": "ALTER TABLE {table} DISABLE TRIGGER keep_rows",
    "disable all triggers": "ALTER TABLE {table} DISABLE TRIGGER ALL",
    "drop the trigger": "DROP TRIGGER keep_rows ON {table}",
    "add a trigger": "CREATE TRIGGER spare BEFORE INSERT ON {table} EXECUTE FUNCTION labrecords_keep()",
    "add a rule": "CREATE RULE spare AS ON INSERT TO {table} DO INSTEAD NOTHING",
    "rewrite a column": "ALTER TABLE {table} ALTER COLUMN {key} TYPE text USING {key}::text || ' '",
    "rename a column": "ALTER TABLE {table} RENAME COLUMN {key} TO spare",
    "unlog it": "ALTER TABLE {table} SET UNLOGGED",
    "take it over": "ALTER TABLE {table} OWNER TO CURRENT_USER",
    "drop it": "DROP TABLE {table} CASCADE",
    "grant oneself": f"GRANT UPDATE ON {{table}} TO {APP}; {UPDATE}",
}
SERVER_CHANGES = {
    "rename it": "ALTER TABLE {table} RENAME TO spare",
    "play the replica": f"SET session_replication_role = replica; {UPDATE}",
    "read from a program": "COPY {table} FROM PROGRAM 'true'",
    "replace the trigger's function": (
        "CREATE OR REPLACE FUNCTION public.labrecords_keep() RETURNS trigger"
        " LANGUAGE plpgsql AS 'begin return new; end'"
    ),
    "set the function aside": "ALTER FUNCTION public.labrecords_keep() RENAME TO spare",
    "replace the function by hand": "UPDATE pg_catalog.pg_proc SET prosrc = '' WHERE proname = 'labrecords_keep'",
    "switch it off by hand": "UPDATE pg_catalog.pg_trigger SET tgenabled = 'D' WHERE tgrelid = '{table}'::regclass",
}
ALL = CHANGES | TABLE_CHANGES | SERVER_CHANGES
STOPPED_BY_TRIGGERS = {"update": UPDATE, "delete": DELETE, "truncate": TRUNCATE, "merge": MERGE}


@pytest.fixture(scope="module")
def superuser(kept):
    with databases.superuser(kept) as connection:
        yield connection


@pytest.fixture(scope="module")
def owner(kept):
    with databases.owner(kept) as connection:
        yield connection


@pytest.fixture(scope="module")
def runtime(kept):
    with databases.runtime(kept) as connection:
        yield connection


@pytest.fixture(scope="module")
def content(superuser):
    """How many rows a table has, and a hash of all of them."""

    def read(table):
        asked = "select count(*), md5(string_agg(t::text, '|' order by t::text)) from {} t"
        return superuser.execute(sql.SQL(asked).format(sql.Identifier(table))).fetchone()

    return read


@pytest.fixture(scope="module")
def first_content(content):
    """What the tables hold before anything is tried on them."""
    return {table: content(table) for table in KEPT}


def written(statement, table):
    return statement.format(table=table, key="seq" if table == Seal._meta.db_table else "id")


def test_the_tables_with_the_keeping_triggers_are_those_of_the_records(superuser):
    found = superuser.execute(
        "select tgrelid::regclass::text from pg_trigger where tgname in ('keep_rows', 'keep_table')"
        " and tgfoid = 'labrecords_keep'::regproc and tgenabled = 'A' group by 1 having count(*) = 2 order by 1"
    )
    assert [name for (name,) in found] == KEPT


def test_every_trigger_of_ours_works_for_a_replica_too(superuser):
    found = superuser.execute(
        "select tgname, tgrelid::regclass from pg_trigger where not tgisinternal and tgenabled <> 'A'"
        " and tgrelid::regclass::text not like 'procrastinate%'"  # a library's, on tables that hold no record
    )
    assert found.fetchall() == []


def test_every_table_of_records_has_rows_to_try_on(first_content):
    assert [table for table, (rows, _) in first_content.items() if rows == 0] == []


@pytest.mark.parametrize("table", KEPT)
@pytest.mark.parametrize("way", ALL)
def test_the_runtime_role_is_refused(runtime, content, first_content, way, table):
    with pytest.raises(errors.InsufficientPrivilege), runtime.transaction():
        runtime.execute(written(ALL[way], table))
    assert content(table) == first_content[table]


@pytest.mark.parametrize("table", KEPT)
@pytest.mark.parametrize("way", STOPPED_BY_TRIGGERS)
def test_the_triggers_stop_the_owner(owner, content, first_content, way, table):
    with refused_as("record-is-kept"), owner.transaction():
        owner.execute(written(STOPPED_BY_TRIGGERS[way], table))
    assert content(table) == first_content[table]


@pytest.mark.parametrize("table", KEPT)
@pytest.mark.parametrize("way", STOPPED_BY_TRIGGERS)
@pytest.mark.parametrize("first", ["", REPLICA], ids=["openly", "as a replica"])
def test_the_triggers_stop_the_superuser(superuser, content, first_content, first, way, table):
    with refused_as("record-is-kept"), superuser.transaction():
        superuser.execute(first + written(STOPPED_BY_TRIGGERS[way], table))
    assert content(table) == first_content[table]


# --- controls: the same attempts succeed where the walls are not ---------------------------------


@pytest.fixture(scope="module")
def unprotected(superuser):
    """A table with a trigger of its own that belongs to the runtime role."""
    superuser.execute(f"CREATE TABLE {CONTROL} (id int PRIMARY KEY)")
    superuser.execute(f"INSERT INTO {CONTROL} VALUES (1), (2)")
    superuser.execute(
        f"CREATE TRIGGER keep_rows AFTER UPDATE ON {CONTROL}"
        " FOR EACH ROW EXECUTE FUNCTION suppress_redundant_updates_trigger()"
    )
    superuser.execute(f"ALTER TABLE {CONTROL} OWNER TO {APP}")
    yield CONTROL
    superuser.execute(f"DROP TABLE {CONTROL}")


@pytest.mark.parametrize("way", [*CHANGES, *TABLE_CHANGES])
def test_control_on_an_unprotected_table_the_runtime_role_succeeds(runtime, unprotected, way):
    statement = ALL[way].replace("labrecords_keep()", "suppress_redundant_updates_trigger()")
    if way == "disable all triggers":
        statement = statement.replace("ALL", "USER")
    with runtime.transaction(force_rollback=True):
        runtime.execute("DROP TRIGGER keep_rows ON labrecords_control" if "UPDATE" in statement else "")
        runtime.execute(written(statement, unprotected))


@pytest.mark.parametrize("way", SERVER_CHANGES)
def test_control_the_superuser_succeeds_at_what_needs_the_server(superuser, unprotected, way):
    with superuser.transaction(force_rollback=True):
        superuser.execute(f"DROP TRIGGER keep_rows ON {unprotected}")
        superuser.execute(written(SERVER_CHANGES[way], unprotected))


@pytest.mark.parametrize("table", KEPT)
def test_control_without_its_trigger_the_owner_changes_a_table(owner, table):
    with owner.transaction(force_rollback=True):
        owner.execute(f"DROP TRIGGER keep_rows ON {table}")
        assert owner.execute(written(UPDATE, table)).rowcount > 0


@pytest.mark.parametrize("table", KEPT)
def test_control_a_trigger_that_is_not_always_on_lets_a_replica_by(superuser, table):
    with superuser.transaction(force_rollback=True):
        superuser.execute(f"ALTER TABLE {table} ENABLE TRIGGER keep_rows")
        superuser.execute(REPLICA)
        assert superuser.execute(written(UPDATE, table)).rowcount > 0


# --- the one function that has its owner's rights ------------------------------------------------

TRAP = """
create function pg_temp.trap(value pg_catalog.bytea) returns boolean language plpgsql as $$
begin
  alter table public.labrecords_report disable trigger keep_rows;
  return true;
end $$;
create domain pg_temp.bytea as pg_catalog.bytea check (pg_temp.trap(value));
"""
EVENT = (
    "insert into labrecords_event (at, actor, act, subject, body) values (now(), 'a', 'b', 'c', '{}');"
    "set constraints seal_events immediate;"
)


def sprung(superuser) -> bool:
    """Whether a type of the runtime role's, laid under the sealing function's words, ran with the owner's rights."""
    superuser.execute(f"SET LOCAL ROLE {APP}")
    superuser.execute(TRAP)
    with contextlib.suppress(errors.InsufficientPrivilege), superuser.transaction():
        superuser.execute(EVENT)
    superuser.execute("RESET ROLE")
    state = superuser.execute(
        "select tgenabled::text from pg_trigger where tgname = 'keep_rows' and tgrelid = 'labrecords_report'::regclass"
    )
    return state.fetchone() == ("D",)


def test_a_temporary_type_is_not_taken_for_a_real_one(superuser):
    with superuser.transaction(force_rollback=True):
        assert not sprung(superuser)


def test_control_with_the_temporary_schema_unnamed_it_would_be(superuser):
    with superuser.transaction(force_rollback=True):
        superuser.execute("ALTER FUNCTION labrecords_seal() SET search_path = pg_catalog, public")
        assert sprung(superuser)


def test_nobody_puts_the_sealing_function_on_a_table_of_their_own(runtime):
    with pytest.raises(errors.InsufficientPrivilege), runtime.transaction():
        runtime.execute(
            "create temporary table mine (id bigint, xid bigint);"
            "create trigger mine after insert on mine for each row execute function labrecords_seal();"
        )


def test_a_temporary_table_of_the_same_name_is_not_taken_for_the_real_one(runtime):
    """An event there is none: the record does not commit."""
    with refused_as("event-missing"), runtime.transaction():
        runtime.execute("create temporary table labrecords_event (like public.labrecords_event) on commit drop")
        runtime.execute(
            "insert into pg_temp.labrecords_event (id, xid, at, actor, act, subject, body)"
            " select 1, public.labrecords_transaction(), now(), 'a', 'signature.made', 'b', '{\"' || id || '\"}'"
            " from (select 'ffffffff-0000-7000-8000-000000000000' as id) made"
        )
        runtime.execute(
            "insert into labrecords_signature"
            " (id, at, signer_id, signer_name, meaning, content_sha256, authenticated_by)"
            " select 'ffffffff-0000-7000-8000-000000000000', now(), id, name, 'm', '', '' from labrecords_user limit 1"
        )
