"""Secrets that have to be read again, kept so that the database alone does not tell them."""

import os

from cryptography.exceptions import InvalidTag
from cryptography.hazmat.primitives.ciphers.aead import AESGCM
from cryptography.hazmat.primitives.hashes import SHA256
from cryptography.hazmat.primitives.kdf.hkdf import HKDF

NONCE = 12  # bytes


class NotOpened(ValueError):
    """The key is another one, or the bytes are another person's or were changed."""


def seal(secret: str, *, key: str, owner: bytes) -> bytes:
    """Encrypt a secret for its owner by AES-256-GCM; `key` is the installation's own, of any length.

    >>> opened(seal("otter", key="k", owner=b"a"), key="k", owner=b"a")
    'otter'
    """
    nonce = os.urandom(NONCE)
    return nonce + _cipher(key).encrypt(nonce, secret.encode(), owner)


def opened(sealed: bytes, *, key: str, owner: bytes) -> str:
    """The secret again. Raises NotOpened with another key, another owner, or other bytes."""
    try:
        return _cipher(key).decrypt(sealed[:NONCE], sealed[NONCE:], owner).decode()
    except (InvalidTag, ValueError) as wrong:
        raise NotOpened("The secret cannot be read with this key, for this owner.") from wrong


def _cipher(key: str) -> AESGCM:
    return AESGCM(HKDF(SHA256(), 32, salt=None, info=b"labrecords second factor").derive(key.encode()))
