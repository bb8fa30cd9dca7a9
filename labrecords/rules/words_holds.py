"""Answers that keep a result and hold it: somebody who is not shown the value decides."""

from .answers import Kind
from .words import Words

KEPT = "The result is kept and waits for a decision by somebody who is not shown the value."
WHO = "Whoever may decide deviations."


def hold(headline: str, next_: str) -> Words:
    """The words of a hold."""
    return Words(Kind.HOLD, headline, KEPT, WHO, next_)


WORDS: dict[str, Words] = {
    "not-conditioned": hold("not conditioned as the set-up says", "Go on, or let the rest condition first."),
    "room-outside-limits": hold(
        "the room was outside the method's limits", "Wait until the room is back, then open a new run."
    ),
    "gauge-overdue": hold(
        "room sensor, width gauge or cutter not in order",
        "Take another one, or ask the lab manager to have this one checked.",
    ),
    "arm-not-shown": hold(
        "nothing shows what this arm went through",
        "Record the sterilisation, ageing or shipping of the arm, with its certificate.",
    ),
    "outside-pull-window": hold(
        "pulled outside its window", "Look at the days between which the arm is to be pulled, then go on."
    ),
    "discrepancy-open": hold(
        "the client has not answered a discrepancy of the lot", "Ask the client before more strips are pulled."
    ),
}
