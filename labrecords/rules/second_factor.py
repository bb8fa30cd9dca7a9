"""Second factors: codes of an authenticator app (RFC 6238), recovery codes, and where passkeys hold.

A code is taken once. A telephone's clock may be one step fast or slow.
"""

import hashlib
import re
from collections.abc import Iterable
from dataclasses import dataclass
from datetime import datetime, timedelta
from ipaddress import ip_address
from typing import Any
from urllib.parse import urlsplit

import pyotp

from .answers import Answer

APP, PASSKEY = "app", "passkey"
PENDING = timedelta(minutes=5)  # how long a password waits for its second factor
CHALLENGE = timedelta(minutes=2)  # how long a passkey may be thought about
SKEW = 1  # steps of 30 s, before and after
RECOVERY_CODES = 10
LOCAL = re.compile(r"http://localhost(:\d{1,5})?")  # the one origin without https that browsers give passkeys to


@dataclass(frozen=True)
class Site:
    """Where passkeys hold: the name to which they are bound, and the origins at which they may be shown."""

    name: str
    origins: frozenset[str]

    def permits(self, origin: str) -> bool:
        """Whether a page of this origin may ask for a passkey of this name."""
        return origin in self.origins or (self.name == "localhost" and LOCAL.fullmatch(origin) is not None)


@dataclass(frozen=True)
class Given:
    """What somebody showed besides the password. `challenge` is empty where none was given out, or too long ago."""

    code: str = ""
    assertion: str = ""
    challenge: str = ""
    site: Site | None = None


def site_of(host: str, *, allowed: Iterable[str], trusted: Iterable[str]) -> Site | None:
    """Where passkeys of a host hold, if the settings name that host; a pattern or an address names none.

    `host` is as the request gave it, with or without a port; `trusted` are origins, as https://records.example.

    >>> site_of("records.example", allowed=["records.example"], trusted=[]).origins
    frozenset({'https://records.example'})
    >>> site_of("127.0.0.1:8000", allowed=["127.0.0.1"], trusted=[]) is None
    True
    """
    name = (urlsplit(f"//{host}").hostname or "").lower()
    own = frozenset(origin for origin in trusted if urlsplit(origin).hostname == name)
    named = {one.lower() for one in allowed if not one.startswith((".", "*"))}
    if not name or _is_address(name) or (name not in named and not own):
        return None
    return Site(name, own or frozenset({f"https://{name}"}))


def _is_address(name: str) -> bool:
    try:
        ip_address(name)
    except ValueError:
        return False
    return True


def new_secret() -> str:
    """A secret for an authenticator app: 160 bits in base 32, as RFC 4226 advises."""
    return pyotp.random_base32(32)


def address_of(secret: str, *, person: str, laboratory: str) -> str:
    """What the QR code says: the secret, and for whom and where it is."""
    return pyotp.TOTP(secret).provisioning_uri(name=person, issuer_name=laboratory)


def code_at(secret: str, moment: datetime | int, *, digits: int = 6, digest: Any = hashlib.sha1) -> str:
    """The code that an app shows at a moment (an aware time, or seconds since 1970), by RFC 6238.

    >>> code_at("GEZDGNBVGY3TQOJQGEZDGNBVGY3TQOJQ", 59)
    '287082'
    """
    return pyotp.TOTP(secret, digits=digits, digest=digest).at(moment)


def step_of(secret: str, code: str, moment: datetime) -> int | None:
    """The step of 30 seconds to which a typed code belongs, counted from 1970; None if to none that is near."""
    try:
        return pyotp.TOTP(secret).verify_and_get_timecode(plain(code), for_time=moment, valid_window=SKEW)
    except pyotp.OTPVerificationError:
        return None


def check_step(*, step: int | None, last: int, name: str) -> list[Answer]:
    """What stands against a code: it is none of these minutes, or its step, or a later one, was used already."""
    if step is None:
        return [Answer("wrong-code", f"The code is not one that {name} shows now.")]
    if step <= last:
        return [Answer("used-code", f"This code of {name}, or one after it, was used already.")]
    return []


def check_counter(*, came: int, last: int, name: str) -> list[Answer]:
    """What stands against a passkey by its counter of signatures; one that does not count always says 0.

    >>> check_counter(came=0, last=0, name="the key"), check_counter(came=4, last=4, name="the key")[0].code
    ([], 'passkey-counter')
    """
    if (came or last) and came <= last:
        facts = {"came": str(came), "last": str(last)}
        return [Answer("passkey-counter", f"The counter of {name} came as {came} and had been {last} before.", facts)]
    return []


def new_recovery_code() -> str:
    """Eighty bits, in groups of four."""
    return "-".join(grouped(pyotp.random_base32(32)[:16]).lower().split())


def digest_of(code: str) -> str:
    """What is kept of a recovery code; it has enough chance in it to need no slow hash."""
    return hashlib.sha256(plain(code).encode()).hexdigest()


def plain(code: str) -> str:
    """A code as it is compared: without blanks and hyphens, in capitals.

    >>> plain(" abcd-efgh 23")
    'ABCDEFGH23'
    """
    return re.sub(r"[\s-]", "", code).upper()


def is_recovery(code: str) -> bool:
    """Whether what was typed has the form of a recovery code.

    >>> is_recovery("abcd-efgh-2345-mnop"), is_recovery("123 456")
    (True, False)
    """
    return re.fullmatch(r"[A-Z2-7]{16}", plain(code)) is not None


def grouped(text: str) -> str:
    """In groups of four, to be read off and typed.

    >>> grouped("ABCDEFGH23")
    'ABCD EFGH 23'
    """
    return " ".join(text[start : start + 4] for start in range(0, len(text), 4))
