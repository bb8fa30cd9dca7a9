"""What the walls answer."""

import contextlib
from collections.abc import Iterator

import pytest
from django.db import IntegrityError
from psycopg import errors


@contextlib.contextmanager
def refused_as(code: str) -> Iterator[None]:
    """The block is refused by a wall of the database, or by a constraint, of that name."""
    with pytest.raises((IntegrityError, errors.IntegrityError)) as refusal:
        yield
    cause = refusal.value.__cause__ if isinstance(refusal.value, IntegrityError) else refusal.value
    assert cause.diag.constraint_name == code
