"""A file goes to a study by itself only where there is no doubt."""

import pytest

from labrecords.rules.trace_owner import owner

STUDIES = {"SP-000001-A": "S-2026-0001", "SP-000002-8": "S-2026-0001", "SP-000003-6": "S-2026-0002"}


def test_specimens_of_one_study():
    assert owner(["SP-000001-A", "SP-000002-8"], STUDIES).study == "S-2026-0001"


@pytest.mark.parametrize(
    ("named", "why"),
    [
        ([], "has the code of a specimen"),
        (["SP-000001-A", "SP-000009-5"], "There is no specimen SP-000009-5."),
        (["SP-000001-A", "SP-000003-6"], "several studies: S-2026-0001, S-2026-0002"),
    ],
)
def test_whatever_leaves_a_doubt_waits(named, why):
    found = owner(named, STUDIES)
    assert found.study is None
    assert why in found.why
