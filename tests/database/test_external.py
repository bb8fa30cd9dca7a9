"""A real installation: README's own SQL and commands against a PostgreSQL server that is not ours."""

import os
import pathlib
import re
import subprocess
import sys

import psycopg
import pytest

ROOT = pathlib.Path(__file__).parent.parent.parent
README = (ROOT / "README.md").read_text()
PASSWORD = "twelve slow herons wade"


def statements() -> list[str]:
    block = re.search(r"```sql\n(.*?)```", README, re.DOTALL)[1]
    return [part.replace("'...'", f"'{PASSWORD}'") for part in block.strip().split(";\n") if part.strip()]


@pytest.fixture(scope="module")
def address(tmp_path_factory):
    """A server as an administrator would hand it over: README's roles and database, and nothing else of ours."""
    from labrecords.database.server import Server

    server = Server(tmp_path_factory.mktemp("external") / "data", durable=False)
    server.ensure()
    where = {"host": str(server.socket_dir), "port": 5432, "user": server.superuser, "dbname": "postgres"}
    with psycopg.connect(**where, autocommit=True) as admin:
        admin.execute("DROP DATABASE labrecords")
        for role in ("labrecords_portal", "labrecords_app", "labrecords_owner"):
            admin.execute(f"DROP ROLE {role}")
        for statement in statements():
            admin.execute(statement)
    yield f"postgresql://ROLE@/labrecords?host={server.socket_dir}"
    server.stop("immediate")


def manage(address, *arguments, owner=True, **more):
    environment = {name: value for name, value in os.environ.items() if name != "LABRECORDS_POSTGRES_BIN"}
    environment |= {
        "DATABASE_URL": address.replace("ROLE", "labrecords_app"),
        "SECRET_KEY": "k" * 60 + "0123456789",
        "ALLOWED_HOSTS": "records.example",
        "DJANGO_SETTINGS_MODULE": "labrecords.settings",
    }
    if owner:
        environment["MIGRATION_DATABASE_URL"] = address.replace("ROLE", "labrecords_owner")
    return subprocess.run(
        [sys.executable, "manage.py", *arguments],
        cwd=ROOT,
        env=environment,
        capture_output=True,
        text=True,
        timeout=120,
        check=False,
        **more,
    )


def test_without_the_owners_address_migrate_says_what_to_set(address):
    done = manage(address, "migrate", owner=False)
    assert done.returncode != 0
    assert "MIGRATION_DATABASE_URL" in done.stderr


@pytest.fixture(scope="module")
def started(address):
    """The installation once README's commands have run: tables, a laboratory, its first manager."""
    done = manage(address, "migrate", "--no-input")
    assert done.returncode == 0, done.stderr
    named = ["--name", "Reed Bank Laboratory", "--address", "1 Reed Bank", "--place-of-work", "at the address"]
    first = ["--time-zone", "Europe/Dublin", "--user", "maeve", "--manager", "Maeve Rush", "--password-stdin"]
    done = manage(address, "start_laboratory", *named, *first, input=PASSWORD + "\n")
    assert done.returncode == 0, done.stderr
    return address


def test_the_trail_is_sealed_and_kept(started):
    done = manage(started, "check_audit_trail")
    assert done.returncode == 0, done.stdout + done.stderr
    with psycopg.connect(started.replace("ROLE", "labrecords_app")) as runtime:
        assert runtime.execute("SELECT count(*) FROM labrecords_seal").fetchone()[0] > 0
        with pytest.raises(psycopg.errors.InsufficientPrivilege):
            runtime.execute("DELETE FROM labrecords_event")


def test_the_deployment_check_finds_nothing(address):
    done = manage(address, "check", "--deploy", "--fail-level", "WARNING")
    assert done.returncode == 0, done.stdout + done.stderr


def test_the_demo_is_not_built_among_real_records(started):
    done = manage(started, "demo", "--no-serve")
    assert done.returncode != 0
    assert "has people in it" in done.stderr
