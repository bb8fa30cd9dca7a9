"""What a look-back over 100,000 results costs beside bare indexed SQL for the same rows, as a ratio.

Run `.venv/bin/pytest -c pyproject.toml -o python_files=bench_*.py -o python_functions=bench_* -s
tests/benchmarks/bench_look_back.py` on a quiet machine. The results are copied from one that went through the gate, by
the server's superuser with the walls taken down, in a database that is thrown away.
"""

from datetime import date

import psycopg
import pytest
from django.conf import settings
from django.db import connection

from labrecords.actions import calibrations
from labrecords.queries import look_back
from tests import world as cast
from tests.benchmarks.conftest import best_times

RESULTS, STUDIES = 100_000, 50
COPY = "insert into {0} select (jsonb_populate_record(null::{0}, to_jsonb(s) || {1})).* from {0} s, {2} where {3}"


def copied(table, changed, series, where):
    return COPY.format(
        f"labrecords_{table}", f"jsonb_build_object({changed})", f"generate_series(1, {series}) n", where
    )


def grow(world):
    """Fifty studies like the one there is, each with a run, and results by turns among them."""
    study = "md5('study' || {0})::uuid"
    ours = f"s.study_id = '{world.study.pk}'"
    of = study.format("n")
    spread = study.format(f"(n % {STUDIES} + 1)")
    statements = [f"alter table labrecords_{name} disable trigger user" for name in TABLES]
    statements += [
        copied("study", f"'id', {of}, 'code', 'B-' || n", STUDIES, f"s.id = '{world.study.pk}'"),
        copied("setup", f"'id', gen_random_uuid(), 'study_id', {of}", STUDIES, ours),
        copied("limit", f"'id', gen_random_uuid(), 'study_id', {of}", STUDIES, ours),
        copied("run", f"'id', md5('run' || n)::uuid, 'study_id', {of}", STUDIES, ours),
        copied(
            "specimen",
            f"'id', md5('specimen' || n)::uuid, 'label', 'B' || n, 'group_id', null, 'study_id', {spread}",
            RESULTS,
            f"s.id = '{world.specimens[0].pk}'",
        ),
        copied(
            "result",
            "'id', gen_random_uuid(), 'specimen_id', md5('specimen' || n)::uuid, "
            f"'run_id', md5('run' || (n % {STUDIES} + 1))::uuid, 'strength', 0.9 + 0.00001 * n",
            RESULTS,
            f"s.specimen_id = '{world.specimens[0].pk}'",
        ),
        "analyze",
    ]
    server = settings.EMBEDDED_SERVER
    name = connection.settings_dict["NAME"]
    where = f"host={server.socket_dir} port=5432 user={server.superuser} dbname={name}"
    with psycopg.connect(where, autocommit=True) as admin:
        for statement in statements:
            admin.execute(statement)


TABLES = ("study", "setup", "limit", "run", "specimen", "result")
BARE = """
select r.id, sp.label, sp.study_id, l.name, r.tested_at, r.strength, r.censored, r.marks
  from labrecords_result r
  join labrecords_run run on run.id = r.run_id
  join labrecords_specimen sp on sp.id = r.specimen_id
  join labrecords_pack p on p.id = sp.pack_id
  join labrecords_lot l on l.id = p.lot_id
 where run.cell_id = %s and r.tested_at >= '2026-01-10' and r.tested_at < '2026-05-22'
"""


@pytest.mark.django_db(transaction=True)
def bench_looking_back():
    """Prints the ratio; nothing is asserted about time."""
    world = cast.build()
    cast.enter(world)
    grow(world)
    points = [["1", "0.97"], ["2", "1.94"], ["4", "3.9"], ["10", "9.7"], ["20", "19.4"]]
    made = calibrations.record(
        equipment=world.cell,
        certificate="C-B",
        provider="Nordlys Calibration",
        performed_on=date(2026, 5, 20),
        due_on=date(2027, 5, 20),
        passed=False,
        rule="E4",
        as_found=points,
        by=world.magnus,
        at=world.at,
    )

    def ours():
        return look_back.since_last_good(made)

    def bare():
        with connection.cursor() as cursor:
            cursor.execute(BARE, [world.cell.pk])
            return cursor.fetchall()

    assert ours().results == len(bare()) == RESULTS + 1
    mine, theirs = best_times(ours, bare, rounds=5)
    said = f"{mine / theirs:.2f} times bare SQL: {mine:.2f} s and {theirs:.2f} s for {RESULTS} results"
    print(f"\n{said}")
