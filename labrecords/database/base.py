"""A PostgreSQL backend for Django that starts the built-in server when it does not answer.

ENGINE = "labrecords.database". Only a connection starts the server, so that commands which need no
database (`check`, `--help`) start nothing, and a running server costs nothing.
"""

import psycopg
from django.conf import settings
from django.db import OperationalError
from django.db.backends.postgresql import base

from labrecords.database.server import PORT


class DatabaseWrapper(base.DatabaseWrapper):
    """Django's own backend, with one more try after `settings.EMBEDDED_SERVER.ensure()`."""

    def get_connection_params(self) -> dict:
        """Give Django's parameters, with the built-in server's port, so that PGPORT has no say."""
        return {"port": PORT} | super().get_connection_params()

    def get_new_connection(self, conn_params: dict) -> psycopg.Connection:
        """Connect; if that fails, make sure that the server runs and try once more."""
        server = settings.EMBEDDED_SERVER
        if server is None:
            return super().get_new_connection(conn_params)
        server.check_private()
        try:
            return super().get_new_connection(conn_params)
        except (psycopg.OperationalError, OperationalError):
            server.ensure()
            return super().get_new_connection(conn_params)
