"""Tokens of the programming interface."""

from labrecords.models import ApiToken, User


def person_with(digest: str) -> User | None:
    """The person to whom a token belongs, by the token's SHA-256; None once it, or the person, has ended."""
    token = (
        ApiToken.objects.select_related("person")
        .filter(digest=digest, revoked_at__isnull=True, person__is_active=True)
        .first()
    )
    return token.person if token else None
