"""Databases for the tests: the owner migrates, the runtime role runs, and nothing is ever flushed.

Records refuse TRUNCATE, so a test that commits cannot be cleaned up after; it gets a new database, cloned from the
migrated one, instead. Sealing happens at commit, so only such tests (`transaction=True`) see seals.
"""

import pathlib
import shutil

import coverage
import pytest
from django.conf import settings
from django.db import connection, connections
from django.test import TransactionTestCase
from django.test.utils import setup_databases, teardown_databases

from labrecords.database import privileges
from labrecords.database.roles import APP, OWNER, as_owner
from tests import world
from tests.built import Built
from tests.databases import administer

HERE = pathlib.Path(__file__).parent
# What rules and numbers are for is tested here, by themselves. Being measured makes a test slower by two thirds, and
# what the others happen to run shows nothing: all but these run unmeasured.
MEASURED = [HERE / "rules", HERE / "stats", HERE.parent / "labrecords"]


@pytest.hookimpl(wrapper=True)
def pytest_runtest_protocol(item):
    measuring = coverage.Coverage.current()
    if measuring is None or any(folder in item.path.parents for folder in MEASURED):
        return (yield)
    measuring.stop()
    try:
        return (yield)
    finally:
        measuring.start()


@pytest.fixture(scope="session")
def django_db_setup(request, django_test_environment, django_db_blocker, django_db_modify_db_settings):
    """One migrated database, and an empty copy from which committed tests get theirs."""
    with django_db_blocker.unblock():
        with as_owner():
            config = setup_databases(verbosity=0, interactive=False, serialized_aliases=[])
            privileges.apply()
        name = connection.settings_dict["NAME"]
        connection.close()
        administer(
            f'DROP DATABASE IF EXISTS "{name}_blank" WITH (FORCE)',
            f'GRANT CONNECT ON DATABASE "{name}" TO {APP}',
            f'CREATE DATABASE "{name}_blank" OWNER {OWNER} TEMPLATE "{name}"',
        )
    teardown, TransactionTestCase._fixture_teardown = TransactionTestCase._fixture_teardown, _fresh
    yield
    TransactionTestCase._fixture_teardown = teardown
    with django_db_blocker.unblock():
        connections.close_all()
        administer(f'DROP DATABASE IF EXISTS "{name}_blank" WITH (FORCE)')
        with as_owner():
            teardown_databases(config, verbosity=0)


def _fresh(self) -> None:
    name = connection.settings_dict["NAME"]
    connections.close_all()
    administer(
        f'DROP DATABASE "{name}" WITH (FORCE)',
        f'CREATE DATABASE "{name}" OWNER {OWNER} TEMPLATE "{name}_blank"',
        f'GRANT CONNECT ON DATABASE "{name}" TO {APP}',
    )


@pytest.fixture(scope="session")
def _built(django_db_setup):
    built = Built()
    with built.ends:
        yield built


@pytest.fixture(scope="module")
def built(_built, django_db_blocker):
    """Stands in what a function builds, once for all: see Built. Not beside pytest-django's `db`."""
    with django_db_blocker.unblock():
        yield _built


@pytest.fixture
def laboratory(built):
    """The small laboratory; what a test adds is gone after it."""
    with built.standing(world.build) as laboratory:
        yield laboratory


def pytest_sessionfinish(session):
    """Stop the run's own server, once, when the last test has run, and leave nothing behind."""
    is_worker = hasattr(session.config, "workerinput")
    if is_worker:
        return
    if settings.EMBEDDED_SERVER is not None:
        settings.EMBEDDED_SERVER.stop("immediate")
        shutil.rmtree(settings.EMBEDDED_SERVER.socket_dir, ignore_errors=True)
    shutil.rmtree(settings.HOME, ignore_errors=True)
