"""A database server of a test's own: what kills it, what asks it, what makes it careless."""

import contextlib
import pathlib
import signal

import psutil
import psycopg

from labrecords.database.server import PORT, Server

# A role's settings hold from its next connection on.
ANEW = ("select pg_terminate_backend(pid) from pg_stat_activity where usename = 'labrecords_app'",)
# With these, what was said to be kept may not have reached the disk.
CARELESS = (
    "alter role labrecords_app set synchronous_commit = off",
    "alter system set wal_writer_delay = '10s'",
    "select pg_reload_conf()",
    *ANEW,
)
CAREFUL = (
    "alter role labrecords_app set synchronous_commit = on",
    "alter system reset wal_writer_delay",
    "select pg_reload_conf()",
    *ANEW,
)


def open_to_its_user(home: pathlib.Path) -> None:
    """Let another user reach the folder: a server that is started by root runs as somebody else."""
    for folder in (home, *home.parents):
        if folder == pathlib.Path("/tmp"):
            break
        with contextlib.suppress(PermissionError):
            folder.chmod(folder.stat().st_mode | 0o055)


def kill_database(server: Server) -> None:
    """The server and everything it runs, at once, as a fault would."""
    pid = int((server.data / "postmaster.pid").read_text().split()[0])
    postmaster = psutil.Process(pid)
    for process in [postmaster, *postmaster.children(recursive=True)]:
        with contextlib.suppress(psutil.NoSuchProcess):
            process.send_signal(signal.SIGKILL)


def ask(server: Server, query: str) -> list[tuple]:
    """The rows of a query, as the superuser sees them."""
    with _connection(server) as connection:
        return connection.execute(query).fetchall()


def order(server: Server, *statements: str) -> None:
    """Run statements as the superuser."""
    with _connection(server) as connection:
        for statement in statements:
            connection.execute(statement)


def _connection(server: Server) -> psycopg.Connection:
    where = {"host": str(server.socket_dir), "port": PORT, "user": server.superuser, "dbname": "labrecords"}
    return psycopg.connect(**where, autocommit=True)
