"""The built-in server, each time a real one."""

import contextlib
import fcntl
import os
import pathlib
import shutil
import signal
import stat
import subprocess
import time

import psycopg
import pytest

from labrecords.database import programs
from labrecords.database.errors import StartError
from labrecords.database.server import Server
from tests.database.conftest import IS_ROOT, NOBODY, ask, child, connect, finish, keep_a_row, kept_rows

ENSURE = """
import pathlib, sys, time
from labrecords.database.server import Server
server = Server(pathlib.Path(sys.argv[1]), durable=False)
server.ensure()
"""


# --- Several at once, and sudden ends -----------------------------------------------------------


def test_two_processes_at_once_share_one_server(make_server):
    server = make_server()
    tell = """
import psycopg
place = {"host": str(server.socket_dir), "port": 5432, "dbname": "labrecords"}
with psycopg.connect(user="labrecords_app", **place) as found:
    print(found.execute("SELECT pg_postmaster_start_time()::text").fetchone()[0])
"""
    both = [child(ENSURE + tell, server.data) for _ in range(2)]
    first, second = [finish(process) for process in both]
    assert first == second != ""


def test_a_killed_application_leaves_server_and_data(make_server, tmp_path, used_folder):
    server = make_server(shutil.copytree(used_folder, tmp_path / "data"))
    wait = 'print("ready", flush=True)\ntime.sleep(600)'
    with child(ENSURE + wait, server.data) as application:
        assert application.stdout.readline() == "ready\n"
        keep_a_row(server)
        application.kill()
    assert application.returncode == -signal.SIGKILL
    assert server.running()
    assert kept_rows(server) == ["peel"]


def test_a_killed_server_comes_back_with_every_kept_row(make_server, tmp_path, used_folder):
    server = make_server(shutil.copytree(used_folder, tmp_path / "data"), durable=True)
    server.ensure()
    assert ask(server, "SHOW fsync") == ["on"]
    keep_a_row(server)
    kill_all(server)
    assert not server.running()
    server.ensure()
    assert kept_rows(server) == ["peel"]


def kill_all(server):
    postmaster = int((server.data / "postmaster.pid").read_text().split()[0])
    for pid in [postmaster, *ask(server, "SELECT pid FROM pg_stat_activity WHERE pid <> pg_backend_pid()")]:
        with contextlib.suppress(ProcessLookupError):  # it has seen the others go, and went by itself
            os.kill(pid, signal.SIGKILL)
    deadline = time.monotonic() + 10
    while server.running() and time.monotonic() < deadline:
        time.sleep(0.05)


def test_an_interrupted_initdb_is_begun_again(make_server):
    server = make_server()
    half = server.data.with_name("data.new")
    (half / "base").mkdir(parents=True)
    (half / "PG_VERSION").write_text("18\n")
    server.ensure()
    assert ask(server, "SELECT 1") == [1]
    assert not half.exists()


def test_an_initdb_that_outlives_its_application_keeps_the_lock(make_server, tmp_path, monkeypatch):
    server = make_server()
    slow, begun, go_on = (tmp_path / name for name in ("slow", "begun", "go_on"))
    slow.mkdir()
    for name, does in {
        "initdb": f"touch '{begun}'; while [ ! -e '{go_on}' ]; do sleep 0.05; done",
        "pg_ctl": "exit 1",
        "pg_isready": "exit 2",
    }.items():
        version = 'if [ "$1" = --version ]; then echo "initdb (PostgreSQL) 18.6"; exit; fi'
        (slow / name).write_text(f"#!/bin/sh\n{version}\n{does}\n")
        (slow / name).chmod(0o755)
    with monkeypatch.context() as elsewhere:
        elsewhere.setenv("LABRECORDS_POSTGRES_BIN", str(slow))
        application = child(ENSURE, server.data)
    with application:
        while not begun.exists() and application.poll() is None:
            time.sleep(0.02)
        application.kill()
    with server.data.with_name("data.lock").open("a") as lock:
        try:
            with pytest.raises(BlockingIOError):
                fcntl.flock(lock, fcntl.LOCK_EX | fcntl.LOCK_NB)
        finally:
            go_on.touch()
        fcntl.flock(lock, fcntl.LOCK_EX)
    assert not server.data.exists()


def test_a_cleared_away_socket_folder_is_made_again(used_server):
    keep_a_row(used_server)
    shutil.rmtree(used_server.socket_dir)
    used_server.ensure()
    assert kept_rows(used_server) == ["peel"]


def test_stop_leaves_an_innocent_process_with_the_servers_number_alone(make_server):
    server = make_server()
    server.data.mkdir()
    (server.data / "PG_VERSION").write_text("18\n")
    with subprocess.Popen(["sleep", "600"]) as innocent:
        (server.data / "postmaster.pid").write_text(f"{innocent.pid}\n{server.data}\n")
        server.stop()
        assert innocent.poll() is None
        innocent.kill()


def test_stop_stops(used_server):
    assert used_server.running()
    used_server.stop()
    assert not used_server.running()
    used_server.stop()  # again does no harm


# --- Paths ---------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    "name",
    [
        pytest.param("two words, $HOME `id` \"a\" 'b'", id="spaces"),
        pytest.param("long-" * 40 + "path", id="long"),
    ],
)
def test_any_path_will_do(make_server, tmp_path, name):
    server = make_server(tmp_path / name / "data")
    server.ensure()
    assert ask(server, "SHOW data_directory") == [str(server.data)]


def test_the_long_path_is_longer_than_a_sockets_may_be(tmp_path):
    # unix(7): sun_path holds 108 bytes, the last of them zero
    long = tmp_path / ("long-" * 40 + "path") / "data"
    assert len(os.fsencode(long)) > 107
    assert len(os.fsencode(Server(long).socket_dir / ".s.PGSQL.5432")) <= 107


def test_files_that_are_no_database_are_left_alone(make_server, tmp_path):
    server = make_server()
    server.data.mkdir()
    (server.data / "notes.txt").write_text("seal width 10 mm")
    with pytest.raises(StartError, match="holds files that are no database"):
        server.ensure()
    assert [path.name for path in server.data.iterdir()] == ["notes.txt"]


def test_a_folder_that_cannot_be_written_is_named(tmp_path):
    (tmp_path / "file").write_text("")
    with pytest.raises(StartError, match="LABRECORDS_HOME"):
        Server(tmp_path / "file" / "data").ensure()


# --- Who can reach it ----------------------------------------------------------------------------


def test_socket_and_folder_are_private(server):
    folder = server.socket_dir.stat()
    socket = (server.socket_dir / ".s.PGSQL.5432").stat()
    assert stat.S_IMODE(folder.st_mode) == 0o700
    assert stat.S_IMODE(socket.st_mode) == 0o700
    assert folder.st_uid == socket.st_uid == server.data.stat().st_uid


def open_folder(server):
    server.socket_dir.mkdir()
    server.socket_dir.chmod(0o777)


def readable_folder(server):
    server.socket_dir.mkdir()
    server.socket_dir.chmod(0o750)


def link_elsewhere(server):
    elsewhere = server.data.with_name("elsewhere")
    elsewhere.mkdir(mode=0o700)
    server.socket_dir.symlink_to(elsewhere)


def folder_of_another(server):
    server.socket_dir.mkdir(mode=0o700)
    os.chown(server.socket_dir, NOBODY.pw_uid, NOBODY.pw_gid)


@pytest.mark.parametrize(
    "prepare",
    [
        open_folder,
        readable_folder,
        link_elsewhere,
        pytest.param(
            folder_of_another,
            marks=pytest.mark.skipif(not IS_ROOT, reason="only root can give a folder away"),
        ),
    ],
)
def test_a_socket_folder_that_others_could_use_is_refused(tmp_path, prepare):
    server = Server(tmp_path / "data", durable=False)
    prepare(server)
    try:
        with pytest.raises(StartError, match="open to other users or belongs to one"):
            server.ensure()
        assert not server.data.exists()
        assert list(server.socket_dir.iterdir()) == []
    finally:
        remove = server.socket_dir.unlink if server.socket_dir.is_symlink() else server.socket_dir.rmdir
        remove()


def test_nothing_listens_on_the_network(server):
    assert ask(server, "SHOW listen_addresses") == [""]
    if not pathlib.Path("/proc/net/tcp").exists():
        return
    pid = (server.data / "postmaster.pid").read_text().split()[0]
    mine = {str(path.readlink()) for path in pathlib.Path("/proc", pid, "fd").iterdir()}
    assert mine & sockets("unix", column=6)  # the control: a listener would be found this way
    assert not mine & (sockets("tcp", column=9) | sockets("tcp6", column=9))


def sockets(kind, *, column):
    """Give the sockets of proc(5)'s table `kind`, named as a process's open files name them."""
    path = pathlib.Path("/proc/net", kind)
    lines = path.read_text().splitlines()[1:] if path.exists() else []
    return {f"socket:[{line.split()[column]}]" for line in lines}


def test_the_environment_of_another_server_has_no_say(used_server, monkeypatch):
    used_server.stop()
    for name, value in {
        "PGPORT": "6543",
        "PGHOST": "db.example",
        "PGDATA": "/nowhere",
        "LC_ALL": "xx",
    }.items():
        monkeypatch.setenv(name, value)
    used_server.ensure()
    assert ask(used_server, "SHOW port") == ["5432"]


# --- What it is like ---------------------------------------------------------------------------


def test_pages_carry_checksums_and_text_sorts_alike_everywhere(server):
    assert ask(server, "SHOW data_checksums") == ["on"]
    words = "(VALUES ('Überlapp'), ('peel'), ('Seal')) AS words (word)"
    assert ask(server, f"SELECT word FROM {words} ORDER BY word") == sorted(["Überlapp", "peel", "Seal"])
    if programs.major(programs.folder()) >= 17:
        assert ask(server, "SELECT lower('ÜBERLAPP')") == ["überlapp"]


def test_a_server_that_cannot_start_says_why(used_server):
    used_server.stop()
    with (used_server.data / "postgresql.conf").open("a") as file:
        file.write("no_such_setting = 1\n")
    with pytest.raises(StartError, match="no_such_setting"):
        used_server.ensure()
    assert not used_server.running()


def test_a_refused_login_is_no_reason_to_start_another(server):
    with pytest.raises(psycopg.OperationalError, match="does not exist"), connect(server, database="missing"):
        pass
    assert server.running()
