"""Run a program as the same user, who to that program is called "nobody" (Linux).

A script of its own, run by path: entering a user namespace between fork and exec of a threaded
application could hang, and the program may run before anything of ours can be imported.

    python -I -S disguise.py PROGRAM ARGUMENT...

Without a program it only tries, and ends with status 1 where the system refuses.
"""

import ctypes
import os
import pathlib
import sys

CLONE_NEWUSER = 0x10000000  # linux/sched.h
NOBODY = 65534


def enter() -> None:
    """Enter a user namespace that maps this user to "nobody". Raises OSError where that is refused."""
    uid, gid = os.geteuid(), os.getegid()
    if ctypes.CDLL(None, use_errno=True).unshare(CLONE_NEWUSER) != 0:
        raise OSError(ctypes.get_errno(), "user namespaces are not available")
    # user_namespaces(7): setgroups must be given up before a group can be mapped.
    for name, text in (
        ("setgroups", "deny"),
        ("uid_map", f"{NOBODY} {uid} 1"),
        ("gid_map", f"{NOBODY} {gid} 1"),
    ):
        pathlib.Path("/proc/self", name).write_text(text)


if __name__ == "__main__":
    try:
        enter()
    except (OSError, AttributeError) as refusal:
        sys.exit(f"{refusal}")
    if sys.argv[1:]:
        os.execv(sys.argv[1], sys.argv[1:])  # noqa: S606 - the caller names a program of its own
