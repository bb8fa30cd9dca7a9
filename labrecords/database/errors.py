class StartError(RuntimeError):
    """The built-in PostgreSQL server could not be started; the sentence says what to do."""
