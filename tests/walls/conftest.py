"""Two databases with committed rows: one to be attacked, one in which a file's tests may go on committing."""

import pytest

from tests import databases
from tests.walls import rows


@pytest.fixture(scope="session")
def kept(django_db_setup, django_db_blocker):
    """The name of a database with a row in every table of records. Whatever a test does there is undone."""
    with databases.clone("kept") as name:
        with django_db_blocker.unblock(), databases.django_in(name):
            rows.fill(rows.world_with(packs=4))
        yield name


@pytest.fixture(scope="module")
def committed(django_db_setup, django_db_blocker):
    """The small laboratory with sixty specimens, in which transactions commit and are sealed."""
    with databases.clone("committed") as name, django_db_blocker.unblock(), databases.django_in(name):
        world = rows.world_with(packs=60)
        world.untouched = iter(world.specimens)
        yield world


@pytest.fixture(autouse=True)
def heads_of_its_own(settings, tmp_path):
    """Heads noted by other tests, of other databases, are no heads of these."""
    settings.AUDIT_HEADS = tmp_path / "heads of its own.tsv"
