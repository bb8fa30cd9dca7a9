"""The database server killed under load: whatever was said to be kept is kept, once, and the trail is whole.

The long form: LABRECORDS_KILLS=30 .venv/bin/pytest -s tests/faults/test_killed_database.py
"""

import os
import pathlib
import random
import subprocess
import sys
import time

import pytest

from labrecords.database.server import Server
from tests.faults.servers import CARELESS, ask, open_to_its_user, order
from tests.faults.servers import kill_database as kill

ROOT = pathlib.Path(__file__).parents[2]
KILLS = int(os.environ.get("LABRECORDS_KILLS", "3"))
SEED = 20260520
LOAD = 30  # results acknowledged before each kill, at least
PATIENCE_S = 120


@pytest.fixture
def laboratory_of_its_own(tmp_path):
    """A durable server of its own, with specimens enough; its folder is open to the user that runs it."""
    home = tmp_path / "home"
    home.mkdir()
    open_to_its_user(home)
    server = Server(home / "postgres")
    _run(home, "prepare", str(200 + 150 * KILLS))
    yield home, server
    server.stop("immediate")


def _command(home: pathlib.Path, *arguments: str) -> tuple[list[str], dict[str, str]]:
    environment = {name: value for name, value in os.environ.items() if not name.endswith("DATABASE_URL")}
    environment |= {"LABRECORDS_HOME": str(home), "DJANGO_SETTINGS_MODULE": "labrecords.settings"}
    return [sys.executable, "-m", "tests.faults.writer", *arguments], environment


def _run(home: pathlib.Path, *arguments: str) -> None:
    command, environment = _command(home, *arguments)
    done = subprocess.run(command, cwd=ROOT, env=environment, capture_output=True, text=True, check=False)
    assert done.returncode == 0, done.stderr[-3000:]


def under_fire(home: pathlib.Path, server: Server, kills: int) -> list[list[str]]:
    """Kill the server again and again while results are entered; give what was noted as answered."""
    chance, ledger = random.Random(SEED), home / "ledger"
    command, environment = _command(home, "write", str(ledger), str(SEED))
    with subprocess.Popen(command, cwd=ROOT, env=environment) as writer:
        for _ in range(kills):
            _until_busy(ledger, more=LOAD)
            time.sleep(chance.random() / 2)
            kill(server)
            server.ensure()
        time.sleep(0.5)
        writer.kill()
    return [line.split() for line in ledger.read_text().splitlines() if line.count(" ") == 3]


def _until_busy(ledger: pathlib.Path, *, more: int) -> None:
    """Wait until so many more results were acknowledged: a kill before any tests nothing."""
    before, until = _lines(ledger), time.monotonic() + PATIENCE_S
    while _lines(ledger) < before + more:
        assert time.monotonic() < until, "no results are being entered"
        time.sleep(0.02)


def _lines(ledger: pathlib.Path) -> int:
    return ledger.read_text().count("\n") if ledger.exists() else 0


def test_nothing_that_was_acknowledged_is_lost_or_doubled(laboratory_of_its_own):
    home, server = laboratory_of_its_own
    noted = under_fire(home, server, KILLS)
    kept = {str(key): recorded for key, recorded in ask(server, KEPT)}
    lost = [key for key, _, typed, answer in noted if answer == "kept" and kept.get(key) != typed]
    doubled = ask(server, "select specimen_id from labrecords_result group by specimen_id having count(*) > 1")
    refused = [row for row in noted if row[3] != "kept"]
    said = f"seed {SEED}, {KILLS} kills: {len(noted)} acknowledged, {len(lost)} lost, {len(doubled)} doubled"
    print(said)
    assert (lost, doubled, refused) == ([], [], [])
    assert len(noted) >= LOAD * KILLS, "the load was too small to mean anything"
    _, environment = _command(home)
    check = [sys.executable, "manage.py", "check_audit_trail"]
    done = subprocess.run(check, cwd=ROOT, env=environment, capture_output=True, text=True, check=False)
    assert done.returncode == 0, done.stdout + done.stderr


KEPT = "select e.key, r.recorded from labrecords_entry e join labrecords_result r on r.id = e.result_id"


def test_control_commits_that_do_not_wait_for_the_disk_are_lost(laboratory_of_its_own):
    """Killing alone tests little: this shows that the test would see a loss."""
    home, server = laboratory_of_its_own
    server.ensure()
    order(server, *CARELESS)
    noted = under_fire(home, server, 1)
    kept = {str(key) for key, _ in ask(server, KEPT)}
    lost = [key for key, _, _, answer in noted if answer == "kept" and key not in kept]
    print(f"control, seed {SEED}: {len(noted)} acknowledged, {len(lost)} lost")
    assert lost != []
