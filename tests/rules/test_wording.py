"""Every code has words and every word has a code: the code is walked, not a list of our own."""

import ast
import re
from pathlib import Path

import pytest

import labrecords
from labrecords.rules.answers import Answer, Kind, codes
from labrecords.rules.wording import WORDS, Words, checks, kind_of, only

ROOT = Path(labrecords.__file__).parent
BANNED = re.compile(r"\b(please|sorry|invalid|successfully|oops|illegal|forbidden)\b", re.IGNORECASE)
# Where an answer is built from a code that came from elsewhere: the database's wall, or a stored refusal.
COPIES = {"actions/results.py", "actions/refusals.py"}


def _calls(path):
    for node in ast.walk(ast.parse(path.read_text())):
        if isinstance(node, ast.Call) and getattr(node.func, "attr", getattr(node.func, "id", "")) == "Answer":
            yield node


def _in_code():
    found = {}
    for path in sorted(ROOT.rglob("*.py")):
        for call in _calls(path):
            if call.args and isinstance(call.args[0], ast.Constant):
                found.setdefault(call.args[0].value, set()).add(str(path.relative_to(ROOT)))
    return found


def _in_walls():
    texts = [path.read_text() for path in sorted((ROOT / "migrations" / "sql").glob("*.sql"))]
    return {code for text in texts for code in re.findall(r"labrecords_no\(\s*'([^']+)'", text)}


IN_CODE, IN_WALLS = _in_code(), _in_walls()


def test_the_walk_finds_what_it_should():
    """The control: one code written on one line, one on several, one in the walls only."""
    assert "rules/specimen.py" in IN_CODE["specimen-void"]
    assert "rules/series.py" in IN_CODE["rate-changed"]
    assert "run-is-kept" in IN_WALLS
    assert "not-a-code" not in IN_CODE.keys() | IN_WALLS


def test_each_code_that_is_used_has_words():
    assert sorted((IN_CODE.keys() | IN_WALLS) - WORDS.keys()) == []


def test_each_entry_of_words_is_used():
    assert sorted(WORDS.keys() - IN_CODE.keys() - IN_WALLS) == []


def test_codes_are_written_out_where_an_answer_is_made():
    hidden = {
        str(path.relative_to(ROOT))
        for path in ROOT.rglob("*.py")
        for call in _calls(path)
        if not (call.args and isinstance(call.args[0], ast.Constant))
    }
    assert hidden == COPIES


def test_what_the_database_refuses_the_gate_refuses():
    assert {code for code in IN_WALLS if kind_of(code) is not Kind.REFUSE} == set()


def test_codes_are_words_with_hyphens():
    assert [code for code in WORDS if not re.fullmatch(r"[a-z]+(-[a-z]+)*", code)] == []


@pytest.mark.parametrize("code", WORDS)
def test_rule_who_and_next_are_full_sentences(code):
    words = WORDS[code]
    for sentence in (words.rule, words.who, words.next):
        assert re.fullmatch(r"[A-Z'‘“].*\.", sentence)
        assert "  " not in sentence
        assert not BANNED.search(sentence)


@pytest.mark.parametrize("code", WORDS)
def test_headlines_complete_a_sentence_that_has_begun(code):
    headline = WORDS[code].headline
    assert re.fullmatch(r"[a-z].*[a-z]", headline)
    assert not BANNED.search(headline)


@pytest.mark.parametrize("path", sorted((ROOT / "rules").glob("*.py")), ids=lambda path: path.stem)
def test_no_banned_word_in_any_text_of_the_rules(path):
    texts = [node.value for node in ast.walk(ast.parse(path.read_text())) if isinstance(node, ast.Constant)]
    assert [text for text in texts if isinstance(text, str) and BANNED.search(text)] == []


@pytest.mark.parametrize("text", ["Please try again.", "An INVALID value.", "Saved successfully.", "It is forbidden."])
def test_banned_words_are_found(text):
    assert BANNED.search(text)


def test_kinds_other_than_refusals():
    expected = {
        Kind.MARK: {
            *("below-verified", "above-verified", "opened-before-test", "above-capacity", "no-average"),
            "not-as-drawn",
            "corrected",
        },
        Kind.HOLD: {
            *("not-conditioned", "room-outside-limits", "gauge-overdue"),
            *("arm-not-shown", "outside-pull-window", "discrepancy-open"),
        },
        Kind.CHECK: {"odd-trace", "unusual-value", "factor-of-ten"},
        Kind.NOTE: {"small-share", "same-value-again"},
    }
    found = {kind: {code for code in WORDS if kind_of(code) is kind} for kind in expected}
    assert found == expected


def test_only_keeps_one_kind_in_its_order():
    answers = [Answer(code, "Why.") for code in ("no-average", "no-value", "above-capacity", "odd-trace")]
    assert codes(only(Kind.MARK, answers)) == ("no-average", "above-capacity")
    assert codes(only(Kind.HOLD, answers)) == ()


def test_words_are_all_of_one_make():
    assert {type(words) for words in WORDS.values()} == {Words}


def test_the_checks_are_those_that_one_more_press_answers():
    assert {"unusual-value", "factor-of-ten"} <= set(checks())
    assert {kind_of(code) for code in checks()} == {Kind.CHECK}
    assert len(checks()) == sum(words.kind is Kind.CHECK for words in WORDS.values())
