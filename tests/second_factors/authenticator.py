"""An authenticator of passkeys in some lines, written from the W3C's text and using nothing of the library under test.

Keys are ES256 (P-256 with SHA-256). What it says can be bent, part by part, to see it refused.
"""

import base64
import hashlib
import json
import os
import struct
from dataclasses import dataclass, field

from cryptography.hazmat.primitives.asymmetric import ec
from cryptography.hazmat.primitives.hashes import SHA256

PRESENT, VERIFIED, ATTESTED = 0x01, 0x04, 0x40
ORIGIN, NAME = "https://testserver", "testserver"


def words(data: bytes) -> str:
    return base64.urlsafe_b64encode(data).rstrip(b"=").decode()


@dataclass
class Authenticator:
    """One passkey and its counter of signatures; `step` 0 makes one that does not count."""

    step: int = 1
    counter: int = 0
    credential_id: bytes = field(default_factory=lambda: os.urandom(32))
    key: ec.EllipticCurvePrivateKey = field(default_factory=lambda: ec.generate_private_key(ec.SECP256R1()))

    def create(self, options: dict, **bent) -> str:
        """Answer creation options, as a browser passes it on."""
        attested = bent.get("attested", True)
        data = self._data(options["rp"]["id"], ATTESTED * attested, bent) + self._attested() * attested
        # a map of three: fmt, attStmt (empty), authData
        head = b"\xa3\x63fmt\x64none\x67attStmt\xa0\x68authData\x59" + struct.pack(">H", len(data))
        client = self._client("webauthn.create", options["challenge"], bent)
        return self._answer({"clientDataJSON": words(client), "attestationObject": words(head + data)})

    def get(self, options: dict, **bent) -> str:
        """Answer request options, whether or not they name this passkey."""
        data = self._data(options["rpId"], 0, bent)
        client = self._client("webauthn.get", options["challenge"], bent)
        signature = self.key.sign(data + hashlib.sha256(client).digest(), ec.ECDSA(SHA256()))
        if bent.get("signature"):
            signature = bent["signature"]
        return self._answer(
            {
                "clientDataJSON": words(client),
                "authenticatorData": words(data),
                "signature": words(signature),
            }
        )

    def _client(self, kind: str, challenge: str, bent: dict) -> bytes:
        said = {"type": kind, "challenge": challenge, "origin": ORIGIN, "crossOrigin": False}
        return json.dumps(said | {name: bent[name] for name in said if name in bent}).encode()

    def _data(self, name: str, flags: int, bent: dict) -> bytes:
        self.counter = bent.get("counter", self.counter + self.step)
        flags |= bent.get("flags", PRESENT | VERIFIED)
        return hashlib.sha256(bent.get("name", name).encode()).digest() + struct.pack(">BI", flags, self.counter)

    def _attested(self) -> bytes:
        numbers = self.key.public_key().public_numbers()
        x, y = (number.to_bytes(32, "big") for number in (numbers.x, numbers.y))
        # COSE: kty 2 (EC2), alg -7 (ES256), crv 1 (P-256), x, y
        public = b"\xa5\x01\x02\x03\x26\x20\x01\x21\x58\x20" + x + b"\x22\x58\x20" + y
        return bytes(16) + struct.pack(">H", len(self.credential_id)) + self.credential_id + public

    def _answer(self, response: dict) -> str:
        own = words(self.credential_id)
        return json.dumps({"id": own, "rawId": own, "type": "public-key", "response": response})
