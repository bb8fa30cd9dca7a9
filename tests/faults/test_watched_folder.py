"""Watcher and database killed while a tester writes: every file is kept once, and lies where it belongs.

The long form: LABRECORDS_FILES=200 .venv/bin/pytest -s tests/faults/test_watched_folder.py
"""

import hashlib
import json
import os
import pathlib
import random
import subprocess
import sys
import time

import pytest

from labrecords.database.server import Server
from tests.faults.servers import ask, kill_database, open_to_its_user
from tests.files.shapes import good

ROOT = pathlib.Path(__file__).parents[2]
FILES = int(os.environ.get("LABRECORDS_FILES", "12"))
SEED = 20260520
PATIENCE_S = 120


class House:
    """A laboratory on a server of its own, a folder, and the watcher, which does not start the server itself."""

    def __init__(self, home: pathlib.Path) -> None:
        self.home, self.folder, self.watcher = home, home / "from-the-tester", None
        self.server = Server(home / "postgres")
        self.folder.mkdir(parents=True)
        open_to_its_user(home)
        kept = {name: value for name, value in os.environ.items() if not name.endswith("DATABASE_URL")}
        self.environment = kept | {"LABRECORDS_HOME": str(home), "DJANGO_SETTINGS_MODULE": "labrecords.settings"}
        command = [sys.executable, "-m", "tests.faults.prepared", "20"]
        done = subprocess.run(command, cwd=ROOT, env=self.environment, capture_output=True, text=True, check=False)
        assert done.returncode == 0, done.stderr[-3000:]
        self.specimens = json.loads(done.stdout)["specimens"]
        address = f"postgresql://labrecords_app@/labrecords?host={self.server.socket_dir}"
        self.environment |= {"DATABASE_URL": address, "SECRET_KEY": "only for the tests"}

    def start(self) -> None:
        command = [sys.executable, "manage.py", "watch_traces", str(self.folder), "--as", "tester_one"]
        command += ["--settled", "0.3", "--unread", "1"]
        with (self.home / "printed.txt").open("a") as out:
            self.watcher = subprocess.Popen(command, cwd=ROOT, env=self.environment, stdout=out, stderr=out)

    def kill(self) -> None:
        self.watcher.kill()
        self.watcher.wait()

    @property
    def printed(self) -> str:
        return (self.home / "printed.txt").read_text()

    def write(self, number: int) -> bytes:
        label = self.specimens[number % len(self.specimens)]
        named = f"# Specimen {label}\n" if number % 3 else ""
        content = f"{named}# pull {number}\n".encode() + good() + b"\n"
        (self.folder / f"pull {number}.csv").write_bytes(content)
        return content

    def wait_until(self, met) -> None:
        until = time.monotonic() + PATIENCE_S
        while not met():
            assert self.watcher.poll() is None, self.printed
            assert time.monotonic() < until, self.printed
            time.sleep(0.1)

    def wait_until_it_is_said(self, words: str) -> None:
        """Once more than it has been so far."""
        before = self.printed.count(words)
        self.wait_until(lambda: self.printed.count(words) > before)

    def left(self) -> list[pathlib.Path]:
        return [path for path in self.folder.iterdir() if path.is_file()]

    def not_kept_once(self, contents) -> list[str]:
        """Hashes that the database does not have exactly once, in a study's hands or in the tray."""
        every = "select sha256 from labrecords_tracefile union all select sha256 from labrecords_waitingfile"
        kept = [sha256 for (sha256,) in ask(self.server, every)]
        return [sha for content in contents if kept.count(sha := hashlib.sha256(content).hexdigest()) != 1]


@pytest.fixture
def house(tmp_path):
    house = House(tmp_path / "home")
    yield house
    if house.watcher is not None:
        house.kill()
    house.server.stop("immediate")


def test_every_file_is_kept_once_whatever_dies(house):
    chance, contents = random.Random(SEED), []
    house.start()
    house.wait_until(lambda: "Watching" in house.printed)
    for number in range(FILES):
        contents.append(house.write(number))
        time.sleep(chance.random() / 2)
        if number % 4 == 1:
            house.kill()
            house.start()
        if number % 4 == 3:
            kill_database(house.server)
            contents.append(house.write(FILES + number))
            house.wait_until_it_is_said("does not answer")
            house.server.ensure()
    house.wait_until(lambda: not house.left())
    faulty = house.not_kept_once(contents)
    said = f"seed {SEED}: {len(contents)} files, {house.printed.count('does not answer')} times no database"
    print(f"{said}, {len(faulty)} not kept exactly once")
    assert faulty == []
    assert list((house.folder / "refused").iterdir()) == []
    assert len(list((house.folder / "taken").iterdir())) == len(contents)
    house.watcher.terminate()
    assert house.watcher.wait(20) == 0
    assert "Stopped." in house.printed


def test_control_a_file_that_was_not_taken_is_noticed(house):
    contents = [house.write(number) for number in range(2)]
    (house.folder / "pull 1.csv").rename(house.folder / "pull 1.csv.part")
    house.start()
    house.wait_until(lambda: len(house.left()) == 1)
    assert house.not_kept_once(contents) == [hashlib.sha256(contents[1]).hexdigest()]
