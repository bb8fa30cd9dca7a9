"""What a result's row must be besides what the gate's cases try: raw rows by the runtime role."""

import pytest
from psycopg import errors

from tests import databases
from tests.walls.refused import refused_as

FIRST = "(select id from labrecords_result where revision = 1 order by at, id limit 1)"


@pytest.fixture(scope="module")
def columns(kept):
    with databases.superuser(kept) as connection:
        found = connection.execute(
            "select attname from pg_attribute"
            " where attrelid = 'labrecords_result'::regclass and attnum > 0 and not attisdropped"
        )
        return [name for (name,) in found]


@pytest.fixture
def runtime(kept):
    with databases.runtime(kept) as connection, connection.transaction(force_rollback=True):
        yield connection


def copy(runtime, columns, **changed) -> int:
    """The first result's row again, with some of its columns changed."""
    values = {"id": "gen_random_uuid()"} | changed
    listed = ", ".join(str(values.get(name, name)) for name in columns)
    again = f"select {listed} from labrecords_result where id = {FIRST}"
    return runtime.execute(f"insert into labrecords_result ({', '.join(columns)}) {again}").rowcount


def refused(runtime, columns, code, **changed):
    with refused_as(code), runtime.transaction():
        copy(runtime, columns, **changed)


def test_control_the_next_revision_of_the_same_specimen_is_taken(runtime, columns):
    correction = f"(select id from labrecords_correction where result_id = {FIRST})"
    assert copy(runtime, columns, revision=2, supersedes_id=FIRST, correction_id=correction) == 1


@pytest.mark.parametrize(
    "changed",
    [
        {"revision": 1},
        {"revision": 0},
        {"revision": 2, "supersedes_id": "null"},
        {"revision": 1, "supersedes_id": FIRST},
        {"revision": 3, "supersedes_id": FIRST},
        {"revision": 2, "supersedes_id": "gen_random_uuid()"},
    ],
    ids=["again", "number 0", "names none", "no later number", "leaves one out", "names what is not there"],
)
def test_a_correction_names_the_revision_before_it(runtime, columns, changed):
    refused(runtime, columns, "specimen-done", **changed)


UNTESTED = (
    "(select id from labrecords_specimen s where not exists (select 1 from labrecords_result where specimen_id = s.id)"
    " and not exists (select 1 from labrecords_void where specimen_id = s.id) limit 1)"
)


def test_control_another_specimen_has_a_first_result_of_its_own(runtime, columns):
    assert copy(runtime, columns, specimen_id=UNTESTED) == 1


@pytest.mark.parametrize("revision", [1, 2])
def test_a_result_does_not_put_another_specimens_out_of_sight(runtime, columns, revision):
    refused(runtime, columns, "specimen-done", specimen_id=UNTESTED, revision=revision, supersedes_id=FIRST)


def test_a_closed_run_takes_no_results(runtime, columns):
    runtime.execute("update labrecords_run set closed_at = now()")
    refused(runtime, columns, "run-closed", specimen_id=UNTESTED)


def test_a_run_that_is_not_there_gives_none(runtime, columns):
    """Foreign keys are checked at commit only, so the wall does not rest on them."""
    refused(runtime, columns, "not-calibrated", specimen_id=UNTESTED, run_id="gen_random_uuid()")


def test_a_specimen_that_is_not_there_has_none(runtime, columns):
    refused(runtime, columns, "setup-not-locked", specimen_id="gen_random_uuid()")


def test_a_result_waits_for_whoever_is_closing_the_study(kept, runtime, columns):
    runtime.execute("update labrecords_study set state = 'in review' where state = 'testing'")
    with databases.runtime(kept) as second:
        second.execute("set lock_timeout = '100ms'")
        with pytest.raises(errors.LockNotAvailable), second.transaction():
            copy(second, columns, specimen_id=UNTESTED)
