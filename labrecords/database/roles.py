"""The database and its three roles, and the change of role for migrations.

| role | may |
|---|---|
| labrecords_owner | own the tables: migrations, and a test's own database |
| labrecords_app | what privileges.py gives it; it owns nothing, so no trigger of ours can it switch off |
| labrecords_portal | what a client may see; labrecords_app takes it by SET LOCAL ROLE, nobody logs in as it |
"""

import contextlib
import hashlib
from collections.abc import Iterator
from typing import TYPE_CHECKING

import psycopg
from django.conf import settings
from django.core.exceptions import ImproperlyConfigured
from django.db import connection, transaction
from psycopg import sql

if TYPE_CHECKING:
    from labrecords.database.server import Server

DATABASE = "labrecords"
OWNER, APP, PORTAL = "labrecords_owner", "labrecords_app", "labrecords_portal"

# NOINHERIT: being able to become the portal role must not give the application that role's rights before.
ROLES = (
    (OWNER, "LOGIN CREATEDB INHERIT NOSUPERUSER NOCREATEROLE NOREPLICATION NOBYPASSRLS"),
    (APP, "LOGIN NOINHERIT NOCREATEDB NOSUPERUSER NOCREATEROLE NOREPLICATION NOBYPASSRLS"),
    (PORTAL, "NOLOGIN NOINHERIT NOCREATEDB NOSUPERUSER NOCREATEROLE NOREPLICATION NOBYPASSRLS"),
)
STATEMENTS = (
    f"GRANT {PORTAL} TO {APP}",
    f"ALTER DATABASE {DATABASE} OWNER TO {OWNER}",
    f"REVOKE ALL ON DATABASE {DATABASE} FROM PUBLIC",
    f"GRANT CONNECT ON DATABASE {DATABASE} TO {APP}",
    # An answer "kept" must mean kept, whatever the server's own setting is.
    f"ALTER ROLE {APP} SET synchronous_commit = on",
    f"ALTER ROLE {APP} SET lock_timeout = '10s'",
    f"ALTER ROLE {APP} SET statement_timeout = '60s'",
    f"ALTER ROLE {APP} SET idle_in_transaction_session_timeout = '5min'",
)
# Kept as the database's comment: it vanishes with the database, and differs once this file has changed.
MARK = "provisioned " + hashlib.sha256(repr((ROLES, STATEMENTS)).encode()).hexdigest()[:16]
ACCOUNT_SETTINGS = ("USER", "PASSWORD", "HOST", "PORT", "OPTIONS")


def provision(server: "Server") -> None:
    """Create the roles and the database of a running `server`, or bring them up to date.

    Does nothing when they are as this file says; may be repeated at any time.
    """
    with _superuser(server) as superuser:
        if _mark(superuser) == MARK:
            return
        for name, flags in ROLES:
            _make_role(superuser, name=name, flags=flags)
        _make_database(superuser)
        for statement in STATEMENTS:
            superuser.execute(statement)
        superuser.execute(sql.SQL("COMMENT ON DATABASE {} IS {}").format(sql.Identifier(DATABASE), MARK))


def _superuser(server: "Server") -> psycopg.Connection:
    from labrecords.database.server import PORT  # server.py imports this file

    return psycopg.connect(
        host=str(server.socket_dir),
        port=PORT,
        user=server.superuser,
        dbname="postgres",
        autocommit=True,  # CREATE DATABASE takes no transaction
        connect_timeout=30,
    )


def _mark(superuser: psycopg.Connection) -> str | None:
    found = superuser.execute(
        "SELECT shobj_description(oid, 'pg_database') FROM pg_database WHERE datname = %s", [DATABASE]
    ).fetchone()
    return found[0] if found else None


def _make_role(superuser: psycopg.Connection, *, name: str, flags: str) -> None:
    known = superuser.execute("SELECT 1 FROM pg_roles WHERE rolname = %s", [name]).fetchone()
    superuser.execute(f"{'ALTER' if known else 'CREATE'} ROLE {name} {flags}")


def _make_database(superuser: psycopg.Connection) -> None:
    known = superuser.execute("SELECT 1 FROM pg_database WHERE datname = %s", [DATABASE]).fetchone()
    if known is None:
        superuser.execute(f"CREATE DATABASE {DATABASE}")


@contextlib.contextmanager
def as_owner() -> Iterator[None]:
    """Let the default connection log in as the tables' owner, for migrations and privileges.

    The account changes (settings.OWNER_DATABASE); the name of the database stays, so that a test's
    database is never mistaken for the real one. Raises ImproperlyConfigured when no owner is set, and
    TransactionManagementError inside a transaction.
    """
    owner = settings.OWNER_DATABASE
    if owner is None:
        raise ImproperlyConfigured(
            "Set MIGRATION_DATABASE_URL to the same database as DATABASE_URL, with the role that owns its "
            "tables. Tables are made and changed by their owner only, so that the role of the running "
            "application can never take a protection off them."
        )
    if connection.in_atomic_block:
        raise transaction.TransactionManagementError(
            "The role of a connection cannot change within a transaction. Call as_owner() outside of it."
        )
    before = dict(connection.settings_dict)
    _log_in_again(owner)
    try:
        yield
    finally:
        _log_in_again(before)


def _log_in_again(account: dict) -> None:
    connection.close()
    for setting in ACCOUNT_SETTINGS:
        connection.settings_dict[setting] = account.get(setting) or ({} if setting == "OPTIONS" else "")
