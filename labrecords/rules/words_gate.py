"""Answers to an entry: of the set-up, equipment, people, specimens, values, times; marks and holds."""

from .answers import Kind
from .words import ENGINEER, MANAGER, Words, refusal

WORDS: dict[str, Words] = {
    # --- the study and its set-up
    "setup-not-locked": refusal(
        "the set-up is not locked",
        "Results are kept only under a locked set-up, so that all of them are taken one way.",
        ENGINEER,
        "Ask the engineer to lock the set-up, then enter the result again.",
    ),
    "study-not-open": refusal(
        "the study is not open for testing",
        "Results are kept from the first run of a study until testing is finished.",
        ENGINEER,
        "Check that this is the right study. If a specimen was left out, ask the engineer.",
    ),
    "technique-changed": refusal(
        "another technique than the study's",
        "One technique from the first specimen of a study to the last. A tail laid back over a rigid plate often "
        "reads about twice an unsupported one, and no factor converts one into the other.",
        "Nobody, within this study. An engineer can open a successor study under another set-up.",
        "Test the remaining specimens with the study's technique. This one is spent: write down what happened, "
        "and ask the engineer about a replacement.",
    ),
    "rate-changed": refusal(
        "another grip separation rate than the study's",
        "One rate from the first specimen of a study to the last; the force depends on it.",
        "Nobody, within this study. An engineer can open a successor study under another set-up.",
        "Set the tester to the study's rate before the next specimen, and tell the engineer about this one.",
    ),
    "width-changed": refusal(
        "another specimen width than the study's",
        "Where the set-up states a nominal width, every specimen has it.",
        ENGINEER,
        "Check the cutter. A strip of another width is replaced, not recalculated.",
    ),
    "reduction-changed": refusal(
        "the trace was reduced another way",
        "The same threshold and the same span for all results that are compared.",
        ENGINEER,
        "Send the raw trace; it is reduced here as the set-up says.",
    ),
    "rate-outside-method": refusal(
        "the rate lies outside the method",
        "A rate is judged in the system in which it is stated.",
        "The lab manager, by issuing another version of the method.",
        "Choose a rate inside the method's range, or another method version.",
    ),
    "technique-outside-method": refusal(
        "the technique is not one of the method's",
        "A set-up chooses among the techniques that its method version covers.",
        "The lab manager, by issuing another version of the method.",
        "Choose one of the method's techniques, or another method version.",
    ),
    "width-outside-method": refusal(
        "the specimen width is not one of the method's",
        "A set-up chooses among the widths that its method version covers.",
        "The lab manager, by issuing another version of the method.",
        "Choose one of the method's widths, or another method version.",
    ),
    "conditioning-unexplained": refusal(
        "less conditioning than the method asks, and no reason",
        "Conditioning may be shorter than the method's, or none, with a written reason.",
        ENGINEER,
        "Give the hours the method asks for, or write the reason.",
    ),
    "plan-empty": refusal(
        "the plan has no groups",
        "A study says beforehand what will be tested: lot, arm, time point, position, packs and specimens.",
        ENGINEER,
        "Add at least one group to the plan.",
    ),
    "limits-crossed": refusal(
        "a lower limit is above its upper limit",
        "A limit that nothing can meet is a slip of the pen.",
        ENGINEER,
        "Correct the limits.",
    ),
    "state-refused": refusal(
        "the study is not at that step",
        "A study goes from plan to release in order, and each step once.",
        ENGINEER,
        "Open the study: its page says which step comes next.",
    ),
    "setup-locked": refusal(
        "the set-up is locked",
        "A locked set-up never changes; another set-up is another study.",
        "Nobody. An engineer can open a successor study, linked to this one.",
        "Open a successor study with a signed reason.",
    ),
    # --- people
    "not-authorised": refusal(
        "not authorised for this technique",
        "Only people authorised for a method and technique on the day of the test may record results with it.",
        MANAGER,
        "Hand the run to somebody who is authorised, or ask the lab manager.",
    ),
    "not-this-person": refusal(
        "the run is another person's",
        "One person a run. Whoever pulls the next specimen opens a run of their own.",
        "Whoever opened the run.",
        "Close this run and open one of your own.",
    ),
    "not-allowed": refusal(
        "your role does not allow this",
        "Who may do what is one table; it is printed in the help.",
        MANAGER,
        "Ask somebody whose role allows it.",
    ),
    "same-person": refusal(
        "the reviewer or signer had a part in it",
        "Nobody reviews what they tested, and whoever reviews does not sign the release.",
        "Another authorised person.",
        "Ask another reviewer or signatory.",
    ),
    "wrong-password": refusal(
        "the password is not right",
        "Each signing act asks for the password again.",
        "You.",
        "Type your password again. Nothing was signed.",
    ),
    # --- the specimen
    "specimen-done": refusal(
        "already recorded",
        "The test destroys the specimen, so it has one result. A retest is a new specimen that names this one.",
        ENGINEER,
        "Look at the result that is there. If it is wrong, it is corrected with a reason, not entered again.",
    ),
    "set-aside": refusal(
        "set aside by whoever typed it",
        "An entry that was refused stays on the device that holds it until it is kept, or set aside with a reason.",
        "Whoever typed it.",
        "Nothing. If the value is wanted after all, enter it again at the bench.",
    ),
    "specimen-elsewhere": refusal(
        "this label belongs to another study",
        "A specimen is tested in the study for which it was cut.",
        ENGINEER,
        "Scan the label again, or go to the study it belongs to.",
    ),
    "specimen-void": refusal(
        "this specimen is void",
        "A void specimen keeps its number and its reason and gets no result.",
        ENGINEER,
        "Test its replacement.",
    ),
    "not-in-plan": refusal(
        "the plan has no place for it",
        "A plan says beforehand what counts; a strip outside it would be chosen after the fact.",
        ENGINEER,
        "Ask the engineer. A plan is widened by a successor study.",
    ),
    "specimen-unknown": refusal(
        "no specimen has this label",
        "A result belongs to a specimen that was cut and labelled here.",
        "Whoever cut the specimens.",
        "Scan the label again, or type its letters and digits.",
    ),
    # --- the value
    "no-value": refusal(
        "no force was given",
        "A result has a maximum force, unless the seal had opened before the test.",
        "You.",
        "Type the force, send the trace, or choose 'opened before test'.",
    ),
    "opened-with-force": refusal(
        "opened before the test, and a force",
        "A seal that had opened before it was pulled has no force.",
        "You.",
        "Take the force away, or untick that the seal had opened.",
    ),
    "not-a-number": refusal(
        "that is not a number",
        "A force is digits with one decimal sign. Nothing is stripped or guessed.",
        "You.",
        "Type the number again.",
    ),
    "negative": refusal(
        "a force below zero",
        "Pulling a seal apart gives a force of zero or more.",
        "You.",
        "Check the sign, and whether the tester was zeroed.",
    ),
    "no-mode": refusal(
        "how the strip came apart is missing",
        "The failure mode is part of every result.",
        "You.",
        "Look at the strip and choose how it came apart.",
    ),
    "mode-unknown": refusal(
        "no such failure mode", "Failure modes are those of the method version.", "You.", "Choose one of those."
    ),
    "unit-mismatch": refusal(
        "another unit than the set-up's",
        "A value is entered in the unit of the set-up, or as a force; nothing is converted in silence.",
        "You.",
        "Enter the value in the set-up's unit.",
    ),
    "trace-disagrees": refusal(
        "the file and the typed value disagree",
        "A typed maximum agrees with the trace's within the method's tolerance.",
        "You.",
        "Look at the display or the printout, and keep the one that is right.",
    ),
    "trace-reused": refusal(
        "this trace is already on another specimen",
        "One stretch of one file belongs to one specimen.",
        "You.",
        "Choose the file of this specimen.",
    ),
    "file-elsewhere": refusal(
        "this file is another study's",
        "The same bytes are kept once, in the study whose specimens they are.",
        "You.",
        "Choose the file of this study, or go to the study that is named.",
    ),
    "file-set-aside": refusal(
        "this file was set aside",
        "A file that somebody set aside is not taken again by itself.",
        "Whoever set it aside.",
        "Ask them. If it is a trace after all, send it on the page of its run.",
    ),
    "trace-unreadable": refusal(
        "the trace cannot be read",
        "A trace is read by its columns of grip travel and force.",
        "You.",
        "Look at the line named, or type the force and keep the file beside it.",
    ),
    # --- times and keys
    "in-the-future": refusal(
        "the time of test has not come yet", "A result is entered after its test.", "You.", "Check the date and time."
    ),
    "before-receipt": refusal(
        "tested before it was received",
        "A specimen is tested after its lot was received.",
        "You.",
        "Check the time of test, and the date of receipt.",
    ),
    "before-run": refusal(
        "tested before the run was opened",
        "Results hang on a run: one person, one tester, one load cell, one room reading.",
        "You.",
        "Check the time of test, or open a run for that time.",
    ),
    "run-closed": refusal(
        "the run is closed", "A closed run takes no further results.", "Anybody who may test.", "Open another run."
    ),
    "run-is-kept": refusal(
        "a run is kept as it was opened",
        "Person, equipment, technique, rate and room of a run are facts of its opening; only its end is added, once.",
        "Nobody.",
        "Close the run and open another with what is right.",
    ),
    "key-reused": refusal(
        "the same key with another entry",
        "A key belongs to one entry, so that sending it twice is safe.",
        "You.",
        "Send the changed entry with a key of its own.",
    ),
    # --- kept, with a mark
    "below-verified": Words(
        Kind.MARK,
        "below the verified range of the equipment",
        "Below the verified range the force is known only to be small: the result counts, as 'below'.",
        ENGINEER,
        "Go on. If many are this weak, use a smaller load cell.",
    ),
    "above-verified": Words(
        Kind.MARK,
        "above the verified range of the equipment",
        "Above the verified range the force is known only to be large: the result counts, as 'above'.",
        ENGINEER,
        "Go on. If many are this strong, use a larger load cell.",
    ),
    "opened-before-test": Words(
        Kind.MARK,
        "opened before the test",
        "A seal that had opened before it was pulled is a result: it counts, as 'opened'.",
        ENGINEER,
        "Go on, and write down when it was seen.",
    ),
    "above-capacity": Words(
        Kind.MARK,
        "above what the equipment can measure",
        "Above the capacity the force is known only to be large: the result counts, as 'above', and the load cell "
        "is out of service until it has been checked.",
        MANAGER,
        "Take another load cell, and open a new run.",
    ),
    "no-average": Words(
        Kind.MARK,
        "no average force",
        "An average speaks of a peel; a strip that broke, tore or stretched has only a maximum.",
        "Nobody.",
        "Go on.",
    ),
    # --- one extra press, or good to know
    "odd-trace": Words(
        Kind.CHECK,
        "this trace looks odd",
        "A trace that does not start and end at rest, travels far from what the seal's width implies, falls at once "
        "within the peel, or had to be put in order is looked at before it is kept.",
        "You.",
        "Look at the trace. If it is what you saw, confirm it.",
    ),
    "unusual-value": Words(
        Kind.CHECK,
        "this value lies far from the others",
        "From five values on, one that lies further from their median than five robust standard deviations is looked "
        "at again. It is never refused: a real failure looks like this.",
        "You.",
        "Look at the display and the strip. If it is what you saw, confirm it; if not, change it.",
    ),
    "factor-of-ten": Words(
        Kind.CHECK,
        "this value is about ten times the others, or a tenth",
        "A value that would fit the others with its decimal sign one place on is looked at again.",
        "You.",
        "Look at the display. If it is what you saw, confirm it; if not, change it.",
    ),
    "same-value-again": Words(
        Kind.NOTE,
        "the same value typed three times running",
        "Force varies from strip to strip; the reviewer looks at a value that was typed again and again.",
        "Nobody.",
        "Go on.",
    ),
    "small-share": Words(
        Kind.NOTE,
        "a small share of the cell's capacity",
        "By itself a small share of capacity says nothing: verified range and noise decide.",
        "Nobody.",
        "Go on.",
    ),
}
