"""Answers to the correction of a result."""

from .answers import Kind
from .words import ENGINEER, Words, refusal

WORDS: dict[str, Words] = {
    "nothing-corrected": refusal(
        "nothing is different",
        "A correction says what a result is to read instead.",
        "You.",
        "Change what is wrong, or leave the result as it is.",
    ),
    "trace-keeps-value": refusal(
        "the maximum comes from the trace",
        "A trace is kept to the byte, and its maximum follows from it; only what was seen can be corrected.",
        "Nobody.",
        "Correct the failure mode or the remark. If the trace is another strip's, void the specimen.",
    ),
    "not-correctable": refusal(
        "this result is not corrected now",
        "A result that waits for a decision, or was set aside by one, stays as it was decided on.",
        "Whoever may decide deviations.",
        "Have the deviation decided first.",
    ),
    "correction-open": refusal(
        "a correction still waits",
        "A result has one correction at a time, and a study is accepted once every correction is decided.",
        "Somebody who may agree to a correction, and neither asked for it nor pulled the strip.",
        "Have the waiting correction decided.",
    ),
    "corrected-otherwise": refusal(
        "a correction changes what was read, and nothing else",
        "How a strip was pulled, by whom and when, is no matter of correction; a later version rests on a correction.",
        "Nobody.",
        "Ask for a correction. A strip pulled another way is void.",
    ),
    "corrected": Words(
        Kind.MARK,
        "corrected after it was kept",
        "The version before it stays readable, with who corrected it and why.",
        ENGINEER,
        "Go on.",
    ),
}
