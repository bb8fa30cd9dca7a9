"""Which account the server runs under: as root, as an ordinary user, and where neither will do."""

import os
import stat
import subprocess

import pytest

from labrecords.database import account, programs
from labrecords.database.errors import StartError
from tests.database.conftest import IS_ROOT, NOBODY, ask, child, finish, kept_rows


def reachable_by_nobody():
    try:
        command = [programs.folder() / "postgres", "--version"]
        return subprocess.run(command, user="nobody", capture_output=True, cwd="/").returncode == 0
    except PermissionError:
        return False


@pytest.mark.skipif(not IS_ROOT, reason="only root can show what root sees")
def test_root_starts_it_and_the_files_stay_roots(make_server):
    if not account.namespaces_work():
        pytest.skip("this system refuses user namespaces; the next test covers root here")
    server = make_server()
    server.ensure()
    assert ask(server, "SELECT 1") == [1]
    assert server.data.stat().st_uid == 0


@pytest.mark.skipif(not IS_ROOT, reason="only root can show what root sees")
def test_root_without_namespaces_starts_it_as_an_existing_account(make_server, open_place, monkeypatch):
    if not reachable_by_nobody():
        pytest.skip("the PostgreSQL programs lie in a folder that the user nobody cannot read")
    monkeypatch.setattr(account, "namespaces_work", lambda: False)
    server = make_server(open_place / "data")
    server.ensure()
    assert ask(server, "SELECT 1") == [1]
    assert server.data.stat().st_uid == server.socket_dir.stat().st_uid == NOBODY.pw_uid
    assert stat.S_IMODE(open_place.stat().st_mode) == 0o755  # folders above are left as they were


AS_NOBODY = """
import ctypes, fcntl, os, pathlib, pwd, sys
import psycopg
from labrecords.database.server import Server
# All is loaded: Python itself may lie where the ordinary user cannot read.
os.setgroups([]), os.setgid(int(sys.argv[3])), os.setuid(int(sys.argv[2]))
server = Server(pathlib.Path(sys.argv[1]), durable=False, binaries=pathlib.Path(sys.argv[4]))
server.ensure()
with psycopg.connect(host=str(server.socket_dir), port=5432, user="postgres", dbname="postgres") as found:
    found.execute("CREATE TABLE kept (word text)")
    found.execute("INSERT INTO kept VALUES ('peel')")
print(os.geteuid())
"""


@pytest.mark.skipif(not IS_ROOT, reason="the next test covers an ordinary user here")
def test_an_ordinary_user_starts_it_and_root_may_visit(make_server, open_place):
    if not reachable_by_nobody():
        pytest.skip("the PostgreSQL programs lie in a folder that the user nobody cannot read")
    home = open_place / "home"
    home.mkdir()
    os.chown(home, NOBODY.pw_uid, NOBODY.pw_gid)
    ids = (NOBODY.pw_uid, NOBODY.pw_gid)
    printed = finish(child(AS_NOBODY, home / "data", *ids, programs.folder()))
    assert printed == str(NOBODY.pw_uid)
    visited = make_server(home / "data")
    assert kept_rows(visited) == ["peel"]
    visited.stop()
    visited.ensure()
    assert kept_rows(visited) == ["peel"]
    owners = {path.stat().st_uid for path in (visited.data, visited.data / "base", visited.socket_dir)}
    assert owners == {NOBODY.pw_uid}


@pytest.mark.skipif(IS_ROOT, reason="these tests run as root; the test before covers an ordinary user")
def test_an_ordinary_user_starts_it(make_server):
    server = make_server()
    server.ensure()
    assert ask(server, "SELECT 1") == [1]
    assert server.data.stat().st_uid == os.geteuid()


@pytest.mark.skipif(not IS_ROOT, reason="only root can give a folder away")
def test_a_folder_of_another_user_is_left_alone(make_server, open_place, monkeypatch):
    server = make_server(open_place / "data")
    server.data.mkdir()
    (server.data / "PG_VERSION").write_text("18\n")
    os.chown(server.data, NOBODY.pw_uid, NOBODY.pw_gid)
    monkeypatch.setattr(account, "of", lambda data: account.Account(4321, 4321))
    with pytest.raises(StartError, match="belongs to user number"):
        server.ensure()


@pytest.mark.parametrize(
    ("uid", "listed", "namespaces", "expected"),
    [
        (1000, True, False, ("as itself", 1000)),
        (1000, False, True, ("in disguise", 1000)),
        (0, True, True, ("in disguise", 0)),
        (0, True, False, ("switched", NOBODY.pw_uid)),
    ],
)
def test_the_account_follows_from_user_and_system(tmp_path, monkeypatch, uid, listed, namespaces, expected):
    monkeypatch.setattr(os, "geteuid", lambda: uid)
    monkeypatch.setattr(account, "_is_listed", lambda uid: listed)
    monkeypatch.setattr(account, "namespaces_work", lambda: namespaces)
    chosen = account.of(tmp_path / "data")
    how = "in disguise" if chosen.prefix else "switched" if chosen.switch else "as itself"
    assert (how, chosen.uid) == expected


def test_a_user_without_entry_and_without_namespaces_is_told(tmp_path, monkeypatch):
    monkeypatch.setattr(os, "geteuid", lambda: 1000)
    monkeypatch.setattr(account, "_is_listed", lambda uid: False)
    monkeypatch.setattr(account, "namespaces_work", lambda: False)
    with pytest.raises(StartError, match="set DATABASE_URL"):
        account.of(tmp_path / "data")


def test_root_is_told_when_the_named_account_is_not_there(tmp_path, monkeypatch):
    monkeypatch.setattr(os, "geteuid", lambda: 0)
    monkeypatch.setattr(account, "namespaces_work", lambda: False)
    monkeypatch.setenv("LABRECORDS_POSTGRES_ACCOUNT", "no-such-user")
    with pytest.raises(StartError, match="no user called no-such-user"):
        account.of(tmp_path / "data")
