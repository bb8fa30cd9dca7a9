"""Workers and database killed while programs send results over HTTP: what was acknowledged is there, once.

The long form: LABRECORDS_WORKER_KILLS=50 .venv/bin/pytest -s tests/faults/test_killed_workers.py
Every tenth kill is the database's. Senders try again with the key of their entry, as the reference of the interface
tells them to; each attempt and each answer is noted outside of the system.
"""

import itertools
import os
import random
import threading
import time

import pytest

from tests.faults import servers
from tests.faults.checker import Kept, judge
from tests.faults.sender import History, Sender

WORKER_KILLS = int(os.environ.get("LABRECORDS_WORKER_KILLS", "4"))
DATABASE_KILLS = max(1, WORKER_KILLS // 10)
SENDERS = 8
SEED = 20260520
LOAD = 30  # results acknowledged between two kills, at least
LOST = 1 if WORKER_KILLS < 20 else 3  # answers; each costs a worker, and the next one takes its time
PATIENCE_S = 300
KEPT = """
    select e.key::text, r.id::text, s.label, r.recorded
    from labrecords_result r join labrecords_specimen s on s.id = r.specimen_id
    left join labrecords_entry e on e.result_id = r.id where s.label = any(array[{}])
"""


@pytest.fixture
def history(tmp_path):
    with History(tmp_path / "history") as history:
        yield history


class Load:
    """Several senders, each with its own line, at work until the block ends; they share the untested specimens."""

    def __init__(self, house, history: History, purpose: str) -> None:
        self.stopped = threading.Event()
        self.faults: list[Exception] = []
        people = itertools.cycle(house.people.values())
        senders = [Sender(house.port, next(people), history, f"{SEED} {purpose} {number}") for number in range(SENDERS)]
        lock = threading.Lock()
        self.threads = [threading.Thread(target=self._work, args=(sender, house, lock)) for sender in senders]

    def _work(self, sender: Sender, house, lock: threading.Lock) -> None:
        try:
            while not self.stopped.is_set():
                with lock:
                    specimen = next(house.untouched)
                sender.send(specimen)
        except Exception as fault:  # shown by the test, in its own thread
            self.faults.append(fault)
        finally:
            sender.line.close()

    def __enter__(self):
        for thread in self.threads:
            thread.start()
        return self

    def __exit__(self, *_):
        self.stopped.set()
        for thread in self.threads:
            thread.join()


def until_busy(load: Load, history: History, more: int) -> None:
    """Wait until so many more results were acknowledged: a kill before any tests nothing."""
    wanted, until = history.acknowledged + more, time.monotonic() + PATIENCE_S
    while history.acknowledged < wanted:
        assert load.faults == [], "a sender has given up, or there is no specimen left"
        assert time.monotonic() < until, "no results are being acknowledged"
        time.sleep(0.02)


def plan_of_kills(chance: random.Random) -> list[str]:
    """Workers and database in an order drawn by chance."""
    kills = ["worker"] * WORKER_KILLS + ["database"] * DATABASE_KILLS
    chance.shuffle(kills)
    return kills


def strike(house, what: str, chance: random.Random) -> None:
    """One kill, at no moment in particular; a database is started again by whoever keeps it."""
    time.sleep(chance.random() / 10)
    if what == "database":
        servers.kill_database(house.server)
        time.sleep(chance.random() / 2)
        house.server.ensure()
        return
    until = time.monotonic() + PATIENCE_S
    while not house.kill_worker(chance):
        assert time.monotonic() < until, "there is no worker to kill"
        time.sleep(0.05)


def kept(house, history: History) -> list[Kept]:
    """What the database holds of the specimens that anything was sent for."""
    labels = ", ".join(f"'{label}'" for label in {attempt.specimen for attempt in history.attempts})
    return [Kept(*row) for row in servers.ask(house.server, KEPT.format(labels))]


def test_nothing_acknowledged_is_lost_or_doubled_and_nobody_has_to_give_up(house, history):
    chance = random.Random(SEED)
    with Load(house, history, "kills") as load:
        for what in plan_of_kills(chance):
            until_busy(load, history, LOAD)
            strike(house, what, chance)
        until_busy(load, history, LOAD)
    verdict = judge(history.attempts, kept(house, history))
    counts = {what: sum(one.outcome == what for one in history.attempts) for what in ("201", "dropped", "503")}
    said = f"seed {SEED}, {WORKER_KILLS} workers and {DATABASE_KILLS} times the database killed: "
    said += f"{len(history.attempts)} attempts, {counts['201']} acknowledged, {counts['dropped']} dropped, "
    said += f"{counts['503']} told to wait; {verdict}"
    print(said)
    assert load.faults == []
    assert verdict.good, verdict
    assert counts["201"] >= LOAD * (WORKER_KILLS + DATABASE_KILLS), "the load was too small to mean anything"
    assert counts["dropped"] + counts["503"] > 0, "no kill met anybody"
    assert house.check_audit_trail() == ""


def lost_answers(house, history: History, *, same_key: bool) -> None:
    """Entries whose first answer is lost once the result is kept: the worker dies with the answer in its hands."""
    sender = Sender(house.port, house.people["runa"], history, f"{SEED} {same_key}", same_key=same_key)
    for specimen in itertools.islice(house.untouched, LOST):
        house.settle()  # so that the answer is lost by the worker, and not the question by a worker that is to come
        sender.send(specimen, lose_first=True)
    sender.line.close()


def test_an_answer_lost_after_the_result_was_kept_is_given_again(house, history):
    lost_answers(house, history, same_key=True)
    assert {attempt.outcome for attempt in history.attempts} >= {"dropped", "201"}
    assert judge(history.attempts, kept(house, history)).good


def test_control_a_sender_with_a_new_key_at_each_try_meets_its_own_double(house, history):
    """The key is what makes the test above pass: without it the sender never learns that its result is kept."""
    lost_answers(house, history, same_key=False)
    verdict = judge(history.attempts, kept(house, history))
    print(f"control, seed {SEED}: {verdict}")
    assert verdict.refused == LOST
    assert history.acknowledged == 0


def test_control_commits_that_do_not_wait_for_the_disk_are_lost(house, history):
    """The whole way is as above, but the database is careless: the checker must find that results are lost."""
    servers.order(house.server, *servers.CARELESS)
    try:
        with Load(house, history, "careless") as load:
            until_busy(load, history, LOAD)
            servers.kill_database(house.server)
            house.server.ensure()
    finally:
        servers.order(house.server, *servers.CAREFUL)
    verdict = judge(history.attempts, kept(house, history))
    print(f"control, seed {SEED}: {history.acknowledged} acknowledged, {verdict}")
    assert verdict.lost > 0
