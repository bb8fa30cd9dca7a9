"""Answers to the steps of a validation study: its plan, its drawn order, its decision."""

from .answers import Kind
from .words import ENGINEER, Words, refusal

WORDS: dict[str, Words] = {
    "validation-incomplete": refusal(
        "the validation study says too little",
        "Who pulls, how the strips are dealt, and what must be met are set before the first result.",
        ENGINEER,
        "Complete the people, the groups or the criteria, then lock.",
    ),
    "order-early": refusal(
        "there is not yet everything to draw from",
        "The order is drawn once the set-up is locked and every strip of the plan is cut, before the first run.",
        ENGINEER,
        "Lock the set-up, receive and cut every lot, then draw.",
    ),
    "order-drawn": refusal(
        "the order has been drawn",
        "An order is drawn once: drawing again until it pleases is not chance.",
        "Nobody.",
        "Pull the strips as they were drawn.",
    ),
    "order-not-drawn": refusal(
        "nobody has drawn the order yet",
        "Strips of a validation study are dealt to people, and put in an order, by chance.",
        ENGINEER,
        "Ask the engineer to draw the order.",
    ),
    "not-as-drawn": Words(
        Kind.MARK,
        "pulled otherwise than drawn",
        "A strip pulled by another person, or before its turn, is a true value: it counts, and is marked.",
        ENGINEER,
        "Go on with the strip that comes next, and write down why this one was taken.",
    ),
    "validation-open": refusal(
        "the results have not been accepted yet",
        "A validation study is decided once a second person has accepted its results in review.",
        "Whoever reviews the study.",
        "Finish testing, and have the results reviewed.",
    ),
    "validation-not-met": refusal(
        "the study has not shown it",
        "A method, or a person, counts as validated when every criterion set beforehand is met.",
        "Nobody, from these data.",
        "Decide that it is not passed, find out why, and plan another study.",
    ),
    "not-shown-to-agree": refusal(
        "this person has not been shown to agree",
        "Only people who were shown to agree with the others within the margin are authorised by the study.",
        "Nobody, from these data.",
        "Look at what was done otherwise, train, and add the person by another study.",
    ),
}
