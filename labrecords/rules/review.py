"""Who may review and who may sign: never somebody who tested, and never one person for both."""

from collections.abc import Collection

from .answers import Answer


def check_reviewer(*, reviewer: str, testers: Collection[str], open_decisions: int) -> tuple[Answer, ...]:
    """The reviewer tested none of it, and no deviation waits."""
    answers = []
    if reviewer in testers:
        why = f"{reviewer} tested in this study."
        answers.append(Answer("same-person", why, {"person": reviewer}))
    if open_decisions:
        waiting = "1 deviation waits" if open_decisions == 1 else f"{open_decisions} deviations wait"
        answers.append(Answer("decisions-open", f"{waiting} for a decision."))
    return tuple(answers)


def check_signer(*, signer: str, testers: Collection[str], reviewer: str) -> tuple[Answer, ...]:
    """The signer neither tested nor reviewed."""
    if signer in testers:
        return (Answer("same-person", f"{signer} tested in this study.", {"person": signer}),)
    if signer == reviewer:
        return (Answer("same-person", f"{signer} reviewed this study.", {"person": signer}),)
    return ()
