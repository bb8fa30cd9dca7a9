"""The two ceremonies of a passkey (W3C Web Authentication): one is made, and one is shown.

Challenges are made here, kept by whoever calls, and used once. The person is always verified by the authenticator.
"""

import json
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

from fido2 import cbor
from fido2.cose import CoseKey
from fido2.server import Fido2Server
from fido2.webauthn import (
    Aaguid,
    AttestedCredentialData,
    AuthenticationResponse,
    PublicKeyCredentialRpEntity,
    PublicKeyCredentialUserEntity,
    RegistrationResponse,
    ResidentKeyRequirement,
    UserVerificationRequirement,
)

from .second_factor import Site

Options = dict[str, Any]  # as JSON goes
VERIFIED = UserVerificationRequirement.REQUIRED


REASONS = {
    "No challenge": "No question of ours is open: it was answered already, or is too old.",
    "challenge": "It answers another question than the one that was asked.",
    "origin": "It was given at another address than those in the settings.",
    "within a page": "It was asked for by a page within a page.",
    "RP ID": "It is bound to another host name.",
    "Present": "Nobody was there to give it.",
    "Verified flag": "It did not ask who you are, by PIN, finger or face.",
    "verified flag": "It did not ask who you are, by PIN, finger or face.",
    "Unknown credential": "It is not one of yours that is in use here.",
    "signature": "Its signature does not match its key.",
    "type in Collected": "It was given for another purpose.",
}


class NotShown(ValueError):
    """What came is no proof: another origin, challenge, name, key or signature, or not readable at all."""


@dataclass(frozen=True)
class Key:
    """A passkey as it is kept: its identifier, its public key (COSE), and its last counter of signatures."""

    credential_id: bytes
    public_key: bytes
    counter: int = 0


def creation_options(site: Site, *, handle: bytes, user: str, name: str, known: Sequence[Key]) -> tuple[Options, str]:
    """What a browser needs to make a passkey, as JSON goes, and the challenge to be kept."""
    options, state = _server(site).register_begin(
        PublicKeyCredentialUserEntity(id=handle, name=user, display_name=name),
        [_held(key) for key in known],
        resident_key_requirement=ResidentKeyRequirement.PREFERRED,
        user_verification=VERIFIED,
    )
    return dict(options.public_key), state["challenge"]


def created(answer: str, *, site: Site, challenge: str) -> Key:
    """The passkey that was made. Raises NotShown."""
    try:
        response = RegistrationResponse.from_dict(json.loads(answer))
        made = _server(site).register_complete(_state(challenge), response)
        _same_page(response.response.client_data)
        held = made.credential_data
        assert held is not None  # the library asserts it too
        return Key(held.credential_id, cbor.encode(held.public_key), made.counter)
    except Exception as wrong:  # what a stranger sends may break anything in the reader; all of it is no proof
        raise NotShown(_words(wrong)) from wrong


def request_options(site: Site, known: Sequence[Key]) -> tuple[Options, str]:
    """What a browser needs to show one of these passkeys, as JSON goes, and the challenge to be kept."""
    options, state = _server(site).authenticate_begin([_held(key) for key in known], user_verification=VERIFIED)
    return dict(options.public_key), state["challenge"]


def asserted(answer: str, *, site: Site, challenge: str, known: Sequence[Key]) -> tuple[Key, int]:
    """Which of the known passkeys was shown, and its counter now. Raises NotShown."""
    try:
        response = AuthenticationResponse.from_dict(json.loads(answer))
        held = _server(site).authenticate_complete(_state(challenge), [_held(key) for key in known], response)
        _same_page(response.response.client_data)
        found = next(key for key in known if key.credential_id == held.credential_id)
        return found, response.response.authenticator_data.counter
    except Exception as wrong:  # as above
        raise NotShown(_words(wrong)) from wrong


def _server(site: Site) -> Fido2Server:
    return Fido2Server(PublicKeyCredentialRpEntity(id=site.name, name="labrecords"), verify_origin=site.permits)


def _state(challenge: str) -> dict[str, Any]:
    if not challenge:
        raise ValueError("No challenge is open.")
    return {"challenge": challenge, "user_verification": VERIFIED}


def _same_page(client_data: Any) -> None:
    if client_data.cross_origin:
        raise ValueError("A page within a page asked.")


def _held(key: Key) -> AttestedCredentialData:
    public = CoseKey.parse(cbor.decode(key.public_key))  # type: ignore[arg-type]  # it was a map when it was added
    return AttestedCredentialData.create(Aaguid.NONE, key.credential_id, public)


def _words(wrong: Exception) -> str:
    """Our own sentence for what the reader complains of."""
    return next((words for part, words in REASONS.items() if part in str(wrong)), "It cannot be read.")
