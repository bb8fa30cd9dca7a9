"""The PostgreSQL server that starts by itself when no address is set.

The programs come from a wheel (or LABRECORDS_POSTGRES_BIN); nothing is installed on the computer. The
server listens on a socket in a private folder only, never on the network, and outlives the command that
started it. For Linux and macOS; on Windows set DATABASE_URL.
"""

import contextlib
import hashlib
import os
import pathlib
import stat
import time
from collections.abc import Iterator

from labrecords.database import account as accounts
from labrecords.database import cluster, programs, roles
from labrecords.database.errors import StartError

PORT = 5432  # only part of the socket's name; fixed, so that PGPORT in the environment has no say
ANSWERS, BUSY = 0, 1  # what pg_isready says; busy is starting, recovering or shutting down
PATIENCE_S = {"busy": 600, "dying": 20, "other": 0}


class Server:
    """A PostgreSQL server in the folder `data`, started when it is first needed.

    durable: False gives up safety against a power cut for speed, in tests.
    binaries: folder of the PostgreSQL programs; see `programs.folder`.
    """

    superuser = "postgres"

    def __init__(self, data: pathlib.Path, *, durable: bool = True, binaries: pathlib.Path | None = None) -> None:
        self.data = pathlib.Path(data).resolve()
        self.durable = durable
        self.binaries = binaries
        # The path of a socket holds 107 bytes at most: a short folder, whose name follows from the data's.
        digest = hashlib.sha256(os.fsencode(self.data)).hexdigest()[:16]
        self.socket_dir = pathlib.Path("/tmp", f"labrecords-{digest}")  # noqa: S108 - checked to be private

    def ensure(self) -> None:
        """Leave a server that answers and has its roles and its database; start or create what is missing.

        Raises StartError with a sentence that says what to do.
        """
        if os.name == "nt":
            raise StartError("The built-in database server does not run on Windows. Set DATABASE_URL to a server.")
        self.check_private()
        folder = programs.folder(self.binaries)
        with self._lock() as lock:
            if not self.running():
                account = accounts.of(self.data)
                own = {"superuser": self.superuser, "durable": self.durable}
                cluster.create(self.data, folder=folder, account=account, lock=lock, **own)
                self._make_socket_dir(account)
                self._start(account)
            roles.provision(self)

    def running(self) -> bool:
        """Ask the server itself: a process number alone may be a dead process's, or another program's."""
        return self._answer() == ANSWERS

    def stop(self, mode: str = "fast") -> None:
        """Stop the server, if it runs, and remove its socket's folder. Modes: fast, immediate, smart."""
        with self._lock():
            self._halt(mode)
            with contextlib.suppress(OSError):  # it is not there, or it is still in use
                self.socket_dir.rmdir()

    def check_private(self) -> None:
        """Raise StartError when another user could reach the socket, or could have put one there.

        Whoever reaches the socket is let in as any role, so this is asked before every connection.
        """
        try:
            found = self.socket_dir.lstat()
        except FileNotFoundError:
            return
        mine = stat.S_ISDIR(found.st_mode) and found.st_uid in self._trusted_users()
        if not mine or found.st_mode & 0o077:
            raise StartError(
                f"The folder {self.socket_dir} is open to other users or belongs to one, so the built-in "
                "database server is not used. Find out who made it, remove it, and start again."
            )

    def _trusted_users(self) -> set[int]:
        mine = os.geteuid()
        if mine == 0 and self.data.exists():
            return {mine, self.data.stat().st_uid}
        return {mine}

    @contextlib.contextmanager
    def _lock(self) -> Iterator[int]:
        """Let one process at a time start or stop the server; gives the lock's descriptor."""
        import fcntl  # absent on Windows, where settings still read this file

        try:
            self.data.parent.mkdir(parents=True, exist_ok=True)
            file = self.data.with_name(self.data.name + ".lock").open("a")
        except OSError as refusal:
            raise StartError(
                f"{refusal.filename} cannot be written: {refusal.strerror}. Run the program as the user who "
                "owns the folder, or set LABRECORDS_HOME to another one."
            ) from refusal
        with file:
            fcntl.flock(file, fcntl.LOCK_EX)
            yield file.fileno()

    def _make_socket_dir(self, account: accounts.Account) -> None:
        try:
            self.socket_dir.mkdir(mode=0o700)
        except FileExistsError:
            self.check_private()
        else:
            account.own(self.socket_dir)
            self._halt("fast")  # a server whose folder was cleared away runs on, but nobody can reach it

    def _start(self, account: accounts.Account) -> None:
        began = time.monotonic()
        while not self.running():
            complaint = self._try_start(account)
            if complaint is None:
                return
            if time.monotonic() - began >= PATIENCE_S[self._obstacle()]:
                raise StartError(
                    f"The database server did not start: {complaint}\nThe end of its log, "
                    f"{self.data / 'server.log'}, says why:\n{self._log_tail()}"
                )
            time.sleep(0.25)

    def _try_start(self, account: accounts.Account) -> str | None:
        """Start the server and wait until it answers; give the complaint if it does not."""
        settings = " ".join(f"-c {setting}" for setting in self._settings())
        # The folder comes by PGDATA and the log's name is relative: pg_ctl pastes its arguments into a shell.
        arguments = ("start", "-w", "-s", "-t", "600", "-l", "server.log", "-o", settings)
        code, text = self._run("pg_ctl", *arguments, account=account, cwd=self.data)
        return text if code else None

    def _settings(self) -> list[str]:
        always = [
            "listen_addresses=",
            f"port={PORT}",
            f"unix_socket_directories={self.socket_dir}",
            "unix_socket_permissions=0700",
            "timezone=UTC",
            "log_timezone=UTC",
        ]
        quick = [] if self.durable else ["fsync=off", "synchronous_commit=off", "full_page_writes=off"]
        return always + quick

    def _obstacle(self) -> str:
        """Say why the server does not start: busy, a predecessor still dying, or another reason."""
        if self._answer() == BUSY:
            return "busy"
        pid = self._pid()
        # A killed server stays in the list of processes until its parent, often process 1, looks, and its
        # helpers live on for a moment; PostgreSQL refuses to start beside either.
        return "dying" if pid and not _lives(pid) else "other"

    def _halt(self, mode: str) -> None:
        pid = self._pid()
        # After a power cut the number in the file may be an innocent program's, which must not be stopped.
        if pid and (self.running() or _lives(pid, name="postgres")):
            self._run("pg_ctl", "stop", "-w", "-m", mode, account=accounts.of(self.data))

    def _pid(self) -> int | None:
        """Give the number of the server's process, by its own file; it may be long dead."""
        try:
            return int((self.data / "postmaster.pid").read_text().split()[0])
        except (OSError, ValueError, IndexError):
            return None

    def _answer(self) -> int:
        # Named, because it would ask the system for the name of a user who may have none.
        who = ("-U", self.superuser, "-d", "postgres")
        return self._run("pg_isready", "-q", "-h", str(self.socket_dir), "-p", str(PORT), "-t", "3", *who)[0]

    def _log_tail(self) -> str:
        try:
            return (self.data / "server.log").read_text(errors="replace")[-1500:]
        except OSError:
            return ""

    def _run(self, program: str, *arguments: str, **how) -> tuple[int, str]:
        return programs.run(programs.folder(self.binaries) / program, *arguments, data=self.data, **how)


def _lives(pid: int, name: str = "") -> bool:
    """Say whether a process, with a name that starts so, is there and not a zombie; see proc(5)."""
    if os.getpid() == 1:  # in a container the application itself may be the one who has to look
        with contextlib.suppress(ChildProcessError):
            os.waitpid(pid, os.WNOHANG)
    try:
        before, _, after = pathlib.Path(f"/proc/{pid}/stat").read_text().rpartition(")")
    except OSError:
        return False
    return after.split()[0] not in "ZX" and before.partition("(")[2].startswith(name)
