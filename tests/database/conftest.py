import os
import pathlib
import pwd
import shutil
import subprocess
import sys
import tempfile

import psycopg
import pytest

from labrecords.database.server import PORT, Server

NOBODY = pwd.getpwnam("nobody")
IS_ROOT = os.geteuid() == 0
ROOT_FOLDER = pathlib.Path(__file__).parents[2]


def connect(server, *, user="postgres", database="postgres"):
    return psycopg.connect(
        host=str(server.socket_dir),
        port=PORT,
        user=user,
        dbname=database,
        autocommit=True,
        connect_timeout=10,
    )


def ask(server, query, **who):
    """Give the first column of what the server answers."""
    with connect(server, **who) as connection:
        return [row[0] for row in connection.execute(query).fetchall()]


def child(code, *arguments):
    """Begin a Python process of its own that runs `code`."""
    command = [sys.executable, "-W", "error", "-c", code, *map(str, arguments)]
    return subprocess.Popen(command, cwd=ROOT_FOLDER, stdout=subprocess.PIPE, stderr=subprocess.PIPE, text=True)


def finish(process):
    """Wait for a child, give what it printed; it must have ended well."""
    with process:
        printed, complaints = process.communicate(timeout=60)
    assert process.returncode == 0, complaints
    return printed.strip()


def keep_a_row(server):
    with connect(server) as connection:
        connection.execute("CREATE TABLE kept (word text)")
        connection.execute("INSERT INTO kept VALUES ('peel')")


def kept_rows(server):
    return ask(server, "SELECT word FROM kept")


@pytest.fixture
def open_place():
    """A folder that every user of the computer can reach; pytest's own are root's alone."""
    place = pathlib.Path(tempfile.mkdtemp(prefix="labrecords-test-"))
    place.chmod(0o755)
    yield place
    shutil.rmtree(place)


@pytest.fixture
def make_server(tmp_path, open_place):  # open_place, so that the server stops before its folder goes
    made = []

    def make(data=None, **options):
        made.append(Server(data or tmp_path / "data", **({"durable": False} | options)))
        return made[-1]

    yield make
    for server in made:
        server.stop("immediate")
        assert not server.socket_dir.exists()


@pytest.fixture(scope="session")
def used_folder(tmp_path_factory):
    """A data folder that a server has used and left."""
    server = Server(tmp_path_factory.mktemp("used") / "data", durable=False)
    server.ensure()
    server.stop()
    return server.data


@pytest.fixture
def used_server(make_server, tmp_path, used_folder):
    """A server that runs, on a data folder that has been used before; quicker than making one."""
    server = make_server(shutil.copytree(used_folder, tmp_path / "data"))
    server.ensure()
    return server


@pytest.fixture(scope="module")
def server(tmp_path_factory, used_folder):
    """One running server for all tests of a file that leave it as it is."""
    shared = Server(shutil.copytree(used_folder, tmp_path_factory.mktemp("shared") / "data"), durable=False)
    shared.ensure()
    yield shared
    shared.stop("immediate")
