"""The project served as README says for real, by several workers before a database server of the test's own."""

import contextlib
import json
import os
import pathlib
import re
import signal
import subprocess
import sys
import time
from collections.abc import Iterator
from dataclasses import dataclass

import psutil

from labrecords.database.server import Server
from tests.browser.house import free_port
from tests.faults import servers

ROOT = pathlib.Path(__file__).parents[2]
WORKERS = 3
PATIENCE_S = 120
CALM_S = 6  # the web server takes a new worker that ends sooner for a sign that none can live, and ends itself
WORKER = re.compile(r"(Spawning|Started|Unexpected exit from) (worker-\d)\b")


@dataclass
class Served:
    """A running laboratory: its port, its database server, what its technicians hold, specimens nobody has tested."""

    port: int
    server: Server
    people: dict[str, dict[str, str]]
    untouched: Iterator[str]
    process: subprocess.Popen
    home: pathlib.Path

    def workers(self) -> list[psutil.Process]:
        """The processes that answer."""
        children = psutil.Process(self.process.pid).children()
        return [child for child in children if "granian" in _command_of(child)]

    def kill_worker(self, chance) -> bool:
        """SIGKILL to one worker; False when just now there is none that has been there for a while."""
        workers = [worker for worker in self.workers() if _age_s(worker) > CALM_S]
        if not workers:
            return False
        with contextlib.suppress(psutil.NoSuchProcess):
            chance.choice(workers).send_signal(signal.SIGKILL)
        return True

    def settle(self) -> None:
        """Wait until every worker that was begun is there: what is sent to one that is to come waits for it."""
        until = time.monotonic() + PATIENCE_S
        while self._coming():
            assert time.monotonic() < until, "a worker does not come"
            time.sleep(0.1)

    def _coming(self) -> bool:
        told = dict(map(reversed, WORKER.findall((self.home / "printed.txt").read_text())))  # the last word on each
        calm = [worker for worker in self.workers() if _age_s(worker) > CALM_S]
        return len(calm) < WORKERS or set(told.values()) != {"Started"}

    def check_audit_trail(self) -> str:
        """What is wrong with the trail, by the project's own command; empty when it is as it was sealed."""
        command = [sys.executable, "manage.py", "check_audit_trail"]
        done = subprocess.run(
            command, cwd=ROOT, env=_environment(self.home), capture_output=True, text=True, check=False
        )
        return "" if done.returncode == 0 else done.stdout + done.stderr


def _age_s(process: psutil.Process) -> float:
    try:
        return time.time() - process.create_time()
    except psutil.NoSuchProcess:
        return 0.0


def _command_of(process: psutil.Process) -> str:
    try:
        return " ".join(process.cmdline())
    except (psutil.NoSuchProcess, psutil.ZombieProcess):
        return ""


def _environment(home: pathlib.Path) -> dict[str, str]:
    own = {name: value for name, value in os.environ.items() if not name.endswith("DATABASE_URL")}
    return own | {
        "LABRECORDS_HOME": str(home),
        "DJANGO_SETTINGS_MODULE": "labrecords.settings",
        "SECRET_KEY": "only for the tests, and the same for all workers",
    }


@contextlib.contextmanager
def running(home: pathlib.Path, *, packs: int) -> Iterator[Served]:
    """The laboratory with that many specimens, served until the block ends."""
    servers.open_to_its_user(home)
    server, port = Server(home / "postgres"), free_port()
    try:
        told = _prepared(home, packs)
        with (home / "printed.txt").open("w") as printed, _granian(home, server, port, printed) as process:
            try:
                wait_until_answering(process, port, home)
                yield Served(port, server, told["people"], iter(told["specimens"]), process, home)
            finally:
                _end(process)
    finally:
        server.stop("immediate")


def _prepared(home: pathlib.Path, packs: int) -> dict:
    command = [sys.executable, "-m", "tests.faults.prepared", str(packs)]
    done = subprocess.run(command, cwd=ROOT, env=_environment(home), capture_output=True, text=True, check=False)
    assert done.returncode == 0, done.stderr[-3000:]
    return json.loads(done.stdout)


def _granian(home: pathlib.Path, server: Server, port: int, printed) -> subprocess.Popen:
    # By its address, so that no worker starts the database again: for real nobody but its keeper does.
    address = f"postgresql://labrecords_app@/labrecords?host={server.socket_dir}"
    environment = _environment(home) | {"DATABASE_URL": address}
    command = [sys.executable, "-m", "granian", "--interface", "wsgi", "--host", "127.0.0.1", "--port", str(port)]
    command += ["--workers", str(WORKERS), "--blocking-threads", "4"]
    command += ["--respawn-failed-workers", "--respawn-interval", "0.1", "--factory", "tests.faults.wsgi:built"]
    return subprocess.Popen(command, cwd=ROOT, env=environment, stdout=printed, stderr=subprocess.STDOUT)


def wait_until_answering(process: subprocess.Popen, port: int, home: pathlib.Path) -> None:
    """Return once a page is answered."""
    from tests.faults.sender import Line

    until = time.monotonic() + PATIENCE_S
    while time.monotonic() < until and process.poll() is None:
        with contextlib.suppress(*Line.BROKEN), contextlib.closing(Line(port)) as line:
            if line.ask("GET", "/sign-in/", {}).status == 200:
                return
        time.sleep(0.1)
    raise AssertionError(f"The laboratory is not served:\n{(home / 'printed.txt').read_text()[-3000:]}")


def _end(process: subprocess.Popen) -> None:
    """Ask it to end; what does not within a while is ended with all its workers."""
    children = psutil.Process(process.pid).children() if process.poll() is None else []
    process.terminate()
    with contextlib.suppress(subprocess.TimeoutExpired):
        process.wait(10)
    for left in (child for child in children if child.is_running()):
        with contextlib.suppress(psutil.NoSuchProcess):
            left.kill()
    process.kill()
