"""Backups: one file of the whole database, a note of what must be in it, and a restore to try it by.

A backup nobody has restored is a hope. The note is taken in the very snapshot that is dumped: how many rows each table
has, and where the audit trail stands.
"""

import hashlib
import json
import os
import pathlib
import subprocess
from collections.abc import Iterator, Mapping
from contextlib import contextmanager
from dataclasses import asdict, dataclass
from datetime import datetime
from typing import Any

import psycopg
from psycopg import IsolationLevel, sql

from labrecords.database import programs
from labrecords.database.roles import DATABASE
from labrecords.database.server import PORT, Server

ENVIRONMENT = {"sslmode": "PGSSLMODE", "sslrootcert": "PGSSLROOTCERT", "sslcert": "PGSSLCERT", "sslkey": "PGSSLKEY"}
AT_ONCE = 1 << 20


class BackupError(Exception):
    """A backup that could not be made, or is not what its note says, in a sentence that says what to do."""


@dataclass(frozen=True)
class Note:
    """What a backup holds: its file with size and hash, rows by table, and the audit trail's last seal."""

    file: str
    size: int
    sha256: str
    made_at: str
    server: str
    rows: dict[str, int]
    seal: int
    head: str


def make(database: Mapping[str, Any], folder: pathlib.Path, *, at: datetime) -> Note:
    """Dump a database, as its owner, into a new file of the folder, with its note beside it.

    Raises BackupError; what was there is never overwritten, and a file without its note is no backup.
    """
    stem = f"labrecords-{at:%Y%m%dT%H%M%SZ}"
    file, half = folder / f"{stem}.dump", folder / f"{stem}.half"
    folder.mkdir(parents=True, exist_ok=True)
    if file.exists() or half.exists():
        raise BackupError(f"{file} is there already. Wait a second, or choose another folder.")
    half.touch(mode=0o600)
    with _snapshot(database) as (connection, snapshot):
        rows, (seal, head) = _rows(connection), _head(connection)
        server = connection.info.parameter_status("server_version") or ""
        arguments = ["--format=custom", f"--snapshot={snapshot}", f"--file={half}", *_where(database)]
        _run("pg_dump", arguments, database)
    _sync(half)
    half.rename(file)
    made = Note(file.name, file.stat().st_size, sha256(file), at.isoformat(), server, rows, seal, head)
    _write(file.with_suffix(".json"), json.dumps(asdict(made), indent=2, sort_keys=True))
    return made


def read_note(file: pathlib.Path) -> Note:
    """The note of a backup, once the file is the one it was made of. Raises BackupError."""
    try:
        note = Note(**json.loads(file.with_suffix(".json").read_text(encoding="utf-8")))
    except OSError as problem:
        raise BackupError(
            f"{problem.filename} cannot be read: {problem.strerror}. A backup has its note beside it."
        ) from problem
    except (ValueError, TypeError) as problem:
        raise BackupError(f"{file.with_suffix('.json')} is no note of a backup: {problem}") from problem
    if not file.exists():
        raise BackupError(f"{file} is not there. Name the .dump file of a backup.")
    if sha256(file) != note.sha256:
        raise BackupError(
            f"{file} is not the file that was made: its hash differs from the note's. Use another backup."
        )
    return note


def restore(file: pathlib.Path, server: Server) -> None:
    """Restore a backup into a server of its own, which holds nothing else. Raises BackupError."""
    server.ensure()
    scratch = {"HOST": str(server.socket_dir), "USER": server.superuser, "NAME": DATABASE}
    _run("pg_restore", ["--exit-on-error", "--no-password", *_where(scratch), str(file)], scratch)


def differences(note: Note, server: Server) -> list[str]:
    """Every table of a restored backup that does not hold as many rows as its note says, in sentences."""
    scratch = {"HOST": str(server.socket_dir), "USER": server.superuser, "NAME": DATABASE}
    with _connect(scratch) as connection:
        found = _rows(connection)
    return [
        f"{table} has {found.get(table, 'no such table')} rows, and had {note.rows.get(table, 'no such table')}."
        for table in sorted(found.keys() | note.rows.keys())
        if found.get(table) != note.rows.get(table)
    ]


@contextmanager
def _snapshot(database: Mapping[str, Any]) -> Iterator[tuple[psycopg.Connection, str]]:
    """A connection that sees one moment, and the name by which pg_dump sees the same."""
    with _connect(database) as connection:
        connection.isolation_level = IsolationLevel.REPEATABLE_READ
        connection.read_only = True
        (name,) = connection.execute("select pg_export_snapshot()").fetchone()
        yield connection, name


def _connect(database: Mapping[str, Any]) -> psycopg.Connection:
    options = {name: value for name, value in (database.get("OPTIONS") or {}).items() if name in ENVIRONMENT}
    try:
        return psycopg.connect(
            host=database["HOST"],
            port=int(database.get("PORT") or PORT),
            user=database["USER"],
            password=database.get("PASSWORD") or None,
            dbname=database["NAME"],
            **options,
        )
    except psycopg.OperationalError as problem:
        raise BackupError(f"The database cannot be reached: {problem}") from problem


def _rows(connection: psycopg.Connection) -> dict[str, int]:
    tables = connection.execute("select tablename from pg_tables where schemaname = 'public' order by 1").fetchall()
    count = sql.SQL("select count(*) from public.{}")
    return {name: connection.execute(count.format(sql.Identifier(name))).fetchone()[0] for (name,) in tables}


def _head(connection: psycopg.Connection) -> tuple[int, str]:
    found = connection.execute("select seq, hash from labrecords_seal order by seq desc limit 1").fetchone()
    return (found[0], bytes(found[1]).hex()) if found else (0, "")


def _where(database: Mapping[str, Any]) -> list[str]:
    port = str(database.get("PORT") or PORT)
    return ["-h", str(database["HOST"]), "-p", port, "-U", str(database["USER"]), "-d", str(database["NAME"])]


def _run(program: str, arguments: list[str], database: Mapping[str, Any]) -> None:
    environment = {name: value for name, value in os.environ.items() if not name.startswith("PG")}
    if database.get("PASSWORD"):
        environment["PGPASSWORD"] = str(database["PASSWORD"])
    for name, variable in ENVIRONMENT.items():
        if name in (database.get("OPTIONS") or {}):
            environment[variable] = str(database["OPTIONS"][name])
    done = subprocess.run(  # noqa: S603 - programs of PostgreSQL, arguments of ours, no shell
        [str(programs.folder() / program), *arguments], env=environment, capture_output=True, text=True, check=False
    )
    if done.returncode:
        raise BackupError(f"{program} ended with {done.returncode}: {done.stderr.strip()[-2000:]}")


def sha256(file: pathlib.Path) -> str:
    """The SHA-256 of a file, read piece by piece."""
    digest = hashlib.sha256()
    with file.open("rb") as opened:
        while piece := opened.read(AT_ONCE):
            digest.update(piece)
    return digest.hexdigest()


def _write(file: pathlib.Path, text: str) -> None:
    file.touch(mode=0o600)
    file.write_text(text + "\n", encoding="utf-8")
    _sync(file)
    folder = os.open(file.parent, os.O_RDONLY)
    try:
        os.fsync(folder)
    finally:
        os.close(folder)


def _sync(file: pathlib.Path) -> None:
    with file.open("rb") as opened:
        os.fsync(opened.fileno())
