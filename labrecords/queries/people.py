"""People as the gate sees them."""

from labrecords.models import ApiToken, Authorisation, MethodVersion, User
from labrecords.rules import facts

from .access import NotFound


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


def person(username: str) -> User:
    """A person with roles, authorisations and tokens."""
    found = (
        User.objects.prefetch_related(
            "groups", "authorisations__method_version__method", "authorisations__withdrawal", "tokens"
        )
        .select_related("client")
        .filter(username=username)
        .first()
    )
    if found is None:
        raise NotFound(username)
    return found


def authorisation(authorisation_id) -> Authorisation:
    """An authorisation by its identifier."""
    found = Authorisation.objects.select_related("person").filter(pk=authorisation_id).first()
    if found is None:
        raise NotFound(str(authorisation_id))
    return found


def token(token_id) -> ApiToken:
    """A token's record by its identifier; the token itself is not kept."""
    found = ApiToken.objects.select_related("person").filter(pk=token_id).first()
    if found is None:
        raise NotFound(str(token_id))
    return found
