"""Answers to the steps of a study: voids, replacements, review, release."""

from .words import ENGINEER, MANAGER, Words, refusal

WORDS: dict[str, Words] = {
    # --- voids
    "cause-unknown": refusal(
        "no such cause",
        "A result is void only for a cause from the method's list.",
        "The lab manager, by issuing another version of the method.",
        "Choose one of the method's causes, and write what happened.",
    ),
    "void-needs-manager": refusal(
        "only the manager voids such a value",
        "Voiding a value outside a limit, the lowest of its lot so far, or one that waits for a decision needs the lab "
        "manager: a failing value is never taken away because it fails.",
        MANAGER,
        "Write down the cause and ask the lab manager.",
    ),
    "already-void": refusal("already void", "A specimen is void once.", "Nobody.", "Nothing needs doing."),
    "replacements-spent": refusal(
        "no replacement left",
        "The method caps how many specimens of a group may be replaced.",
        MANAGER,
        "Report the group with fewer specimens, or open a successor study.",
    ),
    # --- samples and nonconforming work
    "lot-waits": refusal(
        "the lot waits for the client's answer",
        "A lot that came other than agreed is cut once the client has said whether it is to be tested.",
        "The client.",
        "Record what the client says, then cut.",
    ),
    "remnants-kept": refusal(
        "the remnants may still be needed",
        "What is left of the packs is kept until the report is released and no nonconforming work is open.",
        "A signatory, by releasing the report.",
        "Keep them where they are.",
    ),
    "ageing-incomplete": refusal(
        "the ageing does not add up",
        "Accelerated ageing states the chamber's temperature, the ambient one and Q10, and ages faster than time.",
        "You.",
        "Take the three from the chamber's record and the plan.",
    ),
    "study-on-hold": refusal(
        "the study is held by nonconforming work",
        "While nonconforming work is open, the studies it touches are neither accepted nor released.",
        MANAGER,
        "See the nonconforming work. The lab manager lets work resume.",
    ),
    "client-not-told": refusal(
        "the client has not been told",
        "Work resumes once every client whose released report is in question has been told.",
        MANAGER,
        "Tell the client, record it, then let work resume.",
    ),
    # --- protocols
    "protocol-not-agreed": refusal(
        "the client has not agreed to the protocol",
        "Where the plan says that the client agrees, a set-up is locked on the version to which the client agreed.",
        "The client, by agreeing.",
        "Put the plan as it stands to the client, and record the answer.",
    ),
    "protocol-not-asked": refusal(
        "the client is not asked",
        "A protocol is put to a client whose agreement the plan asks for.",
        ENGINEER,
        "Change the plan so that the client agrees, or lock the set-up without.",
    ),
    "protocol-unchanged": refusal(
        "there is nothing new to put to the client",
        "The next version of a protocol says something else than the one before.",
        "Nobody.",
        "Wait for the answer, or change the plan first.",
    ),
    "protocol-replaced": refusal(
        "this version is not answered any more",
        "Only the newest version of the protocol of a draft is answered.",
        "Nobody.",
        "Look at the newest version.",
    ),
    # --- review and release
    "runs-open": refusal(
        "a run is still open",
        "Testing is finished once every run has been closed by whoever tests.",
        "Whoever opened the run.",
        "Have the open runs closed.",
    ),
    "decisions-open": refusal(
        "a deviation waits for a decision",
        "A result kept under a deviation is decided before the study is reviewed.",
        "Somebody who may decide deviations and is not shown the value.",
        "Have the deviations decided.",
    ),
    "content-changed": refusal(
        "something changed since you looked",
        "What is signed is exactly what was shown.",
        "You.",
        "Read it again, then sign.",
    ),
    "report-incomplete": refusal(
        "the report lacks something it must carry",
        "A report carries every item the standard and the method ask for, or 'not known' with the reason.",
        ENGINEER,
        "Fill in what is named.",
    ),
    "words-missing": refusal(
        "the reason is missing",
        "Whoever decides, voids, returns or amends says why, in words.",
        "You.",
        "Write at least one sentence.",
    ),
    "link-too-long": refusal(
        "the link would live too long",
        "A link to a report is for one reader and a while; whoever reads for longer has an account.",
        "Nobody.",
        "Give it for 90 days at most. Another can be given when it has ended.",
    ),
}
