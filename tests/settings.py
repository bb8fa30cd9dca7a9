"""The settings under test: the real ones, with a database server of the run's own.

Each run of the tests has a server of its own, shared by its workers; it never touches the real records, nor those
of another run.
"""

import os
import tempfile

if "PYTEST_XDIST_WORKER" not in os.environ:
    os.environ["LABRECORDS_HOME"] = tempfile.mkdtemp(prefix="labrecords-tests-")
os.environ.setdefault("SECRET_KEY", "only for the tests")

from labrecords.database.server import Server
from labrecords.settings import *  # noqa: F403  the real settings, read once the environment is set
from labrecords.settings import EMBEDDED_SERVER, HOME, INSTALLED_APPS, MIDDLEWARE

if EMBEDDED_SERVER is not None:
    EMBEDDED_SERVER = Server(HOME / "postgres", durable=False)

# Hashing is slow by design; the tests are about other things.
PASSWORD_HASHERS = ["django.contrib.auth.hashers.MD5PasswordHasher"]
SECURE_SSL_REDIRECT = False
SESSION_COOKIE_SECURE = CSRF_COOKIE_SECURE = False

# Each of a test's browsers is a server of its own, and would read every static file before its first answer.
WHITENOISE_AUTOREFRESH = True

# A page that asks the database once per row fails its test.
INSTALLED_APPS = [*INSTALLED_APPS, "zeal"]
MIDDLEWARE = ["tests.guard.once_per_row", *MIDDLEWARE]
ZEAL_RAISE = True

# Several workers and databases: heads of one are no heads of another.
AUDIT_HEADS = HOME / f"heads-{os.getpid()}.tsv"
