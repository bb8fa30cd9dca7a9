"""Who may do what: one table of role and act.

Roles are names of Django groups. `queries/access.py` reads this table and nothing else decides.
"""

TECHNICIAN, ENGINEER, MANAGER, SIGNATORY, CLIENT, DEVICE = (
    "technician",
    "engineer",
    "manager",
    "signatory",
    "client",
    "device",
)
ROLES = (TECHNICIAN, ENGINEER, MANAGER, SIGNATORY, CLIENT, DEVICE)

ACTS: dict[str, frozenset[str]] = {
    "see the laboratory": frozenset({TECHNICIAN, ENGINEER, MANAGER, SIGNATORY}),
    "read by program": frozenset({TECHNICIAN, ENGINEER, MANAGER, DEVICE}),
    "plan a study": frozenset({ENGINEER}),
    "lock a set-up": frozenset({ENGINEER}),
    "receive samples": frozenset({TECHNICIAN, ENGINEER}),
    "answer for a client": frozenset({ENGINEER, MANAGER}),
    "open a run": frozenset({TECHNICIAN, ENGINEER}),
    "enter a result": frozenset({TECHNICIAN, ENGINEER, DEVICE}),
    "accept a load cell": frozenset({ENGINEER}),
    "take a check": frozenset({TECHNICIAN, ENGINEER, MANAGER, DEVICE}),
    "correct a result": frozenset({TECHNICIAN, ENGINEER}),
    "agree to a correction": frozenset({ENGINEER, MANAGER}),
    "void a specimen": frozenset({TECHNICIAN, ENGINEER, MANAGER}),
    "void a low value": frozenset({MANAGER}),
    "keep a window": frozenset({ENGINEER}),
    "approve a limit": frozenset({ENGINEER, MANAGER}),
    "keep a budget": frozenset({ENGINEER}),
    "approve a budget": frozenset({ENGINEER, MANAGER}),
    "decide a deviation": frozenset({ENGINEER, MANAGER}),
    "finish testing": frozenset({ENGINEER}),
    "review a study": frozenset({ENGINEER, MANAGER}),
    "release a report": frozenset({SIGNATORY}),
    "take a report's records": frozenset({ENGINEER, MANAGER}),
    "amend a report": frozenset({ENGINEER, MANAGER}),
    "withdraw a report": frozenset({SIGNATORY}),
    "give a link to a report": frozenset({ENGINEER, MANAGER}),
    "keep equipment": frozenset({MANAGER}),
    "review a calibration": frozenset({ENGINEER, MANAGER}),
    "report nonconforming work": frozenset({TECHNICIAN, ENGINEER, MANAGER}),
    "handle nonconforming work": frozenset({ENGINEER, MANAGER}),
    "let work resume": frozenset({MANAGER}),
    "draw an order": frozenset({ENGINEER}),
    "authorise people": frozenset({MANAGER}),
    "issue a method": frozenset({MANAGER}),
    "keep clients": frozenset({ENGINEER, MANAGER}),
    "read the trail": frozenset({MANAGER}),
    "keep people": frozenset({MANAGER}),
    "read own reports": frozenset({CLIENT}),
    "agree to a protocol": frozenset({CLIENT}),
    "give a link to an own report": frozenset({CLIENT}),
}

# What somebody may do who has shown a badge and a PIN, and no password: a technician's work, as far as the roles go.
BY_BADGE = frozenset(act for act, roles in ACTS.items() if TECHNICIAN in roles) - {"read by program"}


def allows(roles: frozenset[str], act: str) -> bool:
    """Whether one of the roles may do the act. An unknown act is a mistake in the code, not a refusal.

    >>> allows(frozenset({"technician"}), "lock a set-up")
    False
    """
    return not roles.isdisjoint(ACTS[act])
