"""Controls: the checker finds each thing that it is there to find, and nothing where all is well."""

from dataclasses import asdict, replace

import pytest

from tests.faults.checker import Attempt, Kept, judge

SENT = [
    Attempt("k1", "SP-1", "1.20", "dropped", later=True),
    Attempt("k1", "SP-1", "1.20", "503", later=True, retry_after="5"),
    Attempt("k1", "SP-1", "1.20", "201", "r1"),
    Attempt("k2", "SP-2", "1.30", "201", "r2"),
]
KEPT = [Kept("k1", "r1", "SP-1", "1.20"), Kept("k2", "r2", "SP-2", "1.30")]

WRONG = {
    "an acknowledged result is not there": ("lost", SENT, KEPT[:1]),
    "it has another value": ("lost", SENT, [KEPT[0], replace(KEPT[1], recorded="1.31")]),
    "it has another id": ("lost", SENT, [KEPT[0], replace(KEPT[1], result="r9")]),
    "two results of a specimen": ("doubled", [*SENT, Attempt("k3", "SP-2", "1.30", "dropped", later=True)],
                                  [*KEPT, Kept("k3", "r3", "SP-2", "1.30")]),
    "two results of an entry": ("doubled", SENT, [*KEPT, Kept("k2", "r3", "SP-3", "1.30")]),
    "a result that nobody sent": ("doubled", SENT, [*KEPT, Kept(None, "r3", "SP-3", "1.30")]),
    "an entry given up": ("given_up", [*SENT, Attempt("k3", "SP-3", "1.30", "given up")], KEPT),
    "an entry that met its double": ("refused", [*SENT, Attempt("k3", "SP-2", "1.30", "409")], KEPT),
    "a fault": ("failed", [*SENT, Attempt("k3", "SP-3", "1.30", "500")], KEPT),
    "a 503 without a wait": ("without_wait", [replace(SENT[1], retry_after=None), *SENT[2:]], KEPT),
}  # fmt: skip


def test_a_history_in_which_all_is_well():
    assert judge(SENT, KEPT).good


def test_an_entry_kept_without_the_sender_having_heard_is_no_loss():
    sent = [*SENT, Attempt("k3", "SP-3", "1.30", "dropped", later=True)]
    assert judge(sent, [*KEPT, Kept("k3", "r3", "SP-3", "1.30")]).good


@pytest.mark.parametrize("case", WRONG)
def test_what_is_wrong_is_found(case):
    name, sent, kept = WRONG[case]
    found = asdict(judge(sent, kept))
    assert {what for what, count in found.items() if count} == {name}
