"""Answers to the engineer's steps: window studies and the limits that come of them."""

from .words import ENGINEER, Words, refusal

WORDS: dict[str, Words] = {
    "window-incomplete": refusal(
        "the window study says too little",
        "A window study has three or more sealing settings, one of them nominal, each with a lot of the plan.",
        ENGINEER,
        "Complete the settings or the groups, then lock.",
    ),
    "window-not-tested": refusal(
        "the window's results are not there yet",
        "A limit is proposed once testing is finished, and approved once the results have been accepted in review.",
        "Whoever tests or reviews the window study.",
        "Finish the window study first.",
    ),
    "no-bound": refusal(
        "the window gives no bound to start from",
        "A process limit starts from the tolerance bound of the weakest acceptable setting, or, for an upper limit, "
        "of the strongest.",
        ENGINEER,
        "Test more packs at that setting, or plan another window study.",
    ),
    "requirement-not-cleared": refusal(
        "the window does not clear the requirement",
        "A process limit on the bad side of the requirement would pass packs that use cannot bear.",
        ENGINEER,
        "Narrow the window, seal better, or ask whoever set the requirement.",
    ),
    "requirement-derived": refusal(
        "a process limit is not a requirement",
        "A requirement is what use demands and is set first; a limit that a window supports says nothing of use.",
        ENGINEER,
        "Enter it as a process limit, and the requirement with its own origin.",
    ),
    "limit-not-in-force": refusal(
        "the limit is not in force",
        "Results are held against a derived limit only in the version that a second person approved last.",
        "Somebody who may approve a limit.",
        "Choose the version in force, or have the new one approved.",
    ),
    "limit-taken-otherwise": refusal(
        "the limit was derived under another set-up",
        "A limit belongs to the technique, rate, width and averaging with which it was derived; no factor converts it.",
        ENGINEER,
        "Derive a limit under this set-up, or plan the study under that of the window.",
    ),
    "budget-incomplete": refusal(
        "the uncertainty budget does not add up",
        "Each contribution has a name of its own, a size, a distribution that fits it, and where it comes from.",
        ENGINEER,
        "Mend the lines named, then keep the budget.",
    ),
    "no-budget": refusal(
        "no uncertainty budget is in force",
        "A decision rule guarded by uncertainty needs a budget of that method version and technique, approved by a "
        "second person.",
        ENGINEER,
        "Work out a budget and have it approved, or choose another decision rule.",
    ),
    "already-decided": refusal(
        "already decided",
        "A proposal is decided once, and so is a validation study.",
        "Nobody.",
        "Propose or plan another.",
    ),
    "version-open": refusal(
        "the last version still waits",
        "A limit has one proposed version at a time.",
        "Somebody who may approve a limit.",
        "Have the waiting version decided first.",
    ),
}
