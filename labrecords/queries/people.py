"""People as the gate sees them."""

from labrecords.models import Authorisation, MethodVersion, User
from labrecords.rules import facts


def authorisations_of(person: User, version: MethodVersion) -> tuple[facts.Authorisation, ...]:
    """All authorisations of a person for a method version, withdrawn ones with their day."""
    held = Authorisation.objects.filter(person=person, method_version=version).select_related("withdrawal")
    return tuple(
        facts.Authorisation(
            technique=item.technique,
            from_on=item.from_on,
            until_on=item.until_on,
            withdrawn_from=item.withdrawal.from_on if hasattr(item, "withdrawal") else None,
        )
        for item in held
    )


def anybody() -> bool:
    """Whether there are people yet; a new laboratory has none."""
    return User.objects.exists()
