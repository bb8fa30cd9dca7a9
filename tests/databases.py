"""Databases of their own for tests that commit, and logins as the runtime role, the tables' owner, the superuser."""

import contextlib
import os
from collections.abc import Iterator

import psycopg
from django.conf import settings
from django.db import connection, connections

from labrecords.database import url
from labrecords.database.roles import ACCOUNT_SETTINGS, APP, OWNER
from labrecords.database.server import PORT


def administer(*statements: str) -> None:
    """Run statements as the server's superuser: only it may drop a database that is in use."""
    where = os.environ.get("TEST_ADMIN_DATABASE_URL")
    if where is None:
        server = settings.EMBEDDED_SERVER
        server.ensure()
        where = f"host={server.socket_dir} port=5432 user={server.superuser} dbname=postgres"
    with psycopg.connect(where, autocommit=True) as admin:
        for statement in statements:
            admin.execute(statement)


@contextlib.contextmanager
def clone(suffix: str) -> Iterator[str]:
    """A copy of the migrated, empty database, dropped at the end."""
    name = f"{connection.settings_dict['NAME']}_{suffix}"
    blank = f"{connection.settings_dict['NAME']}_blank"
    administer(
        f'DROP DATABASE IF EXISTS "{name}" WITH (FORCE)',
        f'CREATE DATABASE "{name}" OWNER {OWNER} TEMPLATE "{blank}"',
        f'GRANT CONNECT ON DATABASE "{name}" TO {APP}',
    )
    yield name
    administer(f'DROP DATABASE "{name}" WITH (FORCE)')


@contextlib.contextmanager
def django_in(name: str) -> Iterator[None]:
    """Let Django's connections, of all threads, be in that database."""
    before = connection.settings_dict["NAME"]
    connections.close_all()
    connection.settings_dict["NAME"] = name
    try:
        yield
    finally:
        connections.close_all()
        connection.settings_dict["NAME"] = before


@contextlib.contextmanager
def django_as_superuser() -> Iterator[None]:
    """Let Django's connection log in as the server's superuser, who may do what nobody else may."""
    before = {setting: connection.settings_dict[setting] for setting in ACCOUNT_SETTINGS}
    connection.close()
    connection.settings_dict.update({setting: _superuser()[setting] for setting in ACCOUNT_SETTINGS})
    try:
        yield
    finally:
        connection.close()
        connection.settings_dict.update(before)


def _superuser() -> dict:
    where = os.environ.get("TEST_ADMIN_DATABASE_URL")
    if where is not None:
        return url.parse(where)
    server = settings.EMBEDDED_SERVER
    return {"USER": server.superuser, "PASSWORD": "", "HOST": str(server.socket_dir), "PORT": PORT, "OPTIONS": {}}


def runtime(database: str) -> psycopg.Connection:
    """A login as the application has it."""
    return _login(settings.DATABASES["default"], database)


def superuser(database: str) -> psycopg.Connection:
    """A login as the server's superuser."""
    return _login(_superuser(), database)


def owner(database: str) -> psycopg.Connection:
    """A connection with the rights of the tables' owner and no more."""
    made = superuser(database)
    made.execute(f"SET ROLE {OWNER}")
    return made


def _login(account: dict, database: str) -> psycopg.Connection:
    return psycopg.connect(
        host=account["HOST"] or None,
        port=account["PORT"] or PORT,
        user=account["USER"],
        password=account["PASSWORD"] or None,
        dbname=database,
        autocommit=True,
    )
