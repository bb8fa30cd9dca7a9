"""The steps of a study. The diagram in DEVELOPERS.md is made from this table."""

from .answers import Answer

DRAFT, LOCKED, TESTING, IN_REVIEW, REVIEWED, RELEASED, WITHDRAWN = (
    "draft",
    "locked",
    "testing",
    "in review",
    "reviewed",
    "released",
    "withdrawn",
)

STEPS: dict[str, dict[str, str]] = {
    DRAFT: {"lock the set-up": LOCKED, "withdraw": WITHDRAWN},
    LOCKED: {"open the first run": TESTING, "withdraw": WITHDRAWN},
    TESTING: {"finish testing": IN_REVIEW},
    IN_REVIEW: {"accept": REVIEWED, "return": TESTING},
    REVIEWED: {"release": RELEASED, "return": TESTING},
    RELEASED: {"amend the report": IN_REVIEW},
    WITHDRAWN: {},
}


# What may be done in a study beside its steps, and in which of its states.
ACTS_IN: dict[str, frozenset[str]] = {
    "receive a lot": frozenset({LOCKED, TESTING}),
    "condition a lot": frozenset({LOCKED, TESTING}),
    "cut specimens": frozenset({LOCKED, TESTING}),
    "receive a trace file": frozenset({TESTING}),
    "void a specimen": frozenset({LOCKED, TESTING, IN_REVIEW}),
    "replace a specimen": frozenset({LOCKED, TESTING}),
    "correct a result": frozenset({TESTING, IN_REVIEW}),
    "attach a photograph": frozenset({TESTING, IN_REVIEW}),
    "set a photograph aside": frozenset({TESTING, IN_REVIEW}),
    "decide a deviation": frozenset({TESTING, IN_REVIEW}),
}


def check_act(state: str, act: str) -> list[Answer]:
    """Whether an act may be done in a study in this state."""
    if state in ACTS_IN[act]:
        return []
    when = " or ".join(sorted(ACTS_IN[act]))
    return [Answer("state-refused", f"The study is {state}. To {act}, it is {when}.", {"state": state, "act": act})]


def check_step(state: str, step: str) -> list[Answer]:
    """Whether a study in a state may take a step."""
    if step in STEPS[state]:
        return []
    possible = ", ".join(STEPS[state]) or "nothing further"
    why = f"The study is {state}. From there comes: {possible}. You asked to {step}."
    return [Answer("state-refused", why, {"state": state, "step": step})]
