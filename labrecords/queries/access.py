"""Who may do what, and who may see what. Every page, action and program asks here."""

from labrecords.models import Report, Study, User
from labrecords.rules import authority


class NotAllowed(PermissionError):
    """The person's roles do not allow the act."""

    def __init__(self, person: User, act: str) -> None:
        self.act = act
        if person.by_badge and authority.allows(person.roles, act):
            super().__init__(f"{person.name} is here by badge and PIN. To {act}, sign in with name and password.")
            return
        allowed = sorted(role for role in authority.ROLES if role in authority.ACTS[act])
        super().__init__(f"{person.name} may not {act}. These roles may: {', '.join(allowed)}.")


class NotFound(LookupError):
    """There is no such thing, or not for this person. Both read the same."""


def may(person: User, act: str) -> bool:
    """Whether the person's roles allow the act, and the way in which they showed who they are does."""
    shown = not person.by_badge or act in authority.BY_BADGE
    return person.is_active and shown and authority.allows(person.roles, act)


def demand(person: User, act: str) -> None:
    """Raise NotAllowed unless the person's roles allow the act."""
    if not may(person, act):
        raise NotAllowed(person, act)


def study(person: User, code: str) -> Study:
    """A study by its code, for somebody of the laboratory."""
    if not (may(person, "see the laboratory") or may(person, "read by program")):
        raise NotFound(code)
    found = (
        Study.objects.select_related(
            "project__client", "setup__method_version__method", "locked_by", "predecessor", "successor", "budget"
        )
        .filter(code=code)
        .first()
    )
    if found is None:
        raise NotFound(code)
    return found


def own_reports(person: User):
    """Released reports of the client to whom the person belongs; none for anybody else."""
    if not may(person, "read own reports") or person.client_id is None:
        return Report.objects.none()
    return Report.objects.filter(study__project__client_id=person.client_id).select_related(
        "study__project__client", "signature"
    )


def own_report(person: User, number: str, issue: int) -> Report:
    """One released report of the person's own company."""
    found = own_reports(person).filter(number=number, issue=issue).first()
    if found is None:
        raise NotFound(number)
    return found
