"""What is locked stays as it was locked, whatever the runtime role sends."""

import pytest
from psycopg import errors, sql

from tests import databases
from tests.walls.refused import refused_as

LOCKED = "(select id from labrecords_study where locked_at is not null)"
DRAFT = "(select id from labrecords_study where locked_at is null)"


@pytest.fixture(scope="module")
def runtime(kept):
    with databases.runtime(kept) as connection:
        yield connection


@pytest.fixture(scope="module")
def superuser(kept):
    with databases.superuser(kept) as connection:
        yield connection


@pytest.fixture(scope="module")
def second(kept):
    """A second login, which does not wait for the first."""
    with databases.runtime(kept) as connection:
        connection.execute("set lock_timeout = '100ms'")
        yield connection


@pytest.fixture
def undone(runtime):
    """The runtime role's connection, in a transaction that is undone."""
    with runtime.transaction(force_rollback=True):
        yield runtime


def refused(connection, statement, code):
    """The statement changes nothing and is refused with the code, at once or when it would commit."""
    with refused_as(code), connection.transaction(force_rollback=True):
        connection.execute(statement)
        connection.execute("set constraints all immediate")


def columns(connection, table) -> dict[str, str]:
    """Column and type."""
    found = connection.execute(
        "select attname, format_type(atttypid, atttypmod) from pg_attribute"
        " where attrelid = %s::regclass and attnum > 0 and not attisdropped",
        [table],
    )
    return dict(found.fetchall())


OTHER = {
    "uuid": "gen_random_uuid()",
    "boolean": "not coalesce({0}, false)",
    "timestamp with time zone": "coalesce({0}, now()) + interval '1 second'",
    "character varying(1)": "case {0} when 'A' then 'B' else 'A' end",
}


def other(name, kind):
    """Another value than the one that is there."""
    if kind == "text" or (kind.startswith("character varying") and kind not in OTHER):
        return f"'.' || substr({name}, 2)"
    return OTHER.get(kind, "coalesce({0}, 0) + 1").format(name)


def change(connection, table, where, *, leave=()):
    """For each column, the statement that changes it."""
    for name, kind in columns(connection, table).items():
        if name not in leave:
            yield name, f"update {table} set {name} = {other(name, kind)} where {where}"


PLAN = ["labrecords_setup", "labrecords_plangroup", "labrecords_limit"]


@pytest.mark.parametrize("table", PLAN)
def test_no_column_of_a_locked_plan_changes(runtime, table):
    statements = dict(change(runtime, table, f"study_id = {LOCKED}"))
    assert len(statements) >= 8
    for statement in statements.values():
        refused(runtime, statement, "setup-locked")


@pytest.mark.parametrize("table", PLAN)
def test_nothing_of_a_locked_plan_is_removed(runtime, table):
    refused(runtime, f"delete from {table} where study_id = {LOCKED}", "setup-locked")


@pytest.mark.parametrize("table", PLAN)
def test_nothing_is_moved_into_a_locked_plan_or_out_of_it(runtime, table):
    refused(runtime, f"update {table} set study_id = {LOCKED} where study_id = {DRAFT}", "setup-locked")
    refused(runtime, f"update {table} set study_id = {DRAFT} where study_id = {LOCKED}", "setup-locked")


ADDED = {
    "labrecords_plangroup": {"number": "99", "lot": "'L9'"},
    "labrecords_limit": {"kind": "'alert'"},
    "labrecords_setup": {},
}


def copy_into(connection, table, study) -> str:
    """An INSERT of the draft's row anew, into a study."""
    changed = {"id": "gen_random_uuid()", "study_id": study} | ADDED[table]
    if columns(connection, table)["id"] == "bigint":
        changed["id"] = "999999"
    names = list(columns(connection, table))
    values = ", ".join(changed.get(name, name) for name in names)
    return f"insert into {table} ({', '.join(names)}) select {values} from {table} where study_id = {DRAFT} limit 1"


@pytest.mark.parametrize("table", PLAN)
def test_nothing_is_added_to_a_locked_plan(runtime, table):
    refused(runtime, copy_into(runtime, table, LOCKED), "setup-locked")


@pytest.mark.parametrize("table", PLAN)
def test_control_a_drafts_plan_may_be_changed_added_to_and_removed(undone, table):
    if table != "labrecords_setup":  # a study has one set-up
        assert undone.execute(copy_into(undone, table, DRAFT)).rowcount == 1
    # a derived limit has walls of its own
    for name, statement in change(undone, table, f"study_id = {DRAFT}", leave={"derived_id"}):
        with undone.transaction(force_rollback=True):
            assert undone.execute(statement).rowcount >= 1, name
    assert undone.execute(f"delete from {table} where study_id = {DRAFT}").rowcount >= 1


FREE_OF_A_STUDY = {"state"}


def test_no_column_of_a_locked_study_changes_but_its_state(runtime):
    statements = dict(change(runtime, "labrecords_study", f"id = {LOCKED}", leave=FREE_OF_A_STUDY))
    assert len(statements) == len(columns(runtime, "labrecords_study")) - 1
    for statement in statements.values():
        refused(runtime, statement, "setup-locked")


def test_control_the_columns_of_a_draft_change(undone):
    together = {"locked_at", "locked_by_id", "mark"}  # a check of the table: all of them or none
    # an uncertainty budget has walls of its own; nobody asked goes with a reason
    walled = {"budget_id", "agreement", "no_agreement_reason"}
    for name, statement in change(
        undone, "labrecords_study", f"id = {DRAFT}", leave=FREE_OF_A_STUDY | together | walled
    ):
        with undone.transaction(force_rollback=True):
            assert undone.execute(statement).rowcount == 1, name


def test_a_study_is_not_unlocked(runtime):
    refused(
        runtime,
        f"update labrecords_study set locked_at = null, locked_by_id = null, mark = '' where id = {LOCKED}",
        "setup-locked",
    )


def test_a_study_under_another_identifier_for_a_moment_keeps_its_setup(runtime):
    """Foreign keys are checked at commit: without its identifier the study's set-up would be nobody's meanwhile."""
    (study,) = runtime.execute(f"select {LOCKED}").fetchone()
    exchange = sql.SQL(
        "update labrecords_study set id = gen_random_uuid() where id = {study};"
        "delete from labrecords_setup where study_id = {study}"
    )
    refused(runtime, exchange.format(study=sql.Literal(study)), "setup-locked")


STEPS = {
    ("draft", "locked"),
    ("draft", "withdrawn"),
    ("locked", "testing"),
    ("locked", "withdrawn"),
    ("testing", "in review"),
    ("in review", "testing"),
    ("in review", "reviewed"),
    ("reviewed", "testing"),
    ("reviewed", "released"),
    ("released", "in review"),  # there is an amendment on record
}
STATES = sorted({state for step in STEPS for state in step})


@pytest.mark.parametrize("old", STATES)
@pytest.mark.parametrize("new", STATES)
def test_a_study_moves_along_its_states_only(superuser, old, new):
    with superuser.transaction(force_rollback=True):
        superuser.execute("alter table labrecords_study disable trigger keep_study")
        superuser.execute(f"update labrecords_study set state = '{old}' where id = {LOCKED}")
        superuser.execute("alter table labrecords_study enable always trigger keep_study")
        superuser.execute("set local role labrecords_app")
        step = f"update labrecords_study set state = '{new}' where id = {LOCKED}"
        if old == new or (old, new) in STEPS:
            assert superuser.execute(step).rowcount == 1
        else:
            refused(superuser, step, "state-refused")


OPEN_RUN = "id = (select id from labrecords_run order by number limit 1)"


def test_no_column_of_a_run_changes_but_its_end(runtime):
    statements = dict(change(runtime, "labrecords_run", OPEN_RUN, leave={"closed_at"}))
    assert len(statements) == len(columns(runtime, "labrecords_run")) - 1
    for statement in statements.values():
        refused(runtime, statement, "run-is-kept")


def test_a_run_is_closed_once_and_not_opened_again(undone):
    close = f"update labrecords_run set closed_at = opened_at + interval '1 hour' where {OPEN_RUN}"
    assert undone.execute(close).rowcount == 1
    refused(undone, close, "run-is-kept")
    refused(undone, f"update labrecords_run set closed_at = null where {OPEN_RUN}", "run-is-kept")


@pytest.mark.parametrize("table", ["labrecords_run", "labrecords_study", "labrecords_user", "labrecords_equipment"])
def test_the_runtime_role_removes_none_of_them(runtime, table):
    with pytest.raises(errors.InsufficientPrivilege):
        runtime.execute(f"delete from {table}")


# --- two at once ---------------------------------------------------------------------------------


CHANGE_PLAN = f"update labrecords_setup set filter = 'mean of 5' where study_id = {DRAFT}"
LOCK = (
    "update labrecords_study set state = 'locked', mark = 'XXXX-XXXX-XXXX', locked_at = now(),"
    f" locked_by_id = created_by_id where id = {DRAFT}"
)


def waits(connection, statement):
    """The statement would wait for the other transaction to end."""
    with pytest.raises(errors.LockNotAvailable), connection.transaction():
        connection.execute(statement)


def test_a_change_of_the_plan_waits_for_whoever_is_locking_it(undone, second):
    undone.execute(LOCK)
    waits(second, CHANGE_PLAN)


def test_a_lock_waits_for_whoever_is_changing_the_plan(undone, second):
    undone.execute(CHANGE_PLAN)
    waits(second, LOCK)


def test_control_neither_waits_for_another_study(undone, second):
    undone.execute(f"select 1 from labrecords_study where id = {LOCKED} for update")
    with second.transaction(force_rollback=True):
        second.execute(CHANGE_PLAN)
        second.execute(LOCK)
