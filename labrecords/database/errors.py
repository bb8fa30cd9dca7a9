"""What can go wrong with the database itself, and which of it passes by waiting."""

from django.db import InterfaceError, OperationalError


class StartError(RuntimeError):
    """The built-in PostgreSQL server could not be started; the sentence says what to do."""


# The database restarts, is full, or somebody else holds what is wanted for too long: it may answer a little later.
UNREACHABLE = (OperationalError, InterfaceError, StartError)
RETRY_AFTER_S = 5  # a server that was killed under load answered again after two to four seconds
