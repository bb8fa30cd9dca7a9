"""What a test does in the database is undone, and so is what a file's tests share."""

import contextlib

from django.db import transaction


def around_a_test() -> transaction.Atomic:
    """A transaction as in Django's own TestCase: what runs inside may ask for the outermost block."""
    block = transaction.atomic()
    block._from_testcase = True
    return block


@contextlib.contextmanager
def never_committed():
    """What is done in the block is undone at its end."""
    with around_a_test():
        yield
        transaction.set_rollback(True)
