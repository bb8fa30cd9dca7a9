"""How each answer reads: what did not happen, the rule, who can lift it and what to do next.

One row a code. The API, the tests and the database use the code; people read the words.
"""

from collections.abc import Iterable
from dataclasses import dataclass

from .answers import Answer, Kind


@dataclass(frozen=True)
class Words:
    """The standing words of one code. `headline` completes "Not recorded: ..." for refusals."""

    kind: Kind
    headline: str
    rule: str
    who: str
    next: str


_ENGINEER = "An engineer of the study."
_MANAGER = "The lab manager."


def _refuse(headline: str, rule: str, who: str, next_: str) -> Words:
    return Words(Kind.REFUSE, headline, rule, who, next_)


WORDS: dict[str, Words] = {
    # --- the study and its set-up
    "setup-not-locked": _refuse(
        "the set-up is not locked",
        "Results are kept only under a locked set-up, so that all of them are taken one way.",
        _ENGINEER,
        "Ask the engineer to lock the set-up, then enter the result again.",
    ),
    "study-not-open": _refuse(
        "the study is not open for testing",
        "Results are kept from the first run of a study until testing is finished.",
        _ENGINEER,
        "Check that this is the right study. If a specimen was left out, ask the engineer.",
    ),
    "technique-changed": _refuse(
        "another technique than the study's",
        "One technique from the first specimen of a study to the last. A tail laid back over a rigid plate often "
        "reads about twice an unsupported one, and no factor converts one into the other.",
        "Nobody, within this study. An engineer can open a successor study under another set-up.",
        "Test the remaining specimens with the study's technique. This one is spent: write down what happened, "
        "and ask the engineer about a replacement.",
    ),
    "rate-changed": _refuse(
        "another grip separation rate than the study's",
        "One rate from the first specimen of a study to the last; the force depends on it.",
        "Nobody, within this study. An engineer can open a successor study under another set-up.",
        "Set the tester to the study's rate before the next specimen, and tell the engineer about this one.",
    ),
    "width-changed": _refuse(
        "another specimen width than the study's",
        "Where the set-up states a nominal width, every specimen has it.",
        _ENGINEER,
        "Check the cutter. A strip of another width is replaced, not recalculated.",
    ),
    "reduction-changed": _refuse(
        "the trace was reduced another way",
        "The same threshold and the same span for all results that are compared.",
        _ENGINEER,
        "Send the raw trace; it is reduced here as the set-up says.",
    ),
    "rate-outside-method": _refuse(
        "the rate lies outside the method",
        "A rate is judged in the system in which it is stated.",
        "The lab manager, by issuing another version of the method.",
        "Choose a rate inside the method's range, or another method version.",
    ),
    "technique-outside-method": _refuse(
        "the technique is not one of the method's",
        "A set-up chooses among the techniques that its method version covers.",
        "The lab manager, by issuing another version of the method.",
        "Choose one of the method's techniques, or another method version.",
    ),
    "width-outside-method": _refuse(
        "the specimen width is not one of the method's",
        "A set-up chooses among the widths that its method version covers.",
        "The lab manager, by issuing another version of the method.",
        "Choose one of the method's widths, or another method version.",
    ),
    "conditioning-unexplained": _refuse(
        "less conditioning than the method asks, and no reason",
        "Conditioning may be shorter than the method's, or none, with a written reason.",
        _ENGINEER,
        "Give the hours the method asks for, or write the reason.",
    ),
    "plan-empty": _refuse(
        "the plan has no groups",
        "A study says beforehand what will be tested: lot, arm, time point, position, packs and specimens.",
        _ENGINEER,
        "Add at least one group to the plan.",
    ),
    "limits-crossed": _refuse(
        "a lower limit is above its upper limit",
        "A limit that nothing can meet is a slip of the pen.",
        _ENGINEER,
        "Correct the limits.",
    ),
    "state-refused": _refuse(
        "the study is not at that step",
        "A study goes from plan to release in order, and each step once.",
        _ENGINEER,
        "Open the study: its page says which step comes next.",
    ),
    "setup-locked": _refuse(
        "the set-up is locked",
        "A locked set-up never changes; another set-up is another study.",
        "Nobody. An engineer can open a successor study, linked to this one.",
        "Open a successor study with a signed reason.",
    ),
    # --- equipment
    "not-calibrated": _refuse(
        "no calibration in force",
        "Equipment must be in calibration on the day of the test; a certificate counts once a second person has "
        "reviewed it.",
        _MANAGER,
        "Choose other equipment, or ask the lab manager to record and review the calibration.",
    ),
    "calibration-overdue": _refuse(
        "equipment past its calibration date",
        "Equipment must be in calibration on the day of the test, through the end of its due date.",
        _MANAGER,
        "Choose other equipment, or ask the lab manager to record the new calibration.",
    ),
    "calibration-failed": _refuse(
        "equipment failed its latest calibration",
        "Equipment that failed its calibration is not used until it has passed one.",
        _MANAGER,
        "Choose other equipment.",
    ),
    "out-of-service": _refuse(
        "equipment out of service",
        "Equipment that is out of service gives no results until it has been put back.",
        _MANAGER,
        "Choose other equipment, or ask the lab manager to check this one and put it back.",
    ),
    "cell-too-large": _refuse(
        "the load cell is too large for this force",
        "The weakest force expected lies inside the cell's verified range, and the cell's own noise is a small share "
        "of it.",
        "An engineer, in writing.",
        "Take a smaller load cell. An engineer can accept this one with a reason.",
    ),
    # --- people
    "not-authorised": _refuse(
        "not authorised for this technique",
        "Only people authorised for a method and technique on the day of the test may record results with it.",
        _MANAGER,
        "Hand the run to somebody who is authorised, or ask the lab manager.",
    ),
    "not-this-person": _refuse(
        "the run is another person's",
        "One person a run. Whoever pulls the next specimen opens a run of their own.",
        "Whoever opened the run.",
        "Close this run and open one of your own.",
    ),
    "not-allowed": _refuse(
        "your role does not allow this",
        "Who may do what is one table; it is printed in the help.",
        _MANAGER,
        "Ask somebody whose role allows it.",
    ),
    "same-person": _refuse(
        "the reviewer or signer had a part in it",
        "Nobody reviews what they tested, and whoever reviews does not sign the release.",
        "Another authorised person.",
        "Ask another reviewer or signatory.",
    ),
    "wrong-password": _refuse(
        "the password is not right",
        "Each signing act asks for the password again.",
        "You.",
        "Type your password again. Nothing was signed.",
    ),
    # --- the specimen
    "specimen-done": _refuse(
        "already recorded",
        "The test destroys the specimen, so it has one result. A retest is a new specimen that names this one.",
        _ENGINEER,
        "Look at the result that is there. If it is wrong, it is corrected with a reason, not entered again.",
    ),
    "specimen-elsewhere": _refuse(
        "this label belongs to another study",
        "A specimen is tested in the study for which it was cut.",
        _ENGINEER,
        "Scan the label again, or go to the study it belongs to.",
    ),
    "specimen-void": _refuse(
        "this specimen is void",
        "A void specimen keeps its number and its reason and gets no result.",
        _ENGINEER,
        "Test its replacement.",
    ),
    "not-in-plan": _refuse(
        "the plan has no place for it",
        "A plan says beforehand what counts; a strip outside it would be chosen after the fact.",
        _ENGINEER,
        "Ask the engineer. A plan is widened by a successor study.",
    ),
    "specimen-unknown": _refuse(
        "no specimen has this label",
        "A result belongs to a specimen that was cut and labelled here.",
        "Whoever cut the specimens.",
        "Scan the label again, or type its letters and digits.",
    ),
    # --- the value
    "no-value": _refuse(
        "no force was given",
        "A result has a maximum force, unless the seal had opened before the test.",
        "You.",
        "Type the force, send the trace, or choose 'opened before test'.",
    ),
    "not-a-number": _refuse(
        "that is not a number",
        "A force is digits with one decimal sign. Nothing is stripped or guessed.",
        "You.",
        "Type the number again.",
    ),
    "negative": _refuse(
        "a force below zero",
        "Pulling a seal apart gives a force of zero or more.",
        "You.",
        "Check the sign, and whether the tester was zeroed.",
    ),
    "no-mode": _refuse(
        "how the strip came apart is missing",
        "The failure mode is part of every result.",
        "You.",
        "Look at the strip and choose how it came apart.",
    ),
    "mode-unknown": _refuse(
        "no such failure mode", "Failure modes are those of the method version.", "You.", "Choose one of those."
    ),
    "unit-mismatch": _refuse(
        "another unit than the set-up's",
        "A value is entered in the unit of the set-up, or as a force; nothing is converted in silence.",
        "You.",
        "Enter the value in the set-up's unit.",
    ),
    "trace-disagrees": _refuse(
        "the file and the typed value disagree",
        "A typed maximum agrees with the trace's within the method's tolerance.",
        "You.",
        "Look at the display or the printout, and keep the one that is right.",
    ),
    "trace-reused": _refuse(
        "this trace is already on another specimen",
        "One stretch of one file belongs to one specimen.",
        "You.",
        "Choose the file of this specimen.",
    ),
    "trace-unreadable": _refuse(
        "the trace cannot be read",
        "A trace is read by its columns of grip travel and force.",
        "You.",
        "Look at the line named, or type the force and keep the file beside it.",
    ),
    # --- times and keys
    "in-the-future": _refuse(
        "the time of test has not come yet", "A result is entered after its test.", "You.", "Check the date and time."
    ),
    "before-receipt": _refuse(
        "tested before it was received",
        "A specimen is tested after its lot was received.",
        "You.",
        "Check the time of test, and the date of receipt.",
    ),
    "before-run": _refuse(
        "tested before the run was opened",
        "Results hang on a run: one person, one tester, one load cell, one room reading.",
        "You.",
        "Check the time of test, or open a run for that time.",
    ),
    "run-closed": _refuse(
        "the run is closed", "A closed run takes no further results.", "Anybody who may test.", "Open another run."
    ),
    "run-is-kept": _refuse(
        "a run is kept as it was opened",
        "Person, equipment, technique, rate and room of a run are facts of its opening; only its end is added, once.",
        "Nobody.",
        "Close the run and open another with what is right.",
    ),
    "key-reused": _refuse(
        "the same key with another entry",
        "A key belongs to one entry, so that sending it twice is safe.",
        "You.",
        "Send the changed entry with a key of its own.",
    ),
    # --- voids
    "cause-unknown": _refuse(
        "no such cause",
        "A result is void only for a cause from the method's list.",
        "The lab manager, by issuing another version of the method.",
        "Choose one of the method's causes, and write what happened.",
    ),
    "void-needs-manager": _refuse(
        "a low value is void only by the manager",
        "Voiding a value below its limit, or the lowest of its lot, needs the lab manager: a failing value is "
        "never taken away because it fails.",
        _MANAGER,
        "Write down the cause and ask the lab manager.",
    ),
    "already-void": _refuse("already void", "A specimen is void once.", "Nobody.", "Nothing needs doing."),
    "replacements-spent": _refuse(
        "no replacement left",
        "The method caps how many specimens of a group may be replaced.",
        _MANAGER,
        "Report the group with fewer specimens, or open a successor study.",
    ),
    # --- review and release
    "runs-open": _refuse(
        "a run is still open",
        "Testing is finished once every run has been closed by whoever tests.",
        "Whoever opened the run.",
        "Have the open runs closed.",
    ),
    "decisions-open": _refuse(
        "a deviation waits for a decision",
        "A result kept under a deviation is decided before the study is reviewed.",
        "Somebody who may decide deviations and is not shown the value.",
        "Have the deviations decided.",
    ),
    "content-changed": _refuse(
        "something changed since you looked",
        "What is signed is exactly what was shown.",
        "You.",
        "Read it again, then sign.",
    ),
    "report-incomplete": _refuse(
        "the report lacks something it must carry",
        "A report carries every item the standard and the method ask for, or 'not known' with the reason.",
        _ENGINEER,
        "Fill in what is named.",
    ),
    "words-missing": _refuse(
        "the reason is missing",
        "Whoever decides, voids, returns or amends says why, in words.",
        "You.",
        "Write at least one sentence.",
    ),
    # --- kept, with a mark
    "below-verified": Words(
        Kind.MARK,
        "below the verified range of the load cell",
        "Below the cell's verified range the force is known only to be small: the result counts, as 'below'.",
        _ENGINEER,
        "Go on. If many are this weak, use a smaller load cell.",
    ),
    "opened-before-test": Words(
        Kind.MARK,
        "opened before the test",
        "A seal that had opened before it was pulled is a result: it counts, as 'opened'.",
        _ENGINEER,
        "Go on, and write down when it was seen.",
    ),
    "above-capacity": Words(
        Kind.MARK,
        "above what the equipment can measure",
        "Above the capacity the force is known only to be large: the result counts, as 'above', and the load cell "
        "is out of service until it has been checked.",
        _MANAGER,
        "Take another load cell, and open a new run.",
    ),
    "no-average": Words(
        Kind.MARK,
        "no average force",
        "An average speaks of a peel; a strip that broke, tore or stretched has only a maximum.",
        "Nobody.",
        "Go on.",
    ),
    # --- kept, and held
    "not-conditioned": Words(
        Kind.HOLD,
        "not conditioned as the set-up says",
        "The result is kept and waits for a decision by somebody who is not shown the value.",
        "Whoever may decide deviations.",
        "Go on, or let the rest condition first.",
    ),
    "room-outside-limits": Words(
        Kind.HOLD,
        "the room was outside the method's limits",
        "The result is kept and waits for a decision by somebody who is not shown the value.",
        "Whoever may decide deviations.",
        "Wait until the room is back, then open a new run.",
    ),
    # --- one extra press, or good to know
    "odd-trace": Words(
        Kind.CHECK,
        "this trace looks odd",
        "A trace that does not start and end at rest, or travels far from what the seal's width implies, is looked "
        "at before it is kept.",
        "You.",
        "Look at the trace. If it is what you saw, confirm it.",
    ),
    "small-share": Words(
        Kind.NOTE,
        "a small share of the cell's capacity",
        "By itself a small share of capacity says nothing: verified range and noise decide.",
        "Nobody.",
        "Go on.",
    ),
}


def kind_of(code: str) -> Kind:
    """How a code bears on what was asked for.

    >>> kind_of("below-verified")
    <Kind.MARK: 'mark'>
    """
    return WORDS[code].kind


def only(kind: Kind, answers: Iterable[Answer]) -> tuple[Answer, ...]:
    """The answers of one kind, in their order."""
    return tuple(answer for answer in answers if kind_of(answer.code) is kind)
