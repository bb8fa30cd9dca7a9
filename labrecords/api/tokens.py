"""Who calls: one token a device or person, sent with every request. Cookies play no part."""

from rest_framework import exceptions
from rest_framework.authentication import BaseAuthentication, get_authorization_header

from labrecords.actions.people import digest
from labrecords.queries import tokens

SCHEME = "Token"


class TokenAuthentication(BaseAuthentication):
    """`Authorization: Token <token>`. A wrong, a revoked and a deactivated person's token read the same."""

    def authenticate(self, request):
        """The person and the scheme; None without the header."""
        scheme, _, token = get_authorization_header(request).decode("latin-1").partition(" ")
        if scheme.casefold() != SCHEME.casefold():
            return None
        person = tokens.person_with(digest(token.strip()))
        if person is None:
            raise exceptions.AuthenticationFailed
        return person, SCHEME

    def authenticate_header(self, _request):
        """What `WWW-Authenticate` says beside a 401."""
        return f'{SCHEME} realm="labrecords"'
