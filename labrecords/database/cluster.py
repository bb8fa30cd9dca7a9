"""The data folder of the built-in server: made once, by `initdb`."""

import os
import pathlib
import shutil

from labrecords.database import programs
from labrecords.database.account import Account
from labrecords.database.errors import StartError


def create(
    data: pathlib.Path, *, folder: pathlib.Path, account: Account, superuser: str, durable: bool, lock: int
) -> None:
    """Make the data folder `data` unless it is there, with the programs in `folder`.

    lock: descriptor of the server's lock file, held until `initdb` has ended.
    Raises StartError when the folder is another user's, or holds something else, or `initdb` fails.
    """
    if (data / "PG_VERSION").exists():
        _check_owner(data, account=account)
        return
    if data.exists() and any(data.iterdir()):
        raise StartError(
            f"{data} holds files that are no database. Move them away, or set LABRECORDS_HOME to another folder."
        )
    # Made under another name, so that an interrupted initdb is never taken for a database.
    new = _emptied(data.with_name(data.name + ".new"), account=account)
    program, options = folder / "initdb", _options(programs.major(folder), superuser, durable)
    # initdb outlives a killed application: it holds the lock as well, so nobody clears its folder meanwhile.
    code, text = programs.run(program, *options, data=new, account=account, pass_fds=(lock,))
    if code:
        raise StartError(
            f"The database could not be made in {new}: {text[-2000:]}\n"
            "Set LABRECORDS_HOME to another folder, or DATABASE_URL to a server's address."
        )
    new.rename(data)
    _sync(data.parent)


def _check_owner(data: pathlib.Path, *, account: Account) -> None:
    owner = data.stat().st_uid
    if owner != account.uid:
        raise StartError(
            f"{data} belongs to user number {owner}, but the database server would run as user number "
            f"{account.uid}. Run the program as the folder's owner, or set LABRECORDS_HOME to another folder."
        )


def _emptied(new: pathlib.Path, *, account: Account) -> pathlib.Path:
    if new.exists():
        shutil.rmtree(new)
    new.mkdir(mode=0o700)
    account.own(new)
    return new


def _options(version: int, superuser: str, durable: bool) -> list[str]:
    # The private folder guards the socket; over a network nobody is let in, even if one were opened.
    options = [f"--username={superuser}", "--auth-local=trust", "--auth-host=reject", "--data-checksums"]
    return options + programs.locale_options(version) + ([] if durable else ["--no-sync"])


def _sync(folder: pathlib.Path) -> None:
    """Make a rename in the folder outlive a power cut."""
    descriptor = os.open(folder, os.O_RDONLY)
    try:
        os.fsync(descriptor)
    finally:
        os.close(descriptor)
