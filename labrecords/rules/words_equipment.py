"""Answers about equipment: calibration, service, fit, checks before use, and the records of them."""

from .words import ENGINEER, MANAGER, Words, refusal

WORDS: dict[str, Words] = {
    "not-a-tester": refusal(
        "only a tester has a scanner",
        "A scanner is checked at the tester beside which it lies.",
        "Nobody.",
        "Open the page of the tester, and check the scanner there.",
    ),
    "not-calibrated": refusal(
        "no calibration in force",
        "Equipment must be in calibration on the day of the test; a certificate counts once a second person has "
        "reviewed it.",
        MANAGER,
        "Choose other equipment, or ask the lab manager to record and review the calibration.",
    ),
    "calibration-overdue": refusal(
        "equipment past its calibration date",
        "Equipment must be in calibration on the day of the test, through the end of its due date.",
        MANAGER,
        "Choose other equipment, or ask the lab manager to record the new calibration.",
    ),
    "calibration-failed": refusal(
        "equipment failed its latest calibration",
        "Equipment that failed its calibration is not used until it has passed one.",
        MANAGER,
        "Choose other equipment.",
    ),
    "out-of-service": refusal(
        "equipment out of service",
        "Equipment that is out of service gives no results until it has been put back.",
        MANAGER,
        "Choose other equipment, or ask the lab manager to check this one and put it back.",
    ),
    "not-verified-today": refusal(
        "tester and load cell not checked today",
        "Where the method asks for it, tester and load cell are checked together before the first test of the day, and "
        "used only if the check is accepted.",
        "Whoever may test, by making the check.",
        "Make the check and record it, then go on.",
    ),
    "cell-too-small": refusal(
        "the tester or load cell is too small for these seals",
        "The strongest force expected lies within capacity, and within the verified range unless an engineer accepts "
        "it in writing.",
        ENGINEER,
        "Choose a larger load cell or tester; beyond the verified range alone, an engineer may accept this one.",
    ),
    "cell-too-large": refusal(
        "the load cell is too large for this force",
        "The weakest force expected lies inside the cell's verified range, and the cell's own noise is a small share "
        "of it.",
        "An engineer, in writing.",
        "Take a smaller load cell. An engineer can accept this one with a reason.",
    ),
    # --- records of equipment
    "points-disagree": refusal(
        "the points and the stated outcome disagree",
        "A calibration that passed shows a verified range, and its errors as left lie within the rule.",
        "You.",
        "Compare the points with the certificate, line by line, and type what it says.",
    ),
    "beyond-capacity": refusal(
        "a point beyond the capacity",
        "Forces of a calibration lie within the capacity of the item.",
        "You.",
        "Check the unit of the points: they are typed in newtons.",
    ),
    "file-not-as-named": refusal(
        "the file is not what its name says",
        "A document is a PDF, a PNG or a JPEG, and its bytes begin as such a file begins.",
        "You.",
        "Open the file, save it as a PDF, and send it again.",
    ),
    "document-kept": refusal(
        "this document is here already", "The same bytes are kept once an item.", "Nobody.", "Nothing needs doing."
    ),
    "changed-meanwhile": refusal(
        "somebody changed it while you were typing",
        "The second of two who save the same thing sees what the first wrote.",
        "You.",
        "What you typed is below. Compare it with what is there now, and save again.",
    ),
    "not-a-check": refusal(
        "these three do not make a check",
        "A check is of a tester with a load cell, against a check mass or reference strips.",
        "You.",
        "Look at the labels, and choose one of each.",
    ),
    "baseline-too-short": refusal(
        "too few readings for limits",
        "Limits of a control chart rest on at least eight readings that differ.",
        MANAGER,
        "Take more checks first.",
    ),
}
