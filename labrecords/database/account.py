"""The account that the database server runs under.

PostgreSQL refuses to run as root, and `initdb` refuses a user without an entry in the system's list.
Both are let in by a user namespace in which they are called "nobody", while their files stay theirs.
Where the system refuses namespaces, as many containers do, root falls back to an existing account.
"""

import dataclasses
import functools
import os
import pathlib
import subprocess
import sys

from labrecords.database.errors import StartError

VARIABLE = "LABRECORDS_POSTGRES_ACCOUNT"
DISGUISE = (sys.executable, "-I", "-S", str(pathlib.Path(__file__).with_name("disguise.py")))


@dataclasses.dataclass(frozen=True)
class Account:
    """Who owns the data folder, and how a program is run as that user.

    `prefix` goes before the program; `switch` are further arguments of `subprocess.run`.
    """

    uid: int
    gid: int
    prefix: tuple[str, ...] = ()
    switch: dict = dataclasses.field(default_factory=dict)

    def own(self, folder: pathlib.Path) -> None:
        """Hand a folder that this process has just made to the account."""
        if self.uid != os.geteuid():
            os.chown(folder, self.uid, self.gid)


def of(data: pathlib.Path) -> Account:
    """Choose the account for the data folder `data`. Raises StartError when there is none."""
    uid = os.geteuid()
    if uid == 0 and data.exists() and data.stat().st_uid != 0:
        # Root looks into an ordinary user's database: taking the folder over would lock its user out.
        return _switched(data.stat().st_uid, data.stat().st_gid)
    if uid != 0 and _is_listed(uid):
        return Account(uid, os.getegid())
    if namespaces_work():
        return Account(uid, os.getegid(), prefix=DISGUISE)
    if uid == 0:
        return _existing(os.environ.get(VARIABLE, "nobody"))
    raise StartError(
        f"This process runs as user number {uid}, which the system's list of users does not hold, and "
        "PostgreSQL does not start under it. Run it as a listed user, or set DATABASE_URL."
    )


def _switched(uid: int, gid: int) -> Account:
    return Account(uid, gid, switch={"user": uid, "group": gid, "extra_groups": []})


def _is_listed(uid: int) -> bool:
    import pwd  # absent on Windows, where settings still read this file

    try:
        pwd.getpwuid(uid)
    except KeyError:
        return False
    return True


def _existing(name: str) -> Account:
    import pwd

    try:
        entry = pwd.getpwnam(name)
    except KeyError:
        raise StartError(
            f"PostgreSQL does not run as root, and there is no user called {name}. "
            f"Set {VARIABLE} to an existing user, or DATABASE_URL to a server's address."
        ) from None
    return _switched(entry.pw_uid, entry.pw_gid)


@functools.cache
def namespaces_work() -> bool:
    """Try once whether the system lets this process enter a user namespace."""
    if not sys.platform.startswith("linux"):
        return False
    return subprocess.run(DISGUISE, capture_output=True).returncode == 0  # noqa: S603 - our own script
