"""Who may do what: the whole table, cell by cell. Whoever changes the table changes this one too."""

import pytest

from labrecords.rules.authority import ACTS, ROLES, allows

EXPECTED = """
                                technician  engineer  manager  signatory  client  device
see the laboratory              yes         yes       yes      yes        -       -
read by program                 yes         yes       yes      -          -       yes
plan a study                    -           yes       -        -          -       -
lock a set-up                   -           yes       -        -          -       -
receive samples                 yes         yes       -        -          -       -
answer for a client             -           yes       yes      -          -       -
open a run                      yes         yes       -        -          -       -
enter a result                  yes         yes       -        -          -       yes
accept a load cell              -           yes       -        -          -       -
take a check                    yes         yes       yes      -          -       yes
correct a result                yes         yes       -        -          -       -
agree to a correction           -           yes       yes      -          -       -
void a specimen                 yes         yes       yes      -          -       -
void a low value                -           -         yes      -          -       -
keep a window                   -           yes       -        -          -       -
approve a limit                 -           yes       yes      -          -       -
keep a budget                   -           yes       -        -          -       -
approve a budget                -           yes       yes      -          -       -
decide a deviation              -           yes       yes      -          -       -
finish testing                  -           yes       -        -          -       -
review a study                  -           yes       yes      -          -       -
release a report                -           -         -        yes        -       -
take a report's records         -           yes       yes      -          -       -
amend a report                  -           yes       yes      -          -       -
withdraw a report               -           -         -        yes        -       -
give a link to a report         -           yes       yes      -          -       -
keep equipment                  -           -         yes      -          -       -
review a calibration            -           yes       yes      -          -       -
report nonconforming work       yes         yes       yes      -          -       -
handle nonconforming work       -           yes       yes      -          -       -
let work resume                 -           -         yes      -          -       -
draw an order                   -           yes       -        -          -       -
authorise people                -           -         yes      -          -       -
issue a method                  -           -         yes      -          -       -
keep clients                    -           yes       yes      -          -       -
read the trail                  -           -         yes      -          -       -
keep people                     -           -         yes      -          -       -
read own reports                -           -         -        -          yes     -
agree to a protocol             -           -         -        -          yes     -
give a link to an own report    -           -         -        -          yes     -
"""
HEAD, *ROWS = EXPECTED.strip("\n").splitlines()
COLUMNS = tuple(HEAD.split())
TABLE = {row[:32].strip(): dict(zip(COLUMNS, row[32:].split(), strict=True)) for row in ROWS}
CELLS = [(act, role, word) for act, row in TABLE.items() for role, word in row.items()]


def test_the_table_has_these_acts_and_roles():
    assert list(ACTS) == list(TABLE)
    assert ROLES == COLUMNS


@pytest.mark.parametrize(("act", "role", "word"), CELLS)
def test_each_cell(act, role, word):
    assert word in ("yes", "-")
    assert allows(frozenset({role}), act) is (word == "yes")


@pytest.mark.parametrize("act", TABLE)
def test_nobody_without_a_role_may_do_anything_and_roles_only_add(act):
    assert not allows(frozenset(), act)
    assert not allows(frozenset({"guest"}), act)
    assert allows(frozenset(ROLES), act)


def test_an_unknown_act_is_a_mistake_in_the_code():
    with pytest.raises(KeyError, match="delete a result"):
        allows(frozenset(ROLES), "delete a result")
