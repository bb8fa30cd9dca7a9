"""What somebody types is read as the code that it is, and as no other."""

import pytest

from labrecords.rules.codes import Code, read, squeezed


@pytest.mark.parametrize(
    "typed", ["S-2026-0004", "s-2026-0004", "s20260004", "S 2026 0004", " S‑2026‑0004 ", "s_2026_0004"]
)
def test_a_study_however_typed(typed):
    assert read(typed) == Code("study", "S-2026-0004")


@pytest.mark.parametrize(
    ("typed", "kind", "text"),
    [
        ("r20260001", "report", "R-2026-0001"),
        ("l-2026-0001", "limit", "L-2026-0001"),
        ("sp000123n", "specimen", "SP-000123-N"),
        ("TS-000001-0", "equipment", "TS-000001-0"),
    ],
)
def test_each_kind(typed, kind, text):
    assert read(typed) == Code(kind, text)


@pytest.mark.parametrize("typed", ["S-2026-0004 run 3", "s20260004/3", "S-2026-0004, run 3", "s-2026-0004 RUN 3"])
def test_a_run_by_its_study_and_number(typed):
    assert read(typed) == Code("run", "S-2026-0004", 3)


@pytest.mark.parametrize(
    "typed", ["", "pouch", "S-2026", "X-2026-0001", "SP-000123-K", "R-2026-0001/3", "S-2026-0004 and more", "2026"]
)
def test_what_is_no_code(typed):
    """SP-000123-K has a wrong check character; a report has no runs."""
    assert read(typed) is None


def test_hyphens_of_every_kind_are_left_out():
    assert squeezed(" s‑2026–0004 ") == "S20260004"
