"""The password, asked for again."""

from django.contrib.auth.hashers import check_password

from labrecords.models import User
from labrecords.rules.answers import Answer

from .refusals import Stop


def password_answers(password: str, *, by: User) -> list[Answer]:
    """What stands against a password: that it is not this person's."""
    if check_password(password, by.password):
        return []
    return [Answer("wrong-password", "The password typed is not the one of this account.")]


def demand_password(password: str, *, by: User, stop: Stop) -> None:
    """Stop the act unless the password is this person's."""
    stop(password_answers(password, by=by))
