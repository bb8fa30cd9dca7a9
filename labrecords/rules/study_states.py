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
    RELEASED: {},
    WITHDRAWN: {},
}


def check_step(state: str, step: str) -> list[Answer]:
    """Whether a study in a state may take a step."""
    if step in STEPS[state]:
        return []
    possible = ", ".join(STEPS[state]) or "nothing further"
    why = f"The study is {state}. From there comes: {possible}. You asked to {step}."
    return [Answer("state-refused", why, {"state": state, "step": step})]
