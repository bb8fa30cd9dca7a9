"""What a test does in the database is undone, and so is what a file's tests share."""

import contextlib

from django.db import transaction


@contextlib.contextmanager
def never_committed():
    """What is done in the block is undone at its end."""
    block = transaction.atomic()
    block._from_testcase = True  # as in Django's own TestCase: what runs inside may ask for the outermost block
    with block:
        yield
        transaction.set_rollback(True)
